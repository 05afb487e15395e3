"""Where a recording first differs: the tick, the amount, rounding, gaps, takes, levels."""

import numpy as np
import pytest

from reach.errors import InputError
from reach.level import level_from_dict
from reach.movement import load_movement
from reach.workshop.flat_ground import at_rest, play_flat
from reach.workshop.missing_ticks import LONGEST_GAP_TICKS
from reach.workshop.parity import INEXACT_TOLERANCE_PX, Agreement, compare_recording
from reach.workshop.recording import load_recording
from tests.builders import PX, inputs, random_inputs
from tests.checkout import ROOT
from tests.workshop.recorded import EVERYTHING, recorded

LAMPLIGHTER, COURIER = (
    load_movement(ROOT / "sample_levels" / "movement" / f"{name}.json") for name in ("lamplighter", "courier")
)


def path_of(movement, script):
    return play_flat(movement.motion, script)[:, :2]


@pytest.mark.parametrize("rounding_spx", [1, PX // 4, PX])
@pytest.mark.parametrize("movement", [LAMPLIGHTER, COURIER], ids=lambda movement: movement.name)
def test_a_recording_of_the_profile_itself_does_not_differ(tmp_path, movement, rounding_spx):
    for seed in range(3):
        script = np.concatenate([inputs((2, "")), random_inputs(np.random.default_rng(seed), 300)])
        recording = recorded(tmp_path, path_of(movement, script), script, rounding_spx)
        compared = compare_recording(movement, recording)
        assert compared.agrees
        assert compared.courses[0].ticks == 302


@pytest.mark.parametrize("how", [np.floor, np.ceil, np.trunc])
def test_any_way_of_rounding_is_taken_for_what_it_is(tmp_path, how):
    # A body that stands at a broken position, so that what is cut off differs from row to row.
    path = path_of(LAMPLIGHTER, EVERYTHING) + np.array([23456, 34567]) - path_of(LAMPLIGHTER, EVERYTHING)[0]
    recording = recorded(tmp_path, (how(path / PX) * PX).astype(np.int64), EVERYTHING)
    recording = load_recording(tmp_path / "recorded.csv", rounded_px=1)
    assert compare_recording(LAMPLIGHTER, recording).agrees == (how is not np.trunc)


def test_the_first_tick_and_the_amount_are_told(tmp_path):
    path = path_of(LAMPLIGHTER, EVERYTHING)
    path[85:, 0] += 3
    path[120:, 1] -= 5 * PX
    (difference,) = compare_recording(LAMPLIGHTER, recorded(tmp_path, path, EVERYTHING)).differences
    assert (difference.tick, difference.after_ticks, difference.line) == (85, 85, 87)
    assert (difference.aside_px, difference.lower_px) == (3 / PX, 0)
    assert difference.buttons == ("left",)
    lines = (tmp_path / "recorded.csv").read_text(encoding="utf-8").splitlines()
    assert lines[difference.line - 1].startswith("85,")


def test_a_tolerance_lets_small_differences_pass(tmp_path):
    path = path_of(LAMPLIGHTER, EVERYTHING)
    path[100:, 0] += 3
    path[120:, 1] -= 5 * PX
    recording = recorded(tmp_path, path, EVERYTHING)
    for tolerance_px, tick in ((3 / PX, 120), (2.9 / PX, 100), (5, None)):
        (difference,) = compare_recording(LAMPLIGHTER, recording, tolerance_px=tolerance_px).differences
        assert (None if difference is None else difference.tick) == tick


def test_a_rounded_recording_hides_what_rounding_can_explain_and_no_more(tmp_path):
    path = path_of(LAMPLIGHTER, EVERYTHING)
    for shift_px, agrees in ((0.9, False), (2, False), (0.02, True)):
        moved = path.copy()
        moved[60:, 0] += round(shift_px * PX)
        assert compare_recording(LAMPLIGHTER, recorded(tmp_path, moved, EVERYTHING, PX)).agrees == agrees


def test_floating_point_positions_have_a_tolerance(tmp_path):
    rows = ["tick,x_px,y_px,right"]
    x, v, motion = 0.0, 0.0, LAMPLIGHTER.motion
    for tick in range(200):
        rows.append(f"{tick},{x:.9f},0,{int(tick > 0)}")
        v = min(v + 205 / 3600, 76 / 60)
        x += v
    (tmp_path / "floats.csv").write_text("\n".join(rows), encoding="utf-8")
    compared = compare_recording(LAMPLIGHTER, load_recording(tmp_path / "floats.csv"))
    assert compared.tolerance_px == INEXACT_TOLERANCE_PX
    assert compared.agrees
    assert not compare_recording(LAMPLIGHTER, load_recording(tmp_path / "floats.csv"), tolerance_px=0).agrees
    assert motion.walk_accel == 3732


def test_each_take_begins_anew_and_a_gap_is_gone_past(tmp_path):
    path = path_of(LAMPLIGHTER, EVERYTHING)[:40] - path_of(LAMPLIGHTER, EVERYTHING)[0]
    rows = ["take,tick,x_px,y_px,left,right,down,run,jump"]
    for name, at in (("a", 0), ("b", 700)):
        for tick, (x, y) in enumerate(path.tolist()):
            if name == "b" and tick == 20:
                continue
            buttons = EVERYTHING[tick - 1].tolist() if tick else [0, 0, 0, 0]
            direction, *others = buttons
            cells = [name, tick + 7, x / PX + at, y / PX, int(direction < 0), int(direction > 0), *others]
            rows.append(",".join(map(str, cells)))
    (tmp_path / "takes.csv").write_text("\n".join(rows), encoding="utf-8")
    compared = compare_recording(LAMPLIGHTER, load_recording(tmp_path / "takes.csv"))
    assert compared.agrees
    assert [course.ticks for course in compared.courses] == [39, 39]
    assert [course.missing for course in compared.courses] == [0, 1]
    assert [course.missing_tick for course in compared.courses] == [None, None]


def without(tmp_path, ticks):
    """The recording that lies there, without the rows of these ticks."""
    rows = (tmp_path / "recorded.csv").read_text(encoding="utf-8").splitlines()
    kept = [row for row in rows if row.split(",")[0] not in {str(tick) for tick in ticks}]
    (tmp_path / "gaps.csv").write_text("\n".join(kept), encoding="utf-8")
    return load_recording(tmp_path / "gaps.csv")


@pytest.mark.parametrize("rounding_spx", [1, PX])
@pytest.mark.parametrize("late", [True, False])
def test_what_differs_after_a_missing_tick_is_found(tmp_path, rounding_spx, late):
    path = path_of(LAMPLIGHTER, EVERYTHING)
    path[85 if late else 30 :, 0] += 30 * PX
    recorded(tmp_path, path, EVERYTHING, rounding_spx)
    compared = compare_recording(LAMPLIGHTER, without(tmp_path, [20, 60]))
    assert compared.agreement is Agreement.DIFFERS
    (difference,) = compared.differences
    assert difference.tick == difference.after_ticks == (85 if late else 30)
    assert difference.is_proved
    assert difference.agreed_ticks == difference.tick - (3 if late else 2)
    lines = (tmp_path / "gaps.csv").read_text(encoding="utf-8").splitlines()
    assert lines[difference.line - 1].startswith(f"{difference.tick},")


def test_after_a_gap_of_many_ticks_a_difference_is_undecided(tmp_path):
    path = path_of(LAMPLIGHTER, EVERYTHING)
    path[85:, 0] += 3
    recorded(tmp_path, path, EVERYTHING)
    compared = compare_recording(LAMPLIGHTER, without(tmp_path, range(50, 54)))
    assert compared.agreement is Agreement.UNDECIDED
    assert compared.differences[0].tick == 85
    assert not compared.differences[0].is_proved


def test_a_gap_that_is_too_long_ends_a_take_and_is_told(tmp_path):
    script = inputs((5, ""), (LONGEST_GAP_TICKS + 60, "r"))
    path = path_of(LAMPLIGHTER, script)
    for missing, agreement, ended in (
        (LONGEST_GAP_TICKS, Agreement.AGREES, None),
        (LONGEST_GAP_TICKS + 1, Agreement.UNDECIDED, 20),
    ):
        recorded(tmp_path, path, script)
        compared = compare_recording(LAMPLIGHTER, without(tmp_path, range(20, 20 + missing)))
        assert (compared.agreement, compared.courses[0].missing_tick) == (agreement, ended)


@pytest.mark.parametrize(("late", "told"), [(1, "a tick late"), (2, "2 ticks late"), (3, "record a few ticks")])
def test_buttons_logged_late_are_taken_for_that(tmp_path, late, told):
    script = inputs((6, ""), (30, "r"))
    path = path_of(LAMPLIGHTER, script)
    logged = np.concatenate([script[:late], script[:-late]])
    with pytest.raises(InputError, match=told):
        compare_recording(LAMPLIGHTER, recorded(tmp_path, path, logged))


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        (["0,0,0,0", "1,2,0,0", "2,4,0,0"], "with nothing pressed"),
        (["0,0,0,0", "1,0,3,0", "2,0,7,0"], "with nothing pressed"),
    ],
)
def test_what_cannot_be_compared_is_refused(tmp_path, rows, told):
    (tmp_path / "bad.csv").write_text("\n".join(["tick,x_px,y_px,right", *rows]), encoding="utf-8")
    with pytest.raises(InputError, match=told):
        compare_recording(LAMPLIGHTER, load_recording(tmp_path / "bad.csv"))


def test_in_a_level_walls_count(tmp_path):
    rows = [".......", ".......", ".@..#..", "#######"]
    level = level_from_dict({"format": "reach-level/1", "name": "Quay", "tile_px": 16, "rows": rows})
    script = inputs((2, ""), (90, "r"))
    free = recorded(tmp_path, path_of(LAMPLIGHTER, script), script)
    assert compare_recording(LAMPLIGHTER, free).agrees
    (difference,) = compare_recording(LAMPLIGHTER, free, level).differences
    assert difference.aside_px > 0
    stopped = path_of(LAMPLIGHTER, script)
    wall = (4 * 16 - 11) * PX - (16 + 2) * PX - PX // 2
    stopped[:, 0] = np.minimum(stopped[:, 0], at_rest(LAMPLIGHTER.motion).x + wall)
    assert compare_recording(LAMPLIGHTER, recorded(tmp_path, stopped, script), level).agrees
