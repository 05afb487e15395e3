"""Scripts found for small maps, one an ability: with it the far ground is reached, without it no state reaches it.

The scripts are replayed by the oracle, which shares no code with the search.
"""

import numpy as np
import pytest

from reach.findings import MoveKind
from reach.kernels.step import run_script
from reach.level import compile_terrain, level_from_dict
from reach.movement import movement_from_dict
from reach.reachability.footholds import find_footholds, standable_tiles
from reach.reachability.passages import FootholdFinder, passages
from reach.reachability.witness import SearchLimits, WitnessError, find_witnesses
from reach.simulator import start_state
from tests import oracle, oracle_files, random_levels
from tests.builders import PX, make_motion, make_terrain, standing

QUARTER = PX // 4
LIMITS = SearchLimits(trials=4000, single_states=500_000)


def coarse(**values):
    """A motion in quarter pixels, so that the search over single states ends."""
    whole = {
        "body_w": 12 * PX,
        "body_h": 14 * PX,
        "walk_accel": 2 * QUARTER,
        "walk_cap": 8 * QUARTER,
        "coast": 4 * QUARTER,
        "reverse": 4 * QUARTER,
        "jump_launch": [16 * QUARTER],
        "jump_gravity_held": [2 * QUARTER],
        "jump_gravity": [4 * QUARTER],
        "terminal": 16 * QUARTER,
        "air_accel": [2 * QUARTER],
        "air_reverse": [4 * QUARTER],
        "air_cap": [8 * QUARTER],
    }
    return make_motion(**(whole | values))


def find(rows, motion, column, row, limits=None, **options):
    terrain = make_terrain(rows, launch=48 * QUARTER)
    start = standing(column, row, motion, terrain)
    if terrain.material[row + 1, column] == 0:
        start = start._replace(grounded=0)
    wanted = standable_tiles(motion, terrain)
    footholds = find_footholds(motion, terrain)
    places = np.ones(len(terrain.place_ends), bool)
    found = find_witnesses(motion, terrain, footholds, start, wanted, places, limits=limits or LIMITS, **options)
    return found, start, terrain


def stands_on(found, start, motion, terrain, column, row):
    """Whether the script for a tile ends on top of it, played by the scalar step."""
    inputs = found.tile_inputs(column, row)
    if inputs is None:
        return False
    last = run_script(start, inputs, motion, terrain)[-1]
    tile = terrain.tile
    over = last[0] < (column + 1) * tile and last[0] + motion.body_w > column * tile
    return bool(over and last[1] + motion.body_h == row * tile and not last[11])


SHELF = ["#####", "#...#", "#...#", "#===#", "#...#", "#####"]
LOW_HOP = ["........", "........", "@..^^^^^", "##......", "####.###"]
SPRINGS = ["........", "........", ".....###", "........", "........", "........", "####S###"]
GAP = ["............", "............", "####....####"]
RUN = {"run_cap": 12 * QUARTER, "run_accel": 2 * QUARTER, "air_cap_from": [0, 10 * QUARTER]}
RUN |= {"air_cap": [8 * QUARTER, 12 * QUARTER]}
CUT = {"cut_speed": 4 * QUARTER}


@pytest.mark.parametrize(
    ("rows", "start", "far", "ability", "without"),
    [
        pytest.param(SHELF, (1, 2), (1, 5), {"drop_through": 1}, {}, id="drop through"),
        pytest.param(
            LOW_HOP, (0, 2), (6, 4), CUT | {"buffer_ticks": 2}, CUT, id="a hop from a press kept in the buffer"
        ),
        pytest.param(
            GAP, (1, 1), (8, 2), {"body_w": 113 * QUARTER, "coyote_ticks": 6}, {"body_w": 113 * QUARTER}, id="coyote"
        ),
        pytest.param(GAP, (1, 1), (8, 2), {"body_w": 65 * QUARTER} | RUN, {"body_w": 65 * QUARTER}, id="run"),
        pytest.param(GAP, (1, 1), (8, 2), {"body_w": 129 * QUARTER}, {"body_w": 128 * QUARTER}, id="a quarter pixel"),
    ],
)
def test_an_ability_and_its_lack(rows, start, far, ability, without):
    motion = coarse(**ability)
    found, begun, terrain = find(rows, motion, *start)
    assert stands_on(found, begun, motion, terrain, *far)
    found, _, _ = find(rows, coarse(**without), *start)
    assert found.exhausted
    assert found.tile_inputs(*far) is None
    assert not found.exhausted_tiles[far[1], far[0]]


def test_a_spring_and_a_floor_in_its_place():
    motion = coarse()
    found, begun, terrain = find(SPRINGS, motion, 1, 5)
    assert stands_on(found, begun, motion, terrain, 6, 2)
    assert stands_on(found, begun, motion, terrain, 4, 6)
    bounces = [move for move in found.under_moves if move.kind is MoveKind.SPRING]
    assert bounces
    assert not any(move.from_rest for move in bounces)
    assert all(move.start.vx == 0 and move.start.grounded for move in bounces)
    found, _, _ = find([row.replace("S", "#") for row in SPRINGS], motion, 1, 5)
    assert found.exhausted
    assert found.tile_inputs(6, 2) is None


