"""Plans: run up, press, hold, steer, land, brake - one by one, and in bulk over a grid of ticks.

A plan starts at rest. Its ticks count from the press (tick 0). Facing d, it runs up for `press` ticks, then presses
jump (or down, to drop through; or nothing, on a spring that launches it) and holds the button for `hold` ticks. A
negative
`press` is a press from standing, that many ticks *before* the direction: the one axis tells how press and direction
follow each other. The direction is none before tick `steer_from` (plus the ticks that a negative press adds), then d,
and from tick `steer_until` on nothing or the opposite of d until the landing. Then the body brakes.

A walk has no press: the direction is d for `steer_until` ticks, then none on the ground, and nothing or the opposite in
the air; on the goal the body brakes.
"""

from typing import NamedTuple

import numpy as np

from reach.kernels.compiling import compiled, inlined
from reach.kernels.plan_tick import (
    ALIVE,
    BOUNCE,
    FAILS,
    OFF,
    PASSES,
    REST,
    SUCCEEDS,
    TOUCHED,
    Body,
    Scene,
    at_rest,
    body_row,
    brake_direction,
    on_goal,
    tick,
)

JUMP = 0
DROP = 1
SPRING = 2
WALK = 3


class PlanTicks(NamedTuple):
    """A plan in numbers: where it starts (spx), how, and when. `end` is the factor of d after steering: 0 or -1."""

    action: int
    x: int
    y: int
    facing: int
    run: int
    press: int
    hold: int
    steer_from: int
    steer_until: int
    end: int


class Source(NamedTuple):
    """The foothold a plan starts on: the body's left edge from `left` to `right`, spx; `launch` is a spring's speed."""

    left: int
    right: int
    launch: int


@inlined
def first_body(plan, source):
    """The body before tick 0: at rest, or just launched by the spring. Approximation: exact."""
    if plan.action == SPRING:
        return Body(plan.x, plan.y, 0, -source.launch, 0, 0, 0, 0, 0, 0, 0, ALIVE, 0)
    return at_rest(plan.x, plan.y)


@inlined
def may_press(body, action, source):
    """True where a press makes the body take off from the source. Approximation: exact."""
    if body.fate != ALIVE:
        return False
    if body.grounded != 0:
        return action != SPRING and source.left <= body.x <= source.right
    if action == JUMP:
        return body.coyote > 0
    return action == SPRING


def fly_plan(plan: PlanTicks, source: Source, scene: Scene, limit: int) -> tuple[int, np.ndarray, np.ndarray, int]:
    """One plan, tick by tick. Approximation: exact.

    Parameters
    ----------
    plan : PlanTicks
    source : Source
    scene : Scene
    limit : int
        No plan is followed for more ticks; one that has not ended by then fails.

    Returns
    -------
    outcome : int64
        FAILS, PASSES (lands on the goal's foothold, but does not come to rest on it) or SUCCEEDS.
    inputs : int64 [ticks, 4]
        Columns direction, down, run, jump, from rest to rest (or to the landing, loss or touch).
    bodies : int64 [ticks + 1, 13]
        Body rows.
    landing : int64
        Index of the body that has just landed on the goal; -1 without.
    """
    inputs = np.empty((limit, 4), np.int64)
    bodies = np.empty((limit + 1, 13), np.int64)
    outcome, ticks, landing = follow_plan(plan, source, scene, inputs, bodies)
    return outcome, inputs[:ticks].copy(), bodies[: ticks + 1].copy(), landing


