from dataclasses import replace

import pytest

from reach.movement import load_movement, movement_from_dict
from reach.workshop.bounds import Bound
from reach.workshop.sheet import make_sheet
from reach.workshop.sheet_changes import Better, EffectKind, FigureChange, Kind, LevelEffect, compare_sheets
from tests.checkout import ROOT
from tests.made_sheets import sample_sheet

PX = 65536
T = 16 * PX
SHEET = sample_sheet("courier")
SHEET_LEVEL = next(row.gap.at_least_spx for row in SHEET.reach.rows if row.height_tiles == 0)


def with_gap(height: int, **changes):
    rows = tuple(replace(row, **changes) if row.height_tiles == height else row for row in SHEET.reach.rows)
    return replace(SHEET, reach=replace(SHEET.reach, rows=rows))


def figure(changes, name):
    return next(each for each in changes.figures if each.name == name)


def test_a_sheet_does_not_differ_from_itself():
    changes = compare_sheets(SHEET, SHEET)
    assert changes.figures == () and changes.effects == ()


def test_sheets_of_different_tiles_are_not_compared():
    with pytest.raises(ValueError, match="options"):
        compare_sheets(SHEET, sample_sheet("ferryman", 8))


def test_a_gap_of_whole_tiles_closes_and_opens_only_by_proof_from_both_sides():
    """The courier crosses 104.4 px, six tiles and a half."""
    at = 6 * T
    for new, effects in (
        (Bound(at - 1, at - 1), [LevelEffect(EffectKind.CLOSED, "a gap of 6 tiles on level ground")]),
        (Bound(at, at), []),
        (Bound(at - 1, at), []),
        (Bound(5 * T - 1, 5 * T - 1), [LevelEffect(EffectKind.CLOSED, "a gap of 5 to 6 tiles on level ground")]),
        (Bound(7 * T - 1, 7 * T), []),
        (Bound(7 * T, 7 * T), [LevelEffect(EffectKind.OPENED, "a gap of 7 tiles on level ground")]),
        (Bound(None, None), []),
    ):
        assert list(compare_sheets(SHEET, with_gap(0, gap=new)).effects) == effects
        swapped = list(compare_sheets(with_gap(0, gap=new), SHEET).effects)
        assert [each.what for each in swapped] == [each.what for each in effects]
        assert all(one.kind is not other.kind for one, other in zip(swapped, effects, strict=True))


def test_steps_and_corridors_of_whole_tiles_close_and_open():
    lower = replace(SHEET, reach=replace(SHEET.reach, step_up=Bound(3 * T - 1, 3 * T - 1)))
    assert LevelEffect(EffectKind.CLOSED, "a step of 3 tiles up") in compare_sheets(SHEET, lower).effects
    tall = replace(SHEET, headroom=replace(SHEET.headroom, walk_spx=3 * T + 1))
    assert compare_sheets(SHEET, tall).effects == (LevelEffect(EffectKind.CLOSED, "a corridor 2 to 3 tiles high"),)
    assert compare_sheets(tall, SHEET).effects == (LevelEffect(EffectKind.OPENED, "a corridor 2 to 3 tiles high"),)


def test_reach_comes_first_and_the_largest_change_first_within_a_kind():
    old = load_movement(ROOT / "sample_levels/movement/courier.json")
    data = {**old.declared, "air": {**old.declared["air"], "top_speed": 130}, "fall": {"terminal_speed": 300}}
    changes = compare_sheets(SHEET, make_sheet(movement_from_dict(data)))
    kinds = [each.kind for each in changes.figures]
    assert kinds == sorted(kinds, key=list(Kind).index)
    assert Kind.REACH in kinds and Kind.MOTION in kinds
    for kind in Kind:
        sizes = [abs(each.relative) for each in changes.figures if each.kind is kind and each.relative is not None]
        assert sizes == sorted(sizes, reverse=True)
    terminal = figure(changes, "terminal speed")
    assert (terminal.unit, terminal.verdict) == ("px/s", "")
    assert terminal.old == pytest.approx(335, abs=0.01) and terminal.new == pytest.approx(300, abs=0.01)
    assert figure(changes, "widest gap, level").verdict == "better"


def test_a_change_between_bounds_that_overlap_is_not_proved():
    wide = compare_sheets(SHEET, with_gap(0, gap=Bound(100 * PX, 105 * PX)))
    assert not figure(wide, "widest gap, level").is_proved
    same_end = with_gap(0, gap=Bound(100 * PX, SHEET_LEVEL))
    assert not figure(compare_sheets(SHEET, same_end), "widest gap, level").is_proved
    assert not figure(compare_sheets(same_end, SHEET), "widest gap, level").is_proved
    apart = compare_sheets(SHEET, with_gap(0, gap=Bound(100 * PX, 104 * PX)))
    assert figure(apart, "widest gap, level").is_proved
    windows = compare_sheets(SHEET, with_gap(0, gap_with_window_spx=PX))
    assert not figure(windows, "gap with a window, level").is_proved


def test_a_height_that_is_out_of_reach_now_is_worse():
    rows = SHEET.reach.rows[1:]
    changes = compare_sheets(SHEET, replace(SHEET, reach=replace(SHEET.reach, rows=rows)))
    gone = figure(changes, "widest gap, 3 up")
    assert gone.new is None and gone.relative is None and gone.verdict == "worse" and gone.is_proved
    back = compare_sheets(replace(SHEET, reach=replace(SHEET.reach, rows=rows)), SHEET)
    assert figure(back, "widest gap, 3 up").verdict == "better"


def test_run_ups_are_compared_for_the_same_gap_only():
    longer = with_gap(0, ledge=Bound(9 * PX, 9 * PX))
    name = "ledge for 6 tiles, level"
    assert figure(compare_sheets(SHEET, longer), name).verdict == "worse"
    other = with_gap(0, ledge=Bound(9 * PX, 9 * PX), whole_tiles=5)
    assert not any(each.name.startswith("ledge for") for each in compare_sheets(SHEET, other).figures)


def test_profiles_of_different_clocks_are_compared_in_ms():
    fast = replace(SHEET, tick_rate_hz=120)
    changes = compare_sheets(SHEET, fast)
    assert {each.unit for each in changes.figures} == {"ms", "px/s"}
    run = figure(changes, "walk, rest to top speed")
    assert (run.old, run.new, run.unit) == (150.0, 75.0, "ms")


def test_a_run_and_bands_that_only_one_profile_has_are_told():
    changes = compare_sheets(SHEET, sample_sheet("lamplighter"))
    run = figure(changes, "run's top speed")
    assert run.old is None and run.new == pytest.approx(147, abs=0.01)
    assert figure(changes, "jump height, held, takeoff band 3").old is None
    assert figure(changes, "jump height, let go before, takeoff band 1").new is None


def test_what_is_shorter_is_better_for_a_foothold():
    change = FigureChange(Kind.FOOTHOLDS, "", "px", 4.0, 3.0, Better.LESS, True)
    assert (change.relative, change.verdict) == (-0.25, "better")
    assert replace(change, old=0.0).relative is None
    assert replace(change, better=Better.NEITHER).verdict == ""
