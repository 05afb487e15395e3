"""Variations of a script: its last press, that press's hold and its last change of direction, shifted."""

from typing import NamedTuple

import numpy as np

from reach.kernels.air import fly
from reach.kernels.compiling import compiled, inlined
from reach.kernels.plan_grid import judge
from reach.kernels.plan_tick import (
    ALIVE,
    BOUNCE,
    FAILS,
    OFF,
    ON,
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

STAGE_FIELDS = 16


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
    rooms = np.zeros((2, limit, STAGE_FIELDS), np.int64)
    rest = inputs[min((steer or steers[0]) + max(press, 0), last) : last + 1]
    late = int(inputs[last, 0]) if steer > 0 else 0
    is_steady = (steer == 0 or (rest[:, 0] == late).all()) and not (rest[:, 1] | (rest[:, 3] if press < 0 else 0)).any()
    script = Script(inputs, press, steer, last, int(is_steady), late)
    _fill_grid(out, spots, before, rooms[0], rooms[1], start, script, presses, holds, steers, scene)
    return out, spots


class Script(NamedTuple):
    """A script and what is shifted in it, as of `script_grid`.

    `is_steady`: from the change of direction on the direction is `late`, and neither jump (but for the press that is
    shifted) nor down is pressed.
    """

    inputs: np.ndarray
    press: int
    steer: int
    last: int
    is_steady: int
    late: int


@compiled
def _fill_grid(out, spots, before, trunk, branch, start, script, presses, holds, steers, scene):
    """Write what `script_grid` returns into `out` and `spots`.

    `before` is room for the bodies up to the last press, `trunk` and `branch` for a variation each.
    """
    press = script.press
    never = trunk.shape[0]
    origin = max(press, 0)
    body = row_body(start)
    body_row(body, before[0])
    for t in range(before.shape[0] - 1):
        row = min(t, origin - 1)
        if row < 0:
            body = tick(body, OFF, OFF, OFF, OFF, scene)
        else:
            jump = script.inputs[row, 3] if t < origin else OFF
            body = tick(body, script.inputs[row, 0], script.inputs[row, 1], script.inputs[row, 2], jump, scene)
        body_row(body, before[t + 1])
    for i in range(presses.shape[0]):
        if presses[i] < 0:
            continue
        write_stage(trunk[0], row_body(before[presses[i]]), press < 0, False, before[presses[i], 0])
        # Two variations are the same as long as they have had the same inputs.
        ended = follow(trunk, ON, trunk[0], OFF, never, never, script, scene)
        for j in range(holds.shape[0]):
            hold = holds[j] if press >= 0 else never
            parted = ended
            if hold <= ended[2]:
                parted = follow(branch, ON, trunk[hold], hold, hold, never, script, scene)
            for m in range(steers.shape[0]):
                if steers[m] >= hold:
                    found = parted
                    if steers[m] <= parted[2]:
                        found = follow(branch, OFF, branch[steers[m]], steers[m], hold, steers[m], script, scene)
                    out[i, j, m] = found[0]
                    spots[i, j, m] = found[1]
        for m in range(steers.shape[0]):
            steer = steers[m]
            parted = ended
            if steer <= ended[2]:
                parted = follow(branch, ON, trunk[steer], steer, never, steer, script, scene)
            for j in range(holds.shape[0]):
                hold = holds[j] if press >= 0 else never
                if hold > steer:
                    found = parted
                    if hold <= parted[2]:
                        found = follow(branch, OFF, branch[hold], hold, hold, steer, script, scene)
                    out[i, j, m] = found[0]
                    spots[i, j, m] = found[1]


@inlined
def write_stage(row, body, took_off, landed, spot):
    """Write how far a variation has come into an int64 [16] row; `spot` is the x of its landing, spx."""
    body_row(body, row)
    row[13] = took_off
    row[14] = landed
    row[15] = spot


@compiled
def follow(rows, keep, stage, first, hold, new_steer, script, scene):
    """(worth, x of the landing, tick in which that is settled) of one variation from a tick on.

    Approximation: exact.

    Parameters
    ----------
    rows : int64 [ticks, 16]
        Where `keep` is 1, row t receives the stage before tick t. As many ticks are followed at most.
    keep : int64
    stage : int64 [16]
        Before tick `first`, counted from the press.
    first, hold, new_steer : int64
    script : Script
    scene : Scene
    """
    goal = scene.goal
    inputs, press, steer, last, is_steady, late = script
    limit = rows.shape[0]
    body = row_body(stage)
    took_off = stage[13] != 0
    landed = stage[14] != 0
    spot = stage[15]
    for t in range(first, limit):
        if keep != 0:
            write_stage(rows[t], body, took_off, landed, spot)
        is_settled = is_steady != 0 and t >= new_steer and (press < 0 or t >= hold)
        if is_settled and keep == 0 and is_gliding(body) and took_off and not landed:
            flight = (body.x, body.y, body.vx, body.vy, body.held)
            end, ticks, x, vx, y = fly(rows, OFF, flight, body.takeoff, t, limit, OFF, late, late, OFF, scene)
            return judge(end, x, vx, y, scene), x, ticks
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
            return SUCCEEDS if body.fate == TOUCHED and took_off else passed, spot if landed else body.x, t
        if not took_off:
            if body.buffer == 0:
                # The press is spent, and there is no other one.
                return FAILS, body.x, t
            continue
        if body.launched != 0 and not landed:
            return SUCCEEDS if goal.kind == BOUNCE and on_goal(body.x, body.y, goal) else FAILS, body.x, t
        if landed:
            if body.grounded == 0:
                return passed, spot, t
        elif body.grounded != 0 and was.grounded == 0:
            landed = True
            spot = body.x
            if goal.kind == BOUNCE or (goal.kind == REST and not on_goal(body.x, body.y, goal)):
                return FAILS, spot, t
        if body.grounded != 0 and body.vx == 0:
            if goal.kind == REST and on_goal(body.x, body.y, goal):
                return SUCCEEDS, spot if landed else body.x, t
            if landed:
                return passed, spot, t
            if is_settled and was.grounded != 0 and was.vx == 0 and was.x == body.x:
                # It stands, and the buttons stay as they are.
                return FAILS, body.x, t
    return FAILS, body.x, limit - 1


@inlined
def is_gliding(body):
    """True in the air, where no buffered press is waiting and none would lead to a jump."""
    return body.fate == ALIVE and body.grounded == 0 and body.coyote == 0 and body.buffer == 0