@compiled
def follow_plan(plan, source, scene, inputs, bodies):
    """(outcome, ticks, landing) of one plan as of `fly_plan`; the arrays, for as many ticks as it may last, are filled.

    Approximation: exact.
    """
    motion, _, goal = scene
    limit = inputs.shape[0]
    body = first_body(plan, source)
    body_row(body, bodies[0])
    run_up = max(plan.press, 0) if plan.action != WALK else 0
    steer_from = plan.steer_from + max(-plan.press, 0)
    took_off = plan.action == SPRING
    landing = -1
    outcome = FAILS
    count = 0
    while count < limit:
        t = count - run_up + (1 if plan.action == SPRING else 0)
        direction = 0
        down = 0
        jump = 0
        run = plan.run
        if plan.action != WALK and not took_off:
            if t < 0:
                direction = plan.facing
                if not may_press(body, plan.action, source):
                    break
            else:
                if not may_press(body, plan.action, source):
                    break
                direction = plan.facing if steer_from == 0 else 0
                down = 1 if plan.action == DROP else 0
                jump = 1 if plan.action == JUMP else 0
        elif landing >= 0 or (plan.action == WALK and body.grounded != 0 and t >= plan.steer_until):
            run = 0
            if landing >= 0 or on_goal(body.x, body.y, goal):
                direction = brake_direction(body.vx, motion)
        else:
            if t >= plan.steer_until:
                direction = plan.end * plan.facing
            elif t >= steer_from:
                direction = plan.facing
            jump = 1 if plan.action == JUMP and t < plan.hold else 0
        was = body
        body = tick(body, direction, down, run, jump, scene)
        inputs[count, 0] = direction
        inputs[count, 1] = down
        inputs[count, 2] = run
        inputs[count, 3] = jump
        count += 1
        body_row(body, bodies[count])
        if body.fate != ALIVE:
            if body.fate == TOUCHED and (plan.action == WALK or took_off or t >= 0):
                outcome = SUCCEEDS
            break
        if plan.action != WALK and not took_off:
            if t < 0:
                continue
            if plan.action == DROP and (body.grounded != 0 or body.y != was.y + 1):
                break
            took_off = True
        if body.launched != 0:
            if goal.kind == BOUNCE and on_goal(body.x, body.y, goal):
                outcome = SUCCEEDS
                landing = count
            break
        if landing < 0:
            if body.grounded != 0 and (was.grounded == 0 or (plan.action != WALK and t == 0)):
                landing = count
                if goal.kind == REST:
                    if not on_goal(body.x, body.y, goal):
                        break
                    outcome = PASSES
                elif goal.kind == BOUNCE:
                    break
            elif body.grounded == 0 and body.vy >= 0 and body.y > goal.lowest:
                break
        elif body.grounded == 0:
            break
        if body.grounded != 0 and body.vx == 0 and (landing >= 0 or t + 1 >= plan.steer_until):
            if goal.kind == REST and on_goal(body.x, body.y, goal):
                outcome = SUCCEEDS
                if landing < 0:
                    landing = count
            break
    return outcome, count, landing


@compiled
def run_up(plan, source, scene, rows):
    """Write the bodies of a run-up, row n after n ticks; returns how many ticks of it still allow the press.

    The greatest n after which, and before which all along, a press would take off from the source; -1 if there is none.
    Approximation: exact.
    """
    body = first_body(plan, source)
    last = -1
    for n in range(rows.shape[0]):
        if n > 0:
            body = tick(body, plan.facing, OFF, plan.run, OFF, scene)
        body_row(body, rows[n])
        if not may_press(body, plan.action, source) or (plan.action == SPRING and n > 0):
            break
        last = n
    return last


@compiled
def fill_walks(worths, spots, inputs, bodies, plan, steers, source, scene):
    """Write what every number of ticks of walking is worth, and the x of its landing, spx. Approximation: exact.

    There is no press and no hold. `inputs` and `bodies` are room for one plan; returns the longest plan's ticks.
    """
    longest = np.int64(0)
    for m in range(steers.shape[0]):
        one = PlanTicks(
            plan.action,
            plan.x,
            plan.y,
            plan.facing,
            plan.run,
            0,
            1,
            0,
            steers[m],
            plan.end,
        )
        worths[m], ticks, landing = follow_plan(one, source, scene, inputs, bodies)
        end = landing if landing >= 0 else ticks
        spots[m] = bodies[end, 0]
        longest = max(longest, end)
    return longest
