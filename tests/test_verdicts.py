from types import SimpleNamespace

import numpy as np
import pytest

from reach.findings import Verdict
from reach.kernels.step import run_script
from reach.verdicts import ContradictionError, Judge, place_verdicts, standing_on, tile_verdicts, verdict
from tests.builders import inputs, make_motion, make_terrain, standing

MOTION = make_motion()


@pytest.mark.parametrize(
    ("has_script", "in_superset", "complete", "exhausted", "expected"),
    [
        (True, True, True, False, "reachable"),
        (True, True, False, False, "reachable"),
        (True, False, False, False, "reachable"),
        (True, True, True, True, "reachable"),
        (False, False, True, False, "unreachable"),
        (False, True, True, True, "unreachable"),
        (False, False, False, True, "unreachable"),
        (False, True, True, False, "undecided"),
        (False, False, False, False, "undecided"),
        (False, True, False, False, "undecided"),
    ],
)
def test_a_verdict_needs_its_proof(has_script, in_superset, complete, exhausted, expected):
    assert verdict(has_script, in_superset, complete, exhausted, "it") is Verdict(expected)


@pytest.mark.parametrize("exhausted", [False, True])
def test_a_script_to_what_the_superset_lacks_is_an_internal_error(exhausted):
    with pytest.raises(ContradictionError, match="place 'lamp'"):
        verdict(True, False, True, exhausted, "place 'lamp'")


def made(rows, column, row, *steps):
    terrain = make_terrain(rows)
    return Judge(standing(column, row, MOTION, terrain), MOTION, terrain), inputs(*steps)


ROWS = ["........", "....+...", "########"]


def test_a_script_is_cut_where_it_first_touches():
    judge, given = made(ROWS, 0, 1, (200, "r"))
    cut = judge.touching(given, 0)
    states = run_script(judge.start, cut, MOTION, judge.terrain)
    right_edge = states[:, 0] + MOTION.body_w
    assert right_edge[-1] > 4 * judge.terrain.tile >= right_edge[-2]
    assert len(cut) < len(given)


def test_a_script_from_a_start_that_touches_is_empty():
    judge, given = made(ROWS, 4, 1, (20, "r"))
    assert len(judge.touching(given, 0)) == 0
    assert len(judge.standing(given, (4, 2))) == 0


def test_a_script_that_does_not_get_there_is_not_believed():
    judge, given = made(ROWS, 0, 1, (10, "r"))
    with pytest.raises(ContradictionError, match="place 0"):
        judge.touching(given, 0)
    with pytest.raises(ContradictionError, match="tile"):
        judge.standing(given, (7, 2))


def test_standing_asks_for_overlap_of_the_column_by_a_subpixel():
    judge, given = made(ROWS, 0, 1, (200, "r"))
    states = run_script(judge.start, given, MOTION, judge.terrain)
    on = standing_on(states, (3, 2), MOTION, judge.terrain)
    x = states[:, 0]
    expected = (x + MOTION.body_w >= 3 * judge.terrain.tile + 1) & (x <= 4 * judge.terrain.tile - 1)
    assert on.any() and not on.all() and (on == expected).all()


def test_a_body_in_the_air_stands_on_nothing():
    judge, given = made(["......"] * 6 + ["######"], 1, 5, (3, "j"), (80, ""))
    states = run_script(judge.start, given, MOTION, judge.terrain)
    assert (standing_on(states, (1, 6), MOTION, judge.terrain) == (states[:, 4] != 0)).all()
    assert (states[:, 4] == 0).any()


def test_the_tick_of_a_launch_stands_on_the_spring():
    judge, given = made([".....", ".....", "##SS#"], 0, 1, (120, "r"))
    states = run_script(judge.start, given, MOTION, judge.terrain)
    on = np.flatnonzero(standing_on(states, (2, 2), MOTION, judge.terrain))
    assert on.size and (states[on, 4] == 0).any()
    cut = judge.standing(given, (2, 2))
    assert len(cut) == on[0]


def exploration(carried, touched, complete=True):
    return SimpleNamespace(carried=np.array(carried), touched=np.array(touched), complete=complete)


def test_tiles_are_sorted_by_row_then_column():
    standable = np.array([[False, True], [True, True]])
    seen = exploration([[False, True], [False, True]], [])
    found = tile_verdicts(standable, seen, {(1, 1): np.zeros((0, 4))}, False)
    assert found == {
        Verdict.REACHABLE: ((1, 1),),
        Verdict.UNREACHABLE: ((0, 1),),
        Verdict.UNDECIDED: ((1, 0),),
    }
    assert tile_verdicts(standable, seen, {(1, 1): None}, True)[Verdict.UNDECIDED] == ()


def test_nothing_is_unreachable_in_an_incomplete_superset():
    seen = exploration([[False]], [False], complete=False)
    assert place_verdicts(["lamp"], seen, {}, False) == (Verdict.UNDECIDED,)
    assert tile_verdicts(np.array([[True]]), seen, {}, False)[Verdict.UNDECIDED] == ((0, 0),)


def test_places_are_judged_by_index():
    seen = exploration([[False]], [True, False, True])
    found = place_verdicts(["a", "b", "c"], seen, {0: np.zeros((0, 4))}, False)
    assert found == (Verdict.REACHABLE, Verdict.UNREACHABLE, Verdict.UNDECIDED)
