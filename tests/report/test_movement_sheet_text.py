from reach.report.movement_sheet_text import compose
from tests.made_sheets import sample_sheet

GAPS = """\
Gaps
                       widest gap        in whole tiles  window of 4 ticks
  far ledge, tiles      px  tiles  gap  ledge px  tiles      px      tiles
  4 up               99.19   6.19    6        32   2.00   91.00       5.68
"""


def test_the_samples_page():
    text = compose(sample_sheet("lamplighter")).plain
    lines = text.splitlines()
    assert lines[0].startswith("lamplighter  body 11 x 23 px, tiles of 16 px")
    assert GAPS in text
    assert [line for line in lines if line and not line.startswith(" ")][1:] == [
        "Gaps",
        "On level ground",
        "Jumps",
        "Landings",
        "Corridors",
    ]
    # the closed forms of the tests of the measurements, as they are printed
    assert "run, 147 px/s  rest to top speed             37  617  47.77   2.99" in text
    assert "no promise that a given player can do it" in " ".join(text.split())


def test_it_fits_on_a_hundred_columns_and_notes_wrap():
    for name in ("lamplighter", "courier", "ferryman"):
        assert all(len(line) <= 100 for line in compose(sample_sheet(name)).plain.splitlines())
    narrow = compose(sample_sheet("lamplighter"), 60).plain
    assert "\n  From rest anywhere on a ledge of 20 tiles with a wall\n" in narrow


def test_it_is_the_same_every_time():
    sheet = sample_sheet("courier")
    assert compose(sheet).plain == compose(sheet).plain
    assert compose(sheet).plain.endswith("\n")
