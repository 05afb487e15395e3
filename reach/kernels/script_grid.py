"""Variations of a script: its last press, that press's hold and its last change of direction, shifted."""

import numpy as np

from reach.kernels.compiling import compiled
from reach.kernels.plan_tick import (
    ALIVE,
    BOUNCE,
    FAILS,
    OFF,
    PASSES,
    REST,
    SUCCEEDS,
    TOUCHED,
    Scene,
    body_row,
    brake_direction,
    on_goal,
    row_body,
    tick,
)


def script_grid(
    start: np.ndarray,
    inputs: np.ndarray,
    press: int,
    steer: int,
    last: int,
    presses: np.ndarray,
    holds: np.ndarray,
    steers: np.ndarray,
    scene: Scene,
    limit: int,
) -> tuple[np.ndarray, np.ndarray]:
    """What every variation of a script is worth. Approximation: exact.

    The script's inputs are followed up to the press; where that comes later, the tick before it is repeated without the
    jump button. From the press on they are followed up to the change of direction; where that comes later, the tick
    before it is repeated, where it comes sooner, ticks are left out. A script that does not change direction lets go of
    it instead, at the latest when it lands. After the landing the body brakes.

    Parameters
    ----------
    start : int64 [13]
        Body row before the script.
    inputs : int64 [ticks, 4]
        Columns direction, down, run, jump.
    press : int
        Tick of the press; -1 where there is none: then ticks count from the first one, and the jump button is the
        script's.
    steer : int
        Tick, from the press, of the change of direction; 0 where there is none, and the direction is let go of.
    last : int
        The last tick of the script's flight: what follows is left out.
    presses : int64 [n]
        Ticks of the press.
    holds : int64 [n]
        Ticks that the button is held.
    steers : int64 [n]
        Ticks, from the press, of the change of direction, or of letting go.
    scene : Scene
    limit : int
        A variation that has not ended after so many ticks fails.

    Returns
    -------
    uint8 [presses, holds, steers], int64 [presses, holds, steers]
        FAILS, PASSES or SUCCEEDS; x of the landing, spx.
    """
    out = np.zeros((presses.shape[0], holds.shape[0], steers.shape[0]), np.uint8)
    spots = np.zeros(out.shape, np.int64)
    before = np.zeros((max(presses[-1], 0) + 1, 13), np.int64)
    _fill_grid(out, spots, before, start, inputs, press, steer, last, presses, holds, steers, scene, limit)
    return out, spots


@compiled
def _fill_grid(out, spots, before, start, inputs, press, steer, last, presses, holds, steers, scene, limit):
    """Write what `script_grid` returns into `out` and `spots`; `before` is room for the bodies up to the last press."""
    origin = max(press, 0)
    body = row_body(start)
    body_row(body, before[0])
    for t in range(before.shape[0] - 1):
        row = min(t, origin - 1)
        if row < 0:
            body = tick(body, OFF, OFF, OFF, OFF, scene)
        else:
            jump = inputs[row, 3] if t < origin else OFF
            body = tick(body, inputs[row, 0], inputs[row, 1], inputs[row, 2], jump, scene)
        body_row(body, before[t + 1])
    for i in range(presses.shape[0]):
        if presses[i] < 0:
            continue
        for j in range(holds.shape[0]):
            for m in range(steers.shape[0]):
                body = row_body(before[presses[i]])
                out[i, j, m], spots[i, j, m] = follow(
                    body, inputs, press, steer, last, holds[j], steers[m], scene, limit
                )


@compiled
def follow(body, inputs, press, steer, last, hold, new_steer, scene, limit):
    """(worth, x of the landing) of one variation from its press on; arguments as of `script_grid`."""
    goal = scene.goal
    took_off = press < 0
    landed = False
    spot = body.x
    for t in range(limit):
        row = t
        if steer > 0:
            row = min(t, steer - 1) if t < new_steer else t - new_steer + steer
        row = min(row + max(press, 0), last)
        direction = inputs[row, 0] if steer > 0 or t < new_steer else OFF
        jump = inputs[row, 3] if press < 0 else np.int64(t < hold)
        if landed:
            direction = brake_direction(body.vx, scene.motion)
            jump = OFF
        if not took_off:
            wanted = body.buffer > 0 or (jump != 0 and body.jump_was_down == 0)
            took_off = wanted and (body.grounded != 0 or body.coyote > 0)
        was = body
        down = OFF if landed else inputs[row, 1]
        body = tick(body, direction, down, inputs[row, 2], jump, scene)
        passed = PASSES if landed and goal.kind == REST else FAILS
        if body.fate != ALIVE:
            return SUCCEEDS if body.fate == TOUCHED and took_off else passed, spot if landed else body.x
        if not took_off:
            continue
        if body.launched != 0 and not landed:
            return SUCCEEDS if goal.kind == BOUNCE and on_goal(body.x, body.y, goal) else FAILS, body.x
        if landed:
            if body.grounded == 0:
                return passed, spot
        elif body.grounded != 0 and was.grounded == 0:
            landed = True
            spot = body.x
            if goal.kind == BOUNCE or (goal.kind == REST and not on_goal(body.x, body.y, goal)):
                return FAILS, spot
        if body.grounded != 0 and body.vx == 0:
            if goal.kind == REST and on_goal(body.x, body.y, goal):
                return SUCCEEDS, spot if landed else body.x
            if landed:
                return passed, spot
    return FAILS, body.x
