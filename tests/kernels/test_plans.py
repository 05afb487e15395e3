"""Plans flown in bulk against plans driven tick by tick through `step`, the scalar reference."""

from __future__ import annotations

import random
from itertools import pairwise, product

import numpy as np
import pytest

from reach.findings import MoveKind
from reach.kernels.boxes import grow, largest_cube, pad, sampled_bound
from reach.kernels.contact import overlaps_blocking
from reach.kernels.course import FAR, compile_course
from reach.kernels.params import ONE_WAY, Buttons, State, Terrain
from reach.kernels.plan_axes import natural_ticks
from reach.kernels.plan_tick import FAILS, PASSES, SUCCEEDS, TOUCH, Goal, Scene, run_inputs
from reach.kernels.plans import DROP, JUMP, SPRING, WALK, PlanTicks, fly_plan
from reach.kernels.step import run_script, step
from reach.reachability.footholds import find_footholds
from reach.reachability.plan_task import Box, Task, foothold_ground, make_task
from tests.builders import PX, TILE, make_motion, make_state, make_terrain, standing
from tests.random_plans import (
    body_row_of,
    flown,
    random_inputs,
    random_motion,
    random_plan,
    random_task,
    random_terrain,
    spring_under,
    touches,
)

NOWHERE = Goal(TOUCH, 0, 0, 0, 0, 0, FAR, FAR, -FAR, -FAR, FAR)


def drive(task: Task, plan: PlanTicks, terrain: Terrain) -> tuple[int, list[State]]:
    """A plan's worth, driven through `step` one tick at a time by the words of what a plan is."""
    motion = task.scene.motion
    target = task.target
    if plan.action == SPRING:
        launch = task.source(plan.x).launch
        state = make_state(plan.x, plan.y, vy=-launch)
        clock = 1
    else:
        state = make_state(plan.x, plan.y, grounded=1)
        clock = 0 if plan.action == WALK else -max(plan.press, 0)
    first_steer = plan.steer_from + max(-plan.press, 0)
    states = [state]
    took_off = plan.action in (SPRING, WALK)
    landed = False

    def on_target(state: State) -> bool:
        return not isinstance(target, Box) and state.y == target.y and target.left <= state.x <= target.right

    def braking(vx: int) -> int:
        if motion.reverse < motion.coast or vx == 0:
            return 0
        return -1 if vx > 0 else 1

    for _ in range(600):
        was = state
        on_source = was.grounded and task.ground.left <= was.x <= task.ground.right
        ready = on_source or (plan.action == JUMP and not was.grounded and was.coyote > 0)
        if not took_off and not ready:
            return FAILS, states
        down = jump = 0
        run = plan.run
        if landed or (plan.action == WALK and was.grounded and clock >= plan.steer_until):
            direction = braking(was.vx) if landed or on_target(was) else 0
            run = 0
        elif clock < 0:
            direction = plan.facing
        else:
            direction = plan.facing if clock >= first_steer else 0
            if clock >= plan.steer_until:
                direction = plan.end * plan.facing
            if clock == 0 and plan.action != WALK:
                direction = plan.facing if first_steer == 0 else 0
            jump = int(plan.action == JUMP and clock < plan.hold)
            down = int(plan.action == DROP and clock == 0)
        state = step(was, Buttons(direction, down, run, jump), motion, terrain)
        states.append(state)
        pressed = took_off or clock >= 0
        if touches(state, task, terrain, motion):
            return (SUCCEEDS if pressed else FAILS), states
        passed = PASSES if landed and not isinstance(target, Box) else FAILS
        if state.lost or state.ended:
            return passed, states
        if not took_off and clock >= 0:
            if plan.action == DROP and (state.grounded or state.y != was.y + 1):
                return FAILS, states
            took_off = True
        clock += 1
        if not took_off:
            continue
        launch = spring_under(state, motion, terrain)
        if launch and state.vy == -launch:
            good = not isinstance(target, Box) and target.is_spring and on_target(state)
            return (SUCCEEDS if good else passed), states
        if landed and not state.grounded:
            return passed, states
        if not landed and state.grounded and (not was.grounded or (clock == 1 and plan.action != WALK)):
            landed = True
            if not isinstance(target, Box) and (target.is_spring or not on_target(state)):
                return FAILS, states
        if state.grounded and state.vx == 0 and (landed or clock >= plan.steer_until):
            if isinstance(target, Box):
                return FAILS, states
            if on_target(state) and not target.is_spring:
                return SUCCEEDS, states
            return (PASSES if landed else FAILS), states
    return FAILS, states


