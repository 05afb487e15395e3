import threading
import time
from dataclasses import replace

import numpy as np
import pytest

from reach import measures
from reach.findings import MoveKind
from reach.kernels.step import run_script
from reach.measures import arc_px, cures, measure
from reach.movement import movement_from_dict
from reach.options import CheckOptions
from reach.proofs import search
from reach.reachability.problem import pose
from reach.reachability.windows import Window
from tests.checked import MOVEMENT, level, movement

GAP = [
    "..................",
    "..................",
    "..................",
    "@................!",
    "#######....#######",
    "#######^^^^#######",
]


def measured(rows, options=CheckOptions(), profile=movement(), **values):  # noqa: B008
    problem = pose(level(rows, **values), profile, options, None)
    seen = problem.explore()
    return problem, measure(problem, seen, search(problem, seen).passages)


@pytest.fixture(scope="module")
def gap():
    return measured(GAP)


def test_every_move_of_a_passage_is_listed_once_sorted_by_foothold(gap):
    _, found = gap
    keys = [(*edge, move.kind) for edge, move in zip(found.edges, found.moves, strict=True)]
    assert keys[:2] == [(0, 1, MoveKind.JUMP), (1, 0, MoveKind.JUMP)]
    assert len(set(keys)) == len(keys) and all(target == "goal-1" for _, target, _ in keys[2:])
    assert [(move.source, move.target) for move in found.moves[:2]] == [((6, 4), (11, 4)), ((11, 4), (6, 4))]
    assert found.limit == ""


def test_a_move_and_its_mirror_are_equally_tight(gap):
    _, found = gap
    there, back = found.moves[:2]
    assert there.window_ticks == back.window_ticks == 4
    assert there.window_ms == pytest.approx(4 * 1000 / 60)
    assert there.chance == pytest.approx(back.chance)


def test_every_leg_replays_from_its_start_to_rest_on_its_target(gap):
    problem, found = gap
    assert found.legs
    for proved, made in found.legs.items():
        for passage in made:
            states = run_script(passage.start, passage.inputs, problem.motion, problem.terrain)
            x, y, vx, _, grounded = states[-1, :5].tolist()
            if isinstance(proved.target, str):
                assert states[-1, 12] == 1
            else:
                assert grounded and vx == 0 and problem.finder.at(x, y).index == proved.target
            assert problem.finder.at(passage.start.x, passage.start.y).index == proved.source


def test_a_walk_into_the_ending_is_made_of_no_moves_and_never_tight(gap):
    _, found = gap
    (walk,) = (one for one in found.legs if not one.moves)
    assert (walk.source, walk.target, walk.window_ticks) == (1, "goal-1", 30)


STEP_DOWN = ["............", "............", "@...........", "######.....!", "############"]


@pytest.mark.parametrize(("hz", "threshold_ms", "ticks"), [(60, 60.0, 30), (240, 60.0, 30), (240, 130.0, 32)])
def test_no_window_is_cut_below_the_threshold(hz, threshold_ms, ticks):
    """To walk off asks for no timing: its window is whatever is measured at most, and so is that of walking alone."""
    fine = movement_from_dict(MOVEMENT | {"tick_rate_hz": hz})
    _, found = measured(STEP_DOWN, CheckOptions(window_threshold_ms=threshold_ms), fine)
    off = next(move for move in found.moves if (move.source, move.kind) == ((5, 3), MoveKind.WALK_OFF))
    assert (off.window_ticks, off.window_open) == (ticks, True)
    assert off.window_ms >= threshold_ms
    assert {one.window_ticks for one in found.legs if not one.moves} == {ticks}


def test_plans_are_looked_for_until_the_window_is_as_large_as_the_threshold(monkeypatch):
    asked = []

    def note(*_, cap, wanted, **__):
        asked.append((cap, wanted))
        yield from ()
        return Window(0, why_not="not looked for")

    monkeypatch.setattr(measures, "ask_window", note)
    fine = movement_from_dict(MOVEMENT | {"tick_rate_hz": 240})
    measured(STEP_DOWN, CheckOptions(window_threshold_ms=60.0), fine)
    assert set(asked) == {(30, 15)}


def test_a_passage_over_several_footholds_is_as_tight_as_its_tightest_move():
    rows = [*["............"] * 3, "@.........!.", *["####....####"] * 4, "####SSSS####"]
    problem, found = measured(rows, symbols={"S": {"material": "spring", "launch_px_per_s": 520}})
    bounced = [one for one in found.legs if len(one.moves) > 1]
    assert bounced
    for one in bounced:
        assert one.window_ticks == min(found.moves[index].window_ticks or 0 for index in one.moves)
        kinds = [found.moves[index].kind for index in one.moves]
        assert MoveKind.SPRING in kinds[1:]
    springs = {foothold.index for foothold in problem.footholds if foothold.is_spring}
    assert not springs & {one.source for one in found.legs} and not springs & {one.target for one in found.legs}


