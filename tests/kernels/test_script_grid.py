"""Variations of a script in bulk against each of them driven tick by tick through `step`, the scalar reference."""

from __future__ import annotations

import random
from itertools import product

import numpy as np
import pytest

from reach.kernels.params import Buttons, State, Terrain
from reach.kernels.plan_tick import FAILS, PASSES, SUCCEEDS
from reach.kernels.plans import fly_plan
from reach.kernels.script_grid import script_grid
from reach.kernels.step import step
from reach.reachability.plan_task import Box, Task
from tests.random_plans import (
    random_inputs,
    random_motion,
    random_plan,
    random_task,
    random_terrain,
    spring_under,
    touches,
)

LIMIT = 120


def braking(vx: int, reverse: int, coast: int) -> int:
    return 0 if vx == 0 or reverse < coast else -1 if vx > 0 else 1


def drive(
    task: Task,
    terrain: Terrain,
    state: State,
    inputs: np.ndarray,
    ends: tuple[int, int, int],
    ticks: tuple[int, int, int],
) -> tuple[int, int]:
    """The worth and landing of a variation by the words of what one is; `ends` its own press, change, last tick."""
    press, change, last = ends
    new_press, hold, new_change = ticks
    motion, target = task.scene.motion, task.target
    for t in range(new_press):
        direction, down, run, jump = inputs[min(t, press - 1)] if press > 0 else (0, 0, 0, 0)
        state = step(state, Buttons(direction, down, run, jump if t < press else 0), motion, terrain)
    took_off, landed, spot = press < 0, False, state.x
    if state.lost or state.ended or touches(state, task, terrain, motion):
        return -1, spot

    def on_target(state: State) -> bool:
        return not isinstance(target, Box) and state.y == target.y and target.left <= state.x <= target.right

    for t in range(LIMIT):
        row = t
        if change > 0 and t >= new_change:
            row = change + t - new_change
        elif change > 0:
            row = min(t, change - 1)
        direction, down, run, jump = (int(n) for n in inputs[min(max(press, 0) + row, last)])
        if change == 0 and t >= new_change:
            direction = 0
        if press >= 0:
            jump = int(t < hold)
        if landed:
            direction, down, jump = braking(state.vx, motion.reverse, motion.coast), 0, 0
        was = state
        wanted = was.buffer > 0 or (jump and not was.jump_was_down)
        took_off = took_off or bool(wanted and (was.grounded or was.coyote > 0))
        state = step(was, Buttons(direction, down, run, jump), motion, terrain)
        passed = PASSES if landed and not isinstance(target, Box) and not target.is_spring else FAILS
        end = spot if landed else state.x
        if touches(state, task, terrain, motion):
            return (SUCCEEDS if took_off else passed), end
        if state.lost or state.ended:
            return passed, end
        if not took_off:
            continue
        launch = spring_under(state, motion, terrain)
        if launch and state.vy == -launch and not landed:
            good = not isinstance(target, Box) and target.is_spring and on_target(state)
            return (SUCCEEDS if good else FAILS), state.x
        if landed and not state.grounded:
            return passed, spot
        if not landed and state.grounded and not was.grounded:
            landed, spot = True, state.x
            if not isinstance(target, Box) and (target.is_spring or not on_target(state)):
                return FAILS, spot
        if state.grounded and state.vx == 0:
            if on_target(state) and not isinstance(target, Box) and not target.is_spring:
                return SUCCEEDS, spot if landed else state.x
            if landed:
                return (FAILS if isinstance(target, Box) else PASSES), spot
    return FAILS, state.x


@pytest.mark.parametrize("seed", range(2))
def test_every_variation_is_worth_what_step_makes_of_it(seed: int):
    """Scripts of plans, which change direction once more, and random ones: cells drawn from whole grids."""
    dice = random.Random(3000 + seed)
    counts = np.zeros(3, np.int64)
    for _ in range(50):
        motion, terrain = random_motion(dice), random_terrain(dice)
        task = random_task(dice, motion, terrain)
        if task is None:
            continue
        plan = random_plan(dice, task)
        _, inputs, bodies, landing = fly_plan(plan, task.source(plan.x), task.scene, LIMIT)
        if dice.random() < 0.2:
            inputs = random_inputs(dice, 60)
            landing = -1
        if len(inputs) < 4 or bodies[0, 11] != 0:
            continue
        start = State(*(int(n) for n in bodies[0, :11]), 0, 0)
        last = landing - 1 if landing > 0 else len(inputs) - 1
        press = max(plan.press, 0) if dice.random() < 0.7 else -1
        change = min(dice.choice([0, 1, 5, plan.steer_until]), last - max(press, 0))
        if press > last or change < 0:
            continue
        presses = np.arange(max(press - 2, 0), max(press, 0) + 3) if press >= 0 else np.zeros(1, np.int64)
        holds = np.arange(1, 30, dice.randint(4, 9)) if press >= 0 else np.array([1, 2])
        steers = np.arange(1, 40, dice.randint(4, 9))
        grid, spots = script_grid(
            np.array([*start[:11], 0, 0], np.int64),
            inputs,
            press,
            change,
            last,
            presses,
            holds,
            steers,
            task.scene,
            LIMIT,
        )
        cells = list(product(enumerate(presses), enumerate(holds), enumerate(steers)))
        for (i, begin), (j, hold), (m, steer) in dice.sample(cells, min(len(cells), 25)):
            worth, spot = drive(task, terrain, start, inputs, (press, change, last), (begin, hold, steer))
            if worth < 0:
                continue
            assert grid[i, j, m] == worth, (press, change, last, begin, hold, steer)
            assert spots[i, j, m] == spot or worth == FAILS
            counts[worth] += 1
    assert counts[SUCCEEDS] > 20
    assert counts[PASSES] > 0
    assert counts[FAILS] > 100