@pytest.mark.parametrize("seed", range(6))
def test_a_course_ticks_as_step_does(seed: int):
    dice = random.Random(seed)
    compared = 0
    for _ in range(60):
        motion, terrain = random_motion(dice), random_terrain(dice)
        scene = Scene(motion, compile_course(terrain), NOWHERE)
        rows, columns = terrain.material.shape
        start = standing(dice.randrange(columns), dice.randrange(rows), motion, terrain, grounded=0)
        if overlaps_blocking(start.x, start.y, motion, terrain):
            continue
        script = random_inputs(dice, 150)
        states = run_script(start, script, motion, terrain)
        bodies = run_inputs(body_row_of(start), script, scene)
        np.testing.assert_array_equal(bodies[:, :11], states[:, :11])
        np.testing.assert_array_equal(bodies[:, 11], states[:, 11] + 2 * states[:, 12])
        compared += 1
    assert compared > 20


@pytest.mark.parametrize("keep", [False, True])
@pytest.mark.parametrize("seed", range(3))
def test_a_shifted_course_is_the_same_map_drawn_in_pixels(seed: int, keep: bool):
    """`step` on a terrain of one-px tiles is the reference for maps that tiles cannot say."""
    dice = random.Random(seed)
    tile_px = 8
    moving = 0
    for _ in range(40):
        motion = random_motion(dice)._replace(body_w=5 * PX, body_h=7 * PX)
        coarse = random_terrain(dice)
        terrain = coarse._replace(tile=tile_px * PX)
        rows, columns = terrain.material.shape
        moved = np.array([[dice.random() < 0.3 for _ in range(columns)] for _ in range(rows)])
        right, down = dice.randint(-10, 10), dice.randint(-10, 10)
        course = compile_course(terrain, moved, right * PX, down * PX, keep=keep)
        fine = drawn_in_pixels(terrain, tile_px, moved, right, down, keep)
        start = make_state(dice.randint(0, columns * tile_px - 5) * PX, dice.randint(0, 3) * PX)
        if overlaps_blocking(start.x, start.y, motion, fine):
            continue
        script = random_inputs(dice, 120)
        states = run_script(start, script, motion, fine)
        bodies = run_inputs(body_row_of(start), script, Scene(motion, course, NOWHERE))
        np.testing.assert_array_equal(bodies[:, :11], states[:, :11])
        np.testing.assert_array_equal(bodies[:, 11], states[:, 11] + 2 * states[:, 12])
        moving += 1
    assert moving > 10


def drawn_in_pixels(terrain: Terrain, tile_px: int, moved: np.ndarray, right: int, down: int, keep: bool) -> Terrain:
    """The map with a px for a tile; a one_way tile is a line. Only good for maps whose overlaps do not clash."""
    rows, columns = terrain.material.shape
    material = np.zeros((rows * tile_px, columns * tile_px), np.uint8)
    launch = np.zeros(material.shape, np.int64)
    ends = {
        (int(r), int(c))
        for r, c, e in zip(terrain.place_row, terrain.place_column, terrain.place_ends, strict=True)
        if e
    }
    places = []
    # what blocks goes over what hurts, that over a one_way line: drawn in this order none of them is lost
    for rank in (ONE_WAY, 3, 1, 4):
        for row, column in product(range(rows), range(columns)):
            stays = not moved[row, column] or keep
            for shown, dx, dy in ((stays, 0, 0), (moved[row, column], right, down)):
                if not shown:
                    continue
                for y, x in product(range(tile_px), range(tile_px)):
                    at = (row * tile_px + y + dy, column * tile_px + x + dx)
                    if not (0 <= at[0] < material.shape[0] and 0 <= at[1] < material.shape[1]):
                        continue
                    if rank == ONE_WAY and (row, column) in ends:
                        places.append((at[1], at[0], 1))
                    if terrain.material[row, column] == rank and (rank != ONE_WAY or y == 0):
                        material[at] = rank
                        launch[at] = max(launch[at], terrain.launch[row, column])
    table = np.array(places, np.int64).reshape(-1, 3)
    columns_of = [np.ascontiguousarray(table[:, i]) for i in range(3)]
    return Terrain(PX, material, launch, *columns_of)


