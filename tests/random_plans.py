"""Random movements, maps and moves on them for the tests of plans, and what `step` does not say of a state."""

from __future__ import annotations

import random

import numpy as np

from reach.findings import MoveKind
from reach.kernels.course import compile_course
from reach.kernels.params import Motion, State, Terrain
from reach.kernels.plans import DROP, JUMP, SPRING, WALK, PlanTicks
from reach.reachability.footholds import find_footholds
from reach.reachability.plan_answers import alone
from reach.reachability.plan_requests import Flown, worths
from reach.reachability.plan_task import Box, Task, foothold_ground, make_task, place_box
from tests.builders import PX, TILE, make_motion, make_terrain

KINDS = {JUMP: MoveKind.JUMP, DROP: MoveKind.DROP, SPRING: MoveKind.SPRING, WALK: MoveKind.WALK_OFF}


def random_motion(dice: random.Random) -> Motion:
    return make_motion(
        body_w=dice.choice([5, 12, 12, 20]) * PX + dice.randint(-1, 1),
        body_h=dice.choice([10, 16, 22]) * PX,
        walk_cap=dice.choice([60000, 130000]),
        run_cap=dice.choice([90000, 210000, 1400000]),
        run_accel=dice.choice([4000, 60000]),
        coast=dice.choice([1500, 9000]),
        reverse=dice.choice([4000, 12000]),
        jump_from=[0, 80000],
        jump_launch=[dice.choice([0, 200000, 260000]), 300000],
        jump_gravity_held=[9000, dice.choice([8000, 12000])],
        jump_gravity=[20000, 17000],
        cut_speed=dice.choice([-1, -1, 60000]),
        launch_tick_gravity=dice.randint(0, 1),
        terminal=dice.choice([320000, 1300000]),
        air_accel_from=[0, 50000],
        air_accel=[3500, 5000],
        air_reverse_from_speed=[0, 40000, 40000],
        air_reverse_from_takeoff=[0, 0, 70000],
        air_reverse=[5000, 7000, 9000],
        air_cap_from=[0, 70000],
        air_cap=[dice.choice([70000, 100000]), 150000],
        drag=dice.choice([0, 0, 900]),
        coyote_ticks=dice.randint(0, 4),
        buffer_ticks=dice.randint(0, 4),
        drop_through=1,
    )


def random_terrain(dice: random.Random) -> Terrain:
    columns, rows = dice.randint(5, 14), dice.randint(5, 9)
    material = [
        [dice.choice("..#==^S!+") if dice.random() < 0.25 else "." for _ in range(columns)] for _ in range(rows)
    ]
    for column in range(columns):
        if dice.random() < 0.8:
            material[-1][column] = "#"
    return make_terrain(["".join(row) for row in material], launch=dice.choice([300000, 420000]))


def random_task(dice: random.Random, motion: Motion, terrain: Terrain) -> Task | None:
    """A move between two footholds (or to a place) by an action that its source allows."""
    footholds = find_footholds(motion, terrain)
    if len(footholds) < 2:
        return None
    source = dice.choice(footholds)
    others = sorted(
        (f for f in footholds if f is not source),
        key=lambda f: abs(f.row - source.row) + abs(f.left_spx - source.left_spx) / TILE,
    )
    target = dice.choice(others[:3])
    action = SPRING if source.is_spring else dice.choice([JUMP, JUMP, JUMP, DROP, WALK])
    goal: Box | object = foothold_ground(target, motion, terrain)
    if len(terrain.place_ends) and dice.random() < 0.25:
        goal = place_box(dice.randrange(len(terrain.place_ends)), terrain)
    return make_task(
        motion,
        compile_course(terrain),
        KINDS[action],
        foothold_ground(source, motion, terrain),
        goal,  # type: ignore[arg-type]
    )


def flown(task: Task, plan: PlanTicks, presses: np.ndarray, holds: np.ndarray, steers: np.ndarray) -> Flown:
    """A grid of a plan's ticks."""
    return alone(worths(task, plan, presses, holds, steers))


def random_plan(dice: random.Random, task: Task) -> PlanTicks:
    ground = task.ground
    x = dice.choice([ground.left, ground.right, dice.randint(ground.left, ground.right)])
    press = 0 if task.action == WALK else dice.randint(-12, 0 if task.action == SPRING else 25)
    hold = dice.randint(1, 30) if task.action == JUMP else 1
    late = 0 if task.action == WALK else dice.choice([0, 0, 3])
    toward = 1 if task.target.left > x else -1
    return PlanTicks(
        task.action,
        x,
        ground.y,
        toward if dice.random() < 0.8 else -toward,
        dice.randint(0, 1),
        press,
        hold,
        late,
        dice.randint(1, 50),
        dice.choice([0, -1]),
    )


def random_inputs(dice: random.Random, ticks: int) -> np.ndarray:
    rows: list[list[int]] = []
    while len(rows) < ticks:
        row = [dice.randint(-1, 1), int(dice.random() < 0.2), dice.randint(0, 1), dice.randint(0, 1)]
        rows += [row] * dice.randint(1, 15)
    return np.array(rows, np.int64)


def touches(state: State, task: Task, terrain: Terrain, motion: Motion) -> bool:
    box = task.target
    if not isinstance(box, Box) or state.lost:
        return False
    return (
        state.x < box.right
        and state.x + motion.body_w > box.left
        and state.y < box.bottom
        and state.y + motion.body_h > box.top
    )


def spring_under(state: State, motion: Motion, terrain: Terrain) -> int:
    """Greatest launch of the springs right under the feet, 0 without one."""
    row, rest = divmod(state.y + motion.body_h, terrain.tile)
    if rest or not 0 <= row < terrain.material.shape[0]:
        return 0
    first, last = state.x // terrain.tile, (state.x + motion.body_w - 1) // terrain.tile
    return int(terrain.launch[row, max(first, 0) : last + 1].max(initial=0))


def body_row_of(state: State) -> np.ndarray:
    return np.array([*state[:11], 0, 0], np.int64)