def test_a_leap_over_a_narrow_foothold_keeps_its_speed():
    rows = ["." * 28, "." * 28, "############...#....########"]
    motion = coarse(run_cap=16 * QUARTER, run_accel=QUARTER // 2, air_accel=[QUARTER // 4], air_cap=[16 * QUARTER])
    found, begun, terrain = find(rows, motion, 0, 1)
    assert stands_on(found, begun, motion, terrain, 20, 2)
    leap = next(m for m in found.under_moves if (m.source, m.target, m.kind) == (1, 2, MoveKind.JUMP))
    assert not leap.from_rest
    states = run_script(leap.start, leap.inputs, motion, terrain)
    left, pillar = find_footholds(motion, terrain)[:2]
    assert left.left_spx <= states[0, 0] <= left.right_spx
    passed = states[leap.leave_tick]
    assert pillar.left_spx <= passed[0] <= pillar.right_spx
    assert passed[2] > 0
    assert passed[4] == 1


def test_every_move_is_what_it_says():
    rows = ["..........", "....==....", "..........", ".###....##", "#####S####"]
    motion = make_motion(body_h=14 * PX, drop_through=1, run_cap=160000, coyote_ticks=2)
    found, _, terrain = find(rows, motion, 0, 3)
    finder = FootholdFinder(find_footholds(motion, terrain), motion, terrain)
    kinds = set()
    for move in found.under_moves:
        kinds.add(move.kind)
        states = run_script(move.start, move.inputs, motion, terrain)
        assert states[0, 2] == 0
        last = finder.at(states[-1, 0], states[-1, 1])
        assert last is not None
        assert last.index == move.target
        if move.comes_to_rest:
            assert states[-1, 2] == 0
            assert states[-1, 4] == 1
        if move.from_rest:
            assert finder.at(move.start.x, move.start.y).index == move.source
            (passage,) = passages(move.start, move.inputs, finder, motion, terrain) or (None,)
            if passage is not None:
                assert (passage.hops[-1].target, passage.hops[-1].kind) == (move.target, move.kind)
                assert passage.hops[-1].leave_tick <= move.leave_tick <= passage.hops[-1].leave_tick + 2
    assert kinds == set(MoveKind)


def test_a_level_that_ends_gives_moves_into_the_place():
    found, begun, terrain = find(["......", "....!.", "######"], coarse(), 0, 1)
    (move,) = (move for move in found.under_moves if move.place is not None and move.kind is MoveKind.STRIDE)
    assert move.target is None
    assert run_script(move.start, move.inputs, coarse(), terrain)[-1, 12] == 1
    assert run_script(begun, found.place_inputs(0), coarse(), terrain)[-1, 12] == 1


def test_it_begins_anywhere():
    motion = coarse()
    found, begun, terrain = find(["....", "....", "....", "####"], motion, 1, 0)
    assert begun.grounded == 0
    assert stands_on(found, begun, motion, terrain, 3, 3)
    assert len(found.foothold_inputs(0)) > 0


def test_what_nobody_thought_possible_is_an_error():
    terrain = make_terrain(["....", "####"])
    motion = coarse()
    start = standing(0, 0, motion, terrain)
    nothing = np.zeros((2, 4), bool)
    with pytest.raises(WitnessError, match="superset"):
        find_witnesses(motion, terrain, find_footholds(motion, terrain), start, nothing, np.zeros(0, bool))


def test_a_script_that_does_not_replay_is_an_error():
    found, _, _ = find(["....", "....", "####"], coarse(), 0, 1)
    everything = np.ones((3, 4), bool)
    found.verify(everything, np.zeros(0, bool))
    slot = found._book.tile_slot[2, 3]
    found._book.reach[slot, 0] = 0
    with pytest.raises(WitnessError):
        found.verify(everything, np.zeros(0, bool))


def test_a_limit_leaves_things_unproved_and_is_kept():
    limits = SearchLimits(ticks=2000)
    found, _, _ = find(GAP, coarse(body_w=129 * QUARTER), 1, 1, limits)
    assert found.tile_inputs(8, 2) is None
    assert not found.exhausted
    assert 2000 <= found.ticks <= 2200
    assert found.gave_up.by_limit and found.gave_up.why == "the search for scripts ended after 2000 simulated ticks"


def test_a_search_that_ends_of_itself_tells_how_much_it_tried():
    limits = SearchLimits(trials=16, move_trials=16, single_states=40)
    found, _, _ = find(["......##", *["........"] * 12, "########"], coarse(), 1, 12, limits)
    assert not found.exhausted and not found.gave_up.by_limit
    assert "up to 16 tries" in found.gave_up.why and "up to 40 single states" in found.gave_up.why
    late, _, _ = find(GAP, coarse(body_w=129 * QUARTER), 1, 1, SearchLimits(deadline=0.0))
    assert (late.gave_up.why, late.gave_up.by_limit) == ("time limit", True)


@pytest.mark.parametrize("seed", [3, 17, 29, 41, 58, 73])
def test_random_levels_agree_with_the_exhaustive_oracle(seed):
    level_json, movement_json = random_levels.generate(seed)
    case = oracle_files.compile_case(level_json, movement_json)
    truth = oracle_files.search(case)
    assert truth.ended
    level, movement = level_from_dict(level_json), movement_from_dict(movement_json)
    terrain = compile_terrain(level, movement)
    motion = movement.motion
    found = find_witnesses(
        motion,
        terrain,
        find_footholds(motion, terrain),
        start_state(level, movement),
        standable_tiles(motion, terrain),
        np.ones(len(level.places), bool),
    )
    tiles = {(int(c), int(r)) for r, c in np.argwhere(found.reached_tiles)}
    assert tiles == truth.tiles & {(int(c), int(r)) for r, c in np.argwhere(standable_tiles(motion, terrain))}
    assert {place.id for place, yes in zip(level.places, found.reached_places, strict=True) if yes} == truth.places
    for index, place in enumerate(level.places):
        if found.reached_places[index]:
            last = oracle.read_body(oracle_files.replay(case, found.place_inputs(index)), -1)
            assert place.id in oracle_files.touched_places(case, last)
