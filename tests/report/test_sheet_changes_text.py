from dataclasses import replace

from reach.report.sheet_changes_text import compose
from reach.workshop.bounds import Bound
from reach.workshop.sheet_changes import compare_sheets
from tests.made_sheets import sample_sheet

PX = 65536
SHEET = sample_sheet("courier")


def changed(**changes):
    rows = tuple(replace(row, **changes) if row.height_tiles == 0 else row for row in SHEET.reach.rows)
    return compare_sheets(SHEET, replace(SHEET, name="clerk", reach=replace(SHEET.reach, rows=rows)))


def test_what_closes_comes_first_then_the_figures_with_units():
    text = compose(changed(gap=Bound(90 * PX, 90 * PX))).plain
    assert text.startswith("courier -> clerk  tiles of 16 px, a window of at least 60 ms\n")
    assert "For levels already built\n  closed  a gap of 6 tiles on level ground\n" in text
    assert "widest gap, level  104.39  90.00 px  -13.8 %  worse\n" in text
    assert "*" not in text


def test_what_is_not_proved_to_differ_is_marked_and_explained():
    text = compose(changed(gap_with_window_spx=99 * PX)).plain
    assert "No gap, step or corridor of whole tiles is proved to close or to open." in text
    assert "gap with a window, level*" in text
    assert "*: by what was found; that the two differ is not proved." in " ".join(text.split())


def test_figures_that_one_profile_lacks_are_dashes():
    text = compose(compare_sheets(SHEET, sample_sheet("lamplighter"))).plain
    assert any(line.split()[:4] == ["run's", "top", "speed", "-"] for line in text.splitlines())
    assert all(len(line) <= 100 for line in text.splitlines())


def test_two_alike_are_said_to_be_so():
    assert compose(compare_sheets(SHEET, SHEET)).plain.endswith("\nNo figure differs.\n")


def test_limits_are_told():
    late = replace(SHEET, reach=replace(SHEET.reach, limits=("the time limit of 1 s was reached",)))
    text = compose(compare_sheets(SHEET, late)).plain
    assert "Not finished, courier: the time limit of 1 s was reached." in text
