import pytest

from reach.workshop import reach_table
from reach.workshop.bounds import Bound
from reach.workshop.jump_arcs import measure_takeoff_bands
from reach.workshop.reach_table import height_words, make_reach_table
from tests.builders import make_motion
from tests.made_sheets import sample_sheet

PX = 65536
T = 16 * PX
MOTION = make_motion(walk_cap=130000, air_cap=130000)


@pytest.mark.parametrize("name", ["lamplighter", "courier"])
def test_everything_of_the_samples_is_exact(name):
    """The upper and the lower bound agree: to the subpixel for gaps, to the px for ledges."""
    table = sample_sheet(name).reach
    assert table.limits == ()
    assert table.step_up.is_exact
    for row in table.rows:
        assert row.gap.is_exact
        assert row.ledge is not None and row.ledge.is_exact


def test_the_third_samples_run_ups_alone_have_two_bounds_two_px_apart_at_most():
    table = sample_sheet("ferryman").reach
    assert table.step_up.is_exact and all(row.gap.is_exact for row in table.rows)
    ledges = [row.ledge for row in table.rows]
    assert not all(ledge.is_exact for ledge in ledges)
    assert all(0 <= ledge.at_most_spx - ledge.at_least_spx <= 2 * PX for ledge in ledges)


@pytest.mark.parametrize("name", ["lamplighter", "courier", "ferryman"])
def test_rows_go_down_from_the_highest_step_and_gaps_grow(name):
    table = sample_sheet(name).reach
    heights = [row.height_tiles for row in table.rows]
    assert heights == list(range(table.step_up.at_most_spx // T, -9, -1))
    gaps = [row.gap.at_least_spx for row in table.rows]
    assert gaps == sorted(gaps)
    for row in table.rows:
        assert row.whole_tiles == row.gap.at_least_spx // T
        assert row.gap_with_window_spx < row.gap.at_least_spx
        assert row.ledge.at_most_spx <= row.full_ledge_spx + PX <= table.ledge_spx + PX


def test_a_limit_of_time_is_told_and_leaves_lower_bounds():
    table = make_reach_table(MOTION, measure_takeoff_bands(MOTION), T, 4, time_limit_s=1e-9)
    assert table.limits == (
        "the widest gaps have no upper bound: time limit",
        "the time limit of 1e-09 s was reached",
    )
    assert table.step_up.at_most_spx is None
    for row in table.rows:
        assert row.gap.at_most_spx is None and not row.gap.is_exact
        assert row.gap_with_window_spx is None
    assert any(row.gap.at_least_spx for row in table.rows)


def test_a_height_that_no_script_reaches_stays_where_it_is_not_proved_out_of_reach(monkeypatch):
    class Nothing(reach_table.Flights):
        def widest(self, height, ledge_spx):
            return None

    bands = measure_takeoff_bands(MOTION)
    whole = make_reach_table(MOTION, bands, T, 4)
    monkeypatch.setattr(reach_table, "Flights", Nothing)
    table = make_reach_table(MOTION, bands, T, 4)
    assert [row.height_tiles for row in table.rows] == [row.height_tiles for row in whole.rows]
    for row, known in zip(table.rows, whole.rows, strict=True):
        assert row.gap == Bound(None, known.gap.at_most_spx)
        assert row.whole_tiles is row.ledge is row.gap_with_window_spx is None
    late = make_reach_table(MOTION, bands, T, 4, time_limit_s=1e-9)
    assert {row.gap for row in late.rows} == {Bound(None, None)} and len(late.rows) >= len(table.rows)


def test_the_near_ledge_is_longer_than_any_run_up():
    slow = MOTION._replace(walk_accel=600)
    table = make_reach_table(slow, measure_takeoff_bands(slow), T, 4)
    assert table.ledge_spx > 20 * T
    assert max(row.full_ledge_spx for row in table.rows) * 2 <= table.ledge_spx + T


def test_what_is_done_is_told():
    told = []
    make_reach_table(MOTION, measure_takeoff_bands(MOTION), T, 4, tell=lambda stage, done: told.append(stage))
    assert list(dict.fromkeys(told)) == [
        "playing jumps over gaps",
        "exploring the widest gaps",
        "exploring shorter ledges",
        "looking for gaps with a window",
    ]


def test_heights_are_told_in_words():
    assert [height_words(h) for h in (2, 0, -1)] == ["2 up", "level", "1 down"]