def test_moves_that_time_does_not_suffice_for_have_no_window():
    problem = pose(level(GAP), movement(), CheckOptions(), None)
    seen = problem.explore()
    late = pose(level(GAP), movement(), CheckOptions(time_limit_s=1e-9), None)
    found = measure(late, seen, search(problem, seen).passages)
    assert found.moves and all(move.left_out and not move.passing_only for move in found.moves)
    told = [(move.window_ticks, move.window_ms, move.chance, move.landing_room_px) for move in found.moves]
    assert set(told) == {(None, None, None, None)}
    assert {one.window_ticks for one in found.legs if one.moves} == {0}
    assert cures(late, found, range(len(told))) == ({}, "")
    assert "time limit" in found.limit and all(move.arc_px for move in found.moves)


@pytest.mark.parametrize("together", [1, 2])
def test_what_is_raised_on_the_way_leaves_what_waits_unmeasured(monkeypatch, together):
    """The first turn is measured; then the first move of the second is, while the others are called off."""
    second, told, begun = threading.Event(), threading.Event(), []

    def slow(*args, **values):
        begun.append(args)
        if len(begun) > together:
            second.set()
            assert told.wait(60)
            time.sleep(0.2)
        yield from ()
        return Window(1)

    def stop(what, part):
        if what == "measuring moves":
            assert second.wait(60)
            told.set()
            raise KeyboardInterrupt

    rows = [row[:-1] + row[8:] for row in GAP]
    moves = measured(rows)[1].moves
    problem = pose(level(rows), movement(), CheckOptions(), stop)
    known = search(problem, problem.explore()).passages
    monkeypatch.setattr(measures, "ask_window", slow)
    monkeypatch.setattr(measures, "MOST_TOGETHER", together)
    monkeypatch.setattr(measures, "LEAST_TURNS", 1)
    monkeypatch.setattr(measures.os, "cpu_count", lambda: 1)
    with pytest.raises(KeyboardInterrupt):
        measure(problem, problem.explore(), known)
    assert len(begun) == together + 1 < len(moves)


@pytest.mark.parametrize(("together", "processors"), [(1, 1), (2, 3), (16, 1)])
def test_it_does_not_matter_how_many_moves_are_measured_together_or_by_how_many(gap, monkeypatch, together, processors):
    problem, found = gap
    monkeypatch.setattr(measures, "MOST_TOGETHER", together)
    monkeypatch.setattr(measures.os, "cpu_count", lambda: processors)
    seen = problem.explore()
    again = measure(problem, seen, search(problem, seen).passages)
    assert again.moves == found.moves
    assert list(again.legs) == list(found.legs)


STEPPING_STONE = [
    "............................",
    "............................",
    "............................",
    "@..........................!",
    "############...#....########",
    "############^^^#^^^^########",
]


@pytest.mark.parametrize("acceleration", [60, 500])
def test_a_move_needs_speed_where_the_superset_has_none_from_rest(acceleration, monkeypatch):
    """From rest on the stone a body has 16 + 12 px for the run-up, enough for 58 or for more than 90 px/s.

    In the air, for 40 ticks or so, that makes less or more than the 52 px that the second gap asks for. That no plan
    was found (here: none is looked for) tells nothing.
    """
    ground = MOVEMENT["ground"] | {"walk": {"acceleration": acceleration, "top_speed": 90}}
    slow = movement_from_dict(MOVEMENT | {"ground": ground, "air": MOVEMENT["air"] | {"acceleration": 20}})
    problem = pose(level(STEPPING_STONE), slow, CheckOptions(), None)
    seen = problem.explore()
    passed = [one for one in search(problem, seen).passages if len(one.hops) > 1]

    def not_looked_for(*_, **__):
        yield from ()
        return Window(0, why_not="not looked for")

    monkeypatch.setattr(measures, "ask_window", not_looked_for)
    found = measure(problem, seen, passed)
    needy = {edge: move.needs_speed for edge, move in zip(found.edges, found.moves, strict=True)}
    assert needy[1, 2] is (acceleration == 60)
    cut_short = measure(problem, replace(seen, complete=False), passed)
    assert not any(move.needs_speed for move in cut_short.moves)


def test_a_cure_is_sought_for_short_windows_only(gap):
    problem, found = gap
    assert cures(problem, found, range(len(found.moves))) == ({}, "")
    strict = pose(level(GAP), movement(), CheckOptions(window_threshold_ms=80.0), None)
    cured, limit = cures(strict, found, [0])
    assert list(cured) == [0] and 1 <= cured[0].nearer_px <= 16 and limit == ""
    late = replace(strict, deadline=0.0, options=replace(strict.options, time_limit_s=3.0))
    assert cures(late, found, [0]) == ({}, "the time limit of 3 s was reached while looking for cures")


def test_an_arc_is_the_path_of_the_feet_centre_thinned():
    px = 65536
    states = np.array([[step * px, 10 * px] for step in range(11)], np.int64)
    assert arc_px(states, 12 * px, 20 * px) == ((6.0, 30.0), (10.0, 30.0), (14.0, 30.0), (16.0, 30.0))
    assert arc_px(states[:1], 12 * px, 20 * px) == ((6.0, 30.0),)
    assert measures.ARC_STEP_PX == 4.0