@pytest.mark.parametrize("seed", range(8))
def test_plans_in_bulk_and_alone_are_worth_what_step_makes_of_them(seed: int):
    dice = random.Random(1000 + seed)
    counts = {FAILS: 0, PASSES: 0, SUCCEEDS: 0}
    for _ in range(80):
        motion, terrain = random_motion(dice), random_terrain(dice)
        task = random_task(dice, motion, terrain)
        if task is None:
            continue
        for _ in range(8):
            plan = random_plan(dice, task)
            worth, states = drive(task, plan, terrain)
            alone, inputs, bodies, _ = fly_plan(plan, task.source(plan.x), task.scene, 600)
            if isinstance(task.target, Box) and touches(states[0], task, terrain, motion):
                continue
            assert alone == worth, (plan, task.target)
            first = State(*(int(n) for n in bodies[0, :11]), 0, 0)
            replayed = run_script(first, inputs, motion, terrain)
            np.testing.assert_array_equal(replayed[:, :11], bodies[:, :11])
            # A flight too low for its goal is not followed to its landing.
            np.testing.assert_array_equal(np.array(states, np.int64)[: len(bodies), :11], bodies[:, :11])
            assert len(bodies) == len(states) or worth == FAILS
            axes = [np.array([ticks], np.int64) for ticks in (plan.press, plan.hold, plan.steer_until)]
            bulk, _, _ = flown(task, plan, *axes)
            assert bulk[0, 0, 0] == worth, (plan, task.target)
            counts[worth] += 1
    assert counts[SUCCEEDS] > 10
    assert counts[FAILS] > 50


@pytest.mark.parametrize("seed", range(4))
def test_a_whole_grid_is_its_plans_one_by_one(seed: int):
    """Branching must not mix up which flight parts from which: all cells of dense grids, against plans flown alone."""
    dice = random.Random(2000 + seed)
    counts = np.zeros(3, np.int64)
    for _ in range(35):
        motion, terrain = random_motion(dice), random_terrain(dice)
        task = random_task(dice, motion, terrain)
        if task is None or task.action == WALK:
            continue
        plan = random_plan(dice, task)
        low = dice.randint(-8, 0 if task.action == SPRING else 12)
        presses = np.arange(low, min(low + 5, 1) if task.action == SPRING else low + 5, dtype=np.int64)
        holds = np.arange(1, 26, dice.randint(1, 8)) if task.action == JUMP else np.array([1])
        steers = np.arange(1, 40, dice.randint(1, 7))
        grid, spots, longest = flown(task, plan, presses, holds, steers)
        for (i, press), (j, hold), (m, steer) in product(enumerate(presses), enumerate(holds), enumerate(steers)):
            one = plan._replace(press=int(press), hold=int(hold), steer_until=int(steer))
            worth, _, bodies, landing = fly_plan(one, task.source(plan.x), task.scene, 600)
            assert grid[i, j, m] == worth, one
            if worth and landing >= 0:
                assert spots[i, j, m] == bodies[landing, 0]
            counts[worth] += 1
        beyond = np.array([longest + 1, longest + 40], np.int64)
        ends = flown(task, plan, presses, holds, beyond)[0]
        np.testing.assert_array_equal(ends[:, :, 0], ends[:, :, 1])
    assert counts[SUCCEEDS] > 8
    assert counts[FAILS] > 50


@pytest.mark.parametrize("seed", range(3))
def test_natural_ticks_bound_what_holding_and_steering_change(seed: int):
    dice = random.Random(seed)
    for _ in range(40):
        motion = random_motion(dice)
        terrain = make_terrain(["." * 40] * 30 + ["#" * 40])
        source = next(f for f in find_footholds(motion, terrain) if f.row == 30)
        task = make_task(
            motion,
            compile_course(terrain),
            MoveKind.JUMP,
            foothold_ground(source, motion, terrain),
            foothold_ground(source, motion, terrain),
        )
        hold, flight = natural_ticks(motion, -1, 0)
        plan = PlanTicks(JUMP, 20 * TILE, task.ground.y, 1, 1, 0, 1, 0, 1, 0)
        holds = np.array([hold, hold + 1, hold + 9], np.int64)
        axis = np.array([0, 6, 12], np.int64)
        steers = np.array([1, flight, flight + 5], np.int64)
        grid, spots, longest = flown(task, plan, axis, holds, steers)
        assert (grid == grid[:, :1]).all()
        assert (spots == spots[:, :1]).all()
        assert longest <= flight


def brute_force_cube(grid: np.ndarray, cap: int) -> int:
    for size in range(min(cap, *grid.shape), 0, -1):
        for corner in product(*(range(n - size + 1) for n in grid.shape)):
            if grid[tuple(slice(c, c + size) for c in corner)].all():
                return size
    return 0


@pytest.mark.small
@pytest.mark.parametrize("seed", range(4))
def test_largest_cube_by_brute_force(seed: int):
    dice = np.random.default_rng(seed)
    for _ in range(40):
        shape = dice.integers(1, 8, 3)
        grid = (dice.random(shape) < dice.choice([0.3, 0.8, 0.95, 1.0])).astype(np.uint8)
        cap = int(dice.integers(1, 8))
        size, *corner = largest_cube(grid, cap)
        assert size == brute_force_cube(grid, cap)
        if size:
            assert grid[tuple(slice(c, c + size) for c in corner)].all()


