import numpy as np
import pytest

from reach.findings import MoveKind
from reach.kernels.step import run_script
from reach.reachability.footholds import find_footholds
from reach.reachability.passages import FootholdFinder, Hop, passages
from tests.builders import inputs, make_motion, make_terrain, standing

MOTION = make_motion(drop_through=1)


def cut(rows, column, row, *steps, motion=MOTION, **terrain_options):
    terrain = make_terrain(rows, **terrain_options)
    footholds = find_footholds(motion, terrain)
    finder = FootholdFinder(footholds, motion, terrain)
    start = standing(column, row, motion, terrain)
    given = inputs(*steps)
    found = passages(start, given, finder, motion, terrain)
    return found, footholds, (start, given, motion, terrain)


def kinds(passage):
    return [hop.kind for hop in passage.hops]


GAP = [
    "............",
    "............",
    "............",
    "####...#####",
]


def test_a_jump_is_one_passage_from_rest_to_rest():
    found, footholds, _ = cut(GAP, 2, 2, (20, "r"), (20, "rj"), (30, "r"), (60, ""))
    assert [(one.source, one.target, one.place) for one in found] == [(0, 1, None)]
    assert kinds(found[0]) == [MoveKind.JUMP]
    assert footholds[0].columns == (0, 3) and footholds[1].columns == (7, 11)


def test_a_passage_replays_from_its_own_start_to_rest():
    found, footholds, (_, _, motion, terrain) = cut(GAP, 2, 2, (9, ""), (20, "r"), (20, "rj"), (30, "r"), (60, ""))
    (one,) = found
    states = run_script(one.start, one.inputs, motion, terrain)
    x, _, vx, _, grounded = states[-1, :5].tolist()
    assert grounded == 1 and vx == 0 and footholds[1].left_spx <= x <= footholds[1].right_spx
    assert one.start.vx == 0 and one.start.grounded == 1
    hop = one.hops[0]
    on_ground = np.flatnonzero(states[:, 4] == 0)
    assert (hop.leave_tick, hop.arrive_tick) == (on_ground[0] - 1, on_ground[-1] + 1)


def test_the_wait_before_a_passage_is_left_out():
    waited, _, _ = cut(GAP, 2, 2, (9, ""), (20, "r"), (20, "rj"), (30, "r"), (60, ""))
    at_once, _, _ = cut(GAP, 2, 2, (20, "r"), (20, "rj"), (30, "r"), (60, ""))
    assert len(waited[0].inputs) == len(at_once[0].inputs)


def test_a_script_that_does_not_come_to_rest_proves_nothing():
    found, _, _ = cut(GAP, 2, 2, (20, "r"), (20, "rj"), (20, "r"))
    assert found == ()


def test_a_jump_in_place_is_no_passage():
    found, _, _ = cut(GAP, 2, 2, (3, "j"), (60, ""))
    assert found == ()


STAIRS = [
    "......",
    "###...",
    "###...",
    "######",
]


def test_a_fall_is_a_walk_off():
    found, _, _ = cut(STAIRS, 2, 0, (40, "r"), (60, ""))
    assert [kinds(one) for one in found] == [[MoveKind.WALK_OFF]]


def test_a_jump_within_coyote_time_is_a_jump():
    motion = make_motion(coyote_ticks=6)
    tall = ["......" for _ in range(3)] + STAIRS
    terrain = make_terrain(tall)
    start = standing(2, 3, motion, terrain)
    off = next(t for t, row in enumerate(run_script(start, inputs((60, "r")), motion, terrain)) if not row[4])
    found, _, _ = cut(tall, 2, 3, (off + 2, "r"), (5, "rj"), (40, "r"), (60, ""), motion=motion)
    assert [kinds(one) for one in found] == [[MoveKind.JUMP]]


def test_down_through_a_ledge_is_a_drop():
    rows = ["......", "......", "======", "......", "......", "######"]
    found, _, _ = cut(rows, 2, 1, (1, "d"), (60, ""))
    assert [kinds(one) for one in found] == [[MoveKind.DROP]]
    stays, _, _ = cut(rows, 2, 1, (1, "d"), (60, ""), motion=make_motion())
    assert stays == ()


def test_running_over_a_slit_is_a_stride():
    rows = ["........", "........", "###.####"]
    motion = make_motion(body_w=12 << 16, walk_cap=1200000, walk_accel=200000)
    found, footholds, _ = cut(rows, 0, 1, (5, "r"), (20, ""), motion=motion)
    assert len(footholds) == 2
    assert [(one.source, one.target, kinds(one)) for one in found] == [(0, 1, [MoveKind.STRIDE])]


def test_a_spring_is_passed_without_rest():
    rows = ["......"] * 6 + ["##....", "##....", "##..##", "##..##", "##SS##"]
    found, footholds, _ = cut(rows, 4, 7, (200, "l"), (60, ""), launch=500000)
    left, right = (next(f.index for f in footholds if f.columns[0] == column) for column in (0, 4))
    assert [(one.source, one.target) for one in found] == [(right, left)]
    assert kinds(found[0])[0] == MoveKind.WALK_OFF and kinds(found[0])[-1] == MoveKind.SPRING


def test_the_end_is_a_passage_into_its_place():
    rows = ["......", "....!.", "######"]
    found, _, _ = cut(rows, 0, 1, (200, "r"))
    assert [(one.source, one.target, one.place, one.hops) for one in found] == [(0, None, 0, ())]


def test_a_flight_into_the_end_is_a_hop_without_target():
    rows = ["......", "......", "....!.", "......", "......", "......", "######"]
    found, _, _ = cut(rows, 3, 5, (25, "rj"), (60, "r"))
    (one,) = found
    assert (one.source, one.target, one.place) == (0, None, 0)
    assert [(hop.source, hop.target, hop.kind) for hop in one.hops] == [(0, None, MoveKind.JUMP)]
    assert one.hops[0].arrive_tick == len(one.inputs)


def test_a_fall_into_the_end_is_a_walk_off():
    rows = ["......", "......", "###...", "###...", "###...", "###!!!", "######"]
    found, _, _ = cut(rows, 1, 1, (200, "r"))
    (one,) = found
    assert [(hop.source, hop.target, hop.kind) for hop in one.hops] == [(0, None, MoveKind.WALK_OFF)]


def test_a_place_that_does_not_end_the_level_is_passed():
    rows = ["......", "....+.", "######"]
    found, _, _ = cut(rows, 0, 1, (200, "r"))
    assert found == ()


def test_nothing_is_found_once_the_body_is_lost():
    rows = ["......", "......", "###...", "###...", "###^^^"]
    found, _, _ = cut(rows, 0, 1, (200, "r"))
    assert found == ()


@pytest.mark.parametrize(("x", "above"), [(0, 0), (0, 1), (11 << 20, 0)])
def test_finder_asks_for_the_feet_on_the_top(x, above):
    terrain = make_terrain(GAP)
    finder = FootholdFinder(find_footholds(MOTION, terrain), MOTION, terrain)
    on = finder.at(x, 3 * terrain.tile - MOTION.body_h - above)
    expected = None if above else (0 if x == 0 else 1)
    assert (on.index if on else None) == expected


def test_hops_count_from_the_passage():
    found, _, _ = cut(GAP, 2, 2, (9, ""), (20, "r"), (20, "rj"), (30, "r"), (60, ""))
    (hop,) = found[0].hops
    assert hop == Hop(0, 1, MoveKind.JUMP, hop.leave_tick, hop.arrive_tick)
    assert 0 < hop.leave_tick < hop.arrive_tick <= len(found[0].inputs)
