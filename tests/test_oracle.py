"""The second reading of the motion model, against the first and against closed forms."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.level import compile_terrain, level_from_dict
from reach.movement import movement_from_dict
from reach.simulator import start_state
from tests import oracle
from tests.oracle import Body
from tests.oracle_files import (
    SUBPIXELS,
    Case,
    all_inputs,
    compile_case,
    replay,
    search,
    standable_tiles,
    touched_places,
)
from tests.random_levels import generate, held_inputs, roughened
from tests.random_maps import Dice

LEVELS = 300
WALKS = 40
TICKS = 40


def movement(**sections: Any) -> dict[str, Any]:
    """A profile of whole pixels a tick, with whole sections replaced."""
    return {
        "format": "reach-movement/1",
        "name": "plain",
        "units": "per_tick",
        "tick_rate_hz": 60,
        "body": {"width_px": 4, "height_px": 4},
        "ground": {
            "walk": {"acceleration": 1, "top_speed": 2},
            "coast_deceleration": 1,
            "reverse_deceleration": 1,
        },
        "jump": {"bands": [{"launch_speed": 3, "gravity_held": 1, "gravity": 1}]},
        "fall": {"terminal_speed": 3},
        "air": {"acceleration": 1, "reverse_deceleration": 1, "top_speed": 2},
    } | sections


def case_of(rows: list[str], **sections: Any) -> Case:
    symbols = {"S": {"material": "spring", "launch_px_per_s": 300}}
    level = {"format": "reach-level/1", "name": "drawn", "tile_px": 4, "rows": rows, "symbols": symbols}
    return compile_case(level, movement(**sections))


def px(*numbers: float) -> list[int]:
    return [round(number * SUBPIXELS) for number in numbers]


def column(states: np.ndarray, name: str) -> list[int]:
    return states[:, Body._fields.index(name)].tolist()


# Against the package


def both(seed: int) -> tuple[Case, Any, Any, Any]:
    """A level read by both sides; every other one with fine numbers."""
    level, profile = generate(seed)
    if seed % 2:
        profile = roughened(profile, Dice(seed))
    ours, theirs = level_from_dict(level), movement_from_dict(profile)
    return compile_case(level, profile), ours, theirs, compile_terrain(ours, theirs)


@pytest.mark.parametrize("first", range(0, LEVELS, 100))
def test_both_readings_of_the_files_give_the_same_integers(first: int) -> None:
    for seed in range(first, first + 100):
        case, level, profile, terrain = both(seed)
        rules, motion = case.rules, profile.motion
        assert (rules.width, rules.height) == (motion.body_w, motion.body_h)
        assert rules.walk.tolist() == [motion.walk_accel, motion.walk_cap]
        assert rules.run.tolist() == ([motion.run_accel, motion.run_cap] if motion.has_run else [])
        assert (rules.memory, rules.coast, rules.reverse) == (motion.run_memory, motion.coast, motion.reverse)
        jumps = [motion.jump_from, motion.jump_launch, motion.jump_gravity_held, motion.jump_gravity]
        assert rules.jumps.T.tolist() == [values.tolist() for values in jumps]
        assert (rules.cut, rules.gravity_at_launch, rules.terminal) == (
            motion.cut_speed,
            motion.launch_tick_gravity,
            motion.terminal,
        )
        assert rules.air_push.T.tolist() == [motion.air_accel_from.tolist(), motion.air_accel.tolist()]
        brakes = [motion.air_reverse_from_speed, motion.air_reverse_from_takeoff, motion.air_reverse]
        assert rules.air_brake.T.tolist() == [values.tolist() for values in brakes]
        assert rules.air_top.T.tolist() == [motion.air_cap_from.tolist(), motion.air_cap.tolist()]
        assert (rules.drag, rules.coyote, rules.buffer, rules.drops) == (
            motion.drag,
            motion.coyote_ticks,
            motion.buffer_ticks,
            motion.drop_through,
        )
        assert case.world.tile == terrain.tile
        assert case.world.launches.tolist() == terrain.launch.tolist()
        places = np.stack([terrain.place_column, terrain.place_row, terrain.place_ends], axis=1)
        assert dict(zip(case.place_ids, case.world.places.tolist(), strict=True)) == dict(
            zip([place.id for place in level.places], places.tolist(), strict=True)
        )
        if case.start_is_clear:
            assert tuple(start_state(level, profile)) == case.start


def test_both_simulators_agree_on_every_tick_of_held_buttons() -> None:
    """Each walk starts where an earlier one was at some tick, so that later parts of a level are walked as well."""
    ticks = moved = 0
    for seed in range(LEVELS):
        case, _, profile, terrain = both(seed)
        if not case.start_is_clear:
            continue
        dice = Dice(seed)
        starts = [case.start]
        for _ in range(WALKS):
            start = dice.pick(starts)
            buttons = np.array(held_inputs(dice, TICKS), np.int64)
            states = replay(case, buttons, start)
            theirs = run_script(State(*start), buttons, profile.motion, terrain)
            assert np.array_equal(states, theirs), (
                f"seed {seed}, tick {np.argmax((states != theirs).any(axis=1))} from {start}"
            )
            alive = states[(states[:, -1] == 0) & (states[:, -2] == 0)]
            starts += [Body(*alive[dice.below(len(alive))].tolist()) for _ in range(3) if len(alive)]
            ticks += TICKS
            moved += int((states[1:] != states[:-1]).any(axis=1).sum())
    assert ticks > 400_000
    assert moved > 100_000


# Closed forms


@pytest.mark.small
def test_a_held_jump_follows_the_discrete_arc() -> None:
    """Height n*launch - g*n(n-1)/2: the sum of an arithmetic series; its apex at ticks q and q + 1 for launch q*g."""
    case = case_of(["....", "....", "....", "....", ".@..", "####"])
    states = replay(case, np.array([(0, 0, 0, 1)] * 6))
    assert [case.start.y - y for y in column(states, "y")] == [
        n * px(3)[0] - px(1)[0] * n * (n - 1) // 2 for n in range(7)
    ]
    assert column(states, "y")[3] == column(states, "y")[4] == min(column(states, "y"))


@pytest.mark.small
def test_an_exact_touch_does_not_land() -> None:
    case = case_of(["....", "....", "....", "....", ".@..", "####"])
    states = replay(case, np.array([(0, 0, 0, 1)] * 8))
    assert column(states, "y")[7] == case.start.y
    assert column(states, "grounded")[6:9] == [0, 0, 1]


@pytest.mark.small
def test_run_up_and_stopping_distances_are_arithmetic_series() -> None:
    """Published worked example of the limit, v*v/(2d): OpenStax University Physics 1, example 3.10."""
    ground = {"walk": {"acceleration": 0.25, "top_speed": 3}, "coast_deceleration": 0.5, "reverse_deceleration": 1}
    case = case_of([".@" + "." * 30, "#" * 32], ground=ground)
    states = replay(case, np.array([(1, 0, 0, 0)] * 12 + [(0, 0, 0, 0)] * 8))
    x = column(states, "x")
    assert [x[n] - x[0] for n in range(13)] == [px(0.25)[0] * n * (n + 1) // 2 for n in range(13)]
    q = 6
    assert x[-1] - x[12] == q * px(3)[0] - px(0.5)[0] * q * (q + 1) // 2
    assert column(states, "vx")[-3:] == [0, 0, 0]


@pytest.mark.small
def test_a_spring_throws_along_the_arc_with_gravity_in_its_first_move() -> None:
    case = case_of(["...", "...", "...", ".@.", ".S."])
    states = replay(case, np.array([(0, 0, 0, 0)] * 6))
    top = case.start.y
    assert [top - y for y in column(states, "y")[1:7]] == px(0, 4, 7, 9, 10, 10)


# The search


@pytest.mark.small
def test_a_corridor_has_the_states_that_a_plain_set_of_them_has() -> None:
    case = case_of(["....", ".@.!", "=#.="], help={"coyote_ticks": 1, "buffer_ticks": 1, "drop_through": True})
    seen, waiting = {case.start}, [case.start]
    lost = False
    while waiting:
        body = waiting.pop()
        for press in all_inputs(case.rules).tolist():
            after, _ = oracle.tick(body, *press, case.rules, case.world)
            after = Body(*after)._replace(takeoff=0)  # one band everywhere
            lost = lost or bool(after.lost)
            if not after.lost and after not in seen:
                seen.add(after)
                waiting.append(after)
    found = search(case)
    assert found.ended
    assert {Body(*row) for row in found.states.tolist()} == seen
    assert found.can_be_lost == lost
    assert found.places == set().union(*(touched_places(case, body) for body in seen))


def test_every_script_of_a_search_replays_to_its_target() -> None:
    for seed in range(20):
        level, profile = generate(seed)
        case = compile_case(level, profile)
        found = search(case, limit=100_000)
        for c, r in found.tiles:
            script = found.script_to_tile((c, r))
            last = Body(*replay(case, script)[-1].tolist())
            assert not last.lost
            assert last.y + case.rules.height == r * case.world.tile
            assert c * case.world.tile - case.rules.width < last.x < (c + 1) * case.world.tile
            assert last.grounded or last.vy == -case.world.launches[r].max() or last.vy < 0
        for ident in found.places:
            assert ident in touched_places(case, Body(*replay(case, found.script_to_place(ident))[-1].tolist()))
        if found.can_be_lost:
            assert Body(*replay(case, found.script_to_loss())[-1].tolist()).lost
        at = found.count // 2
        last = Body(*replay(case, found.script_to_state(at))[-1].tolist())
        assert last._replace(takeoff=0) == Body(*found.states[at].tolist())._replace(takeoff=0)


@pytest.mark.small
def test_a_step_is_reached_at_its_height_and_not_one_higher() -> None:
    """A jump of 3 + 2 + 1 = 6 px (motion model, section 6) climbs one tile of 4 px, and not two."""
    low = search(case_of(["......", "......", "......", "@...##", "######"]))
    assert low.ended
    assert (4, 3) in low.tiles
    high = search(case_of(["......", "....##", "@...##", "######"]))
    assert high.ended
    assert (4, 2) not in high.tiles


@pytest.mark.small
def test_a_search_cut_short_says_so() -> None:
    case = case_of(["....", ".@..", "####"])
    whole = search(case)
    assert whole.ended
    assert not search(case, limit=whole.count - 1).ended
    assert search(case, limit=whole.count).ended


@pytest.mark.small
def test_an_ending_place_has_no_successor() -> None:
    rows = [".......", ".@.!...", "#######"]
    found = search(case_of(rows, jump={"bands": [{"launch_speed": 0, "gravity_held": 1, "gravity": 1}]}))
    assert found.can_end
    assert found.places == {"start-1", "goal-1"}
    assert (5, 2) not in found.tiles


@pytest.mark.small
def test_a_search_from_a_pit_tells_that_nothing_ends_or_is_lost() -> None:
    rows = ["......", "......", "@....!", "##.###", "##.###", "##.###", "##.###", "######"]
    case = case_of(rows)
    pit = Body(2 * case.world.tile, 6 * case.world.tile, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0)
    found = search(case, [pit])
    assert found.ended
    assert not found.can_end
    assert not found.can_be_lost
    assert search(case).can_end


# Standable tiles


@pytest.mark.small
def test_a_tile_is_standable_when_some_body_fits_on_it() -> None:
    assert standable_tiles(case_of(["@.^.", "####"])) == {(0, 1), (1, 1), (3, 1)}
    rows = ["@.....", "#.####", "#.=...", "######"]
    assert standable_tiles(case_of(rows)) == {
        (0, 1),
        (1, 3),
        *((c, 1) for c in range(2, 6)),
        *((c, 3) for c in range(2, 6)),
    }
    tall = case_of(rows, body={"width_px": 4, "height_px": 5})
    assert standable_tiles(tall) == {(0, 1), (1, 3), *((c, 1) for c in range(2, 6))}


@pytest.mark.small
def test_a_gap_as_wide_as_the_body_lets_it_in_and_one_subpixel_less_does_not() -> None:
    rows = ["@.....", "##.###", "##.###", "######"]
    assert (2, 3) in standable_tiles(case_of(rows))
    wider = case_of(rows, body={"width_px": 4 + 1 / SUBPIXELS, "height_px": 4})
    assert wider.rules.width == px(4)[0] + 1
    assert (2, 3) not in standable_tiles(wider)