@pytest.mark.small
@pytest.mark.parametrize("seed", range(4))
def test_a_sampled_bound_is_never_under_the_largest_cube(seed: int):
    dice = np.random.default_rng(seed)
    for _ in range(60):
        shape = dice.integers(3, 14, 3)
        grid = (dice.random(shape) < dice.choice([0.5, 0.97, 0.99, 1.0])).astype(np.uint8)
        strides = dice.integers(1, 4, 3)
        sampled = np.ascontiguousarray(grid[:: strides[0], :: strides[1], :: strides[2]])
        size = largest_cube(grid, 9)[0]
        sums = np.empty(np.prod(np.add(sampled.shape, 1)), np.int64)
        asked = sampled.reshape(-1), sampled.shape, tuple(strides), 9
        bound = sampled_bound(*asked, 0, sums)[0]
        assert bound >= size or (bound == 0 and size < strides.max())
        known = int(dice.integers(0, 10))
        assert sampled_bound(*asked, known, sums)[0] == (bound if bound > known else 0)


@pytest.mark.small
@pytest.mark.parametrize("seed", range(3))
def test_a_box_grows_until_no_side_of_it_is_all_ones(seed: int):
    dice = np.random.default_rng(seed)
    for _ in range(40):
        grid = (dice.random(dice.integers(1, 8, 3)) < dice.choice([0.8, 0.95, 1.0])).astype(np.uint8)
        pads = [(int(a), int(b)) for a, b in dice.integers(0, 3, (3, 2))]
        wide = np.empty_like(np.pad(grid, pads))
        lows, highs = zip(*pads, strict=True)
        assert pad(grid.reshape(-1) * PASSES, grid.shape, PASSES, wide.reshape(-1), lows, highs) == wide.shape
        np.testing.assert_array_equal(wide, np.pad(grid, pads, mode="edge"))
        size, *corner = largest_cube(wide, 3)
        if not size:
            continue
        box = np.array([corner, [first + size - 1 for first in corner]])
        grow(wide.reshape(-1), wide.shape, box)
        low, high = box
        assert all(a <= b for a, b in zip(low, corner, strict=True))
        assert wide[tuple(slice(a, b + 1) for a, b in zip(low, high, strict=True))].all()
        for axis, side in product(range(3), (-1, 1)):
            at = low[axis] - 1 if side < 0 else high[axis] + 1
            slab = [slice(a, b + 1) for a, b in zip(low, high, strict=True)]
            slab[axis] = slice(at, at + 1)
            assert not 0 <= at < wide.shape[axis] or not wide[tuple(slab)].all()


@pytest.mark.small
@pytest.mark.parametrize("seed", range(3))
def test_clear_squares_hold_no_flag_and_are_as_large_as_can_be(seed: int):
    dice = random.Random(seed)
    for _ in range(10):
        course = compile_course(random_terrain(dice))
        solid = course.flags != 0
        solid[-1] = True
        solid = np.pad(solid, 30, constant_values=True)
        rows, columns = course.flags.shape
        for way, row, column in product(range(4), range(rows), range(columns)):
            side = 0
            while True:
                up = slice(row + 30 - side, row + 31) if way < 2 else slice(row + 30, row + 31 + side)
                across = (
                    slice(column + 30 - side, column + 31) if way % 2 == 0 else slice(column + 30, column + 31 + side)
                )
                if solid[up, across].any():
                    break
                side += 1
            assert course.clear[way, row, column] == side


@pytest.mark.small
def test_walks_are_their_plans_one_by_one():
    motion = make_motion()
    terrain = make_terrain(["............", "............", "#####.......", "............", "############"])
    source, target = find_footholds(motion, terrain)[:2]
    task = make_task(
        motion,
        compile_course(terrain),
        MoveKind.WALK_OFF,
        foothold_ground(source, motion, terrain),
        foothold_ground(target, motion, terrain),
    )
    plan = PlanTicks(WALK, source.left_spx, task.ground.y, 1, 0, 0, 1, 0, 1, 0)
    steers = np.arange(1, 120, dtype=np.int64)
    nothing = np.zeros(1, np.int64)
    found, _, longest = flown(task, plan, nothing, nothing, steers)
    for m, steer in enumerate(steers):
        one = plan._replace(steer_until=int(steer))
        assert found[0, 0, m] == drive(task, one, terrain)[0]
    changes = [b for a, b in pairwise(found[0, 0].tolist()) if a != b]
    assert changes == [SUCCEEDS]
    assert longest < 119
