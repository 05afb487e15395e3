"""Plans in bulk: what every combination of press, hold and steering ticks is worth."""

import numpy as np

from reach.kernels.air import LANDED, LAUNCHED, REACHED, fly
from reach.kernels.compiling import compiled, inlined
from reach.kernels.plan_tick import (
    ALIVE,
    BOUNCE,
    FAILS,
    OFF,
    ON,
    PASSES,
    REST,
    SUCCEEDS,
    TOUCH,
    TOUCHED,
    Body,
    brake_direction,
    on_goal,
    row_body,
    stops_on_goal,
    tick,
)
from reach.kernels.plans import DROP, JUMP, SPRING
from reach.kernels.step import air_speed, air_vy, band1


@inlined
def touches_while_braking(x, y, vx, scene):
    """True where a body that has just landed touches the goal's place before it stands still. Approximation: exact."""
    body = Body(x, y, vx, 0, 1, 0, 0, 0, 0, 0, 1, ALIVE, 0)
    while body.grounded != 0 and body.vx != 0 and body.fate == ALIVE:
        body = tick(body, brake_direction(body.vx, scene.motion), OFF, OFF, OFF, scene)
    return body.fate == TOUCHED


@compiled
def judge(end, x, vx, y, scene):
    """What a flight is worth that ended so: FAILS, PASSES or SUCCEEDS. Approximation: exact."""
    goal = scene.goal
    if end == REACHED:
        return SUCCEEDS
    if end == LANDED:
        if goal.kind == TOUCH:
            return SUCCEEDS if touches_while_braking(x, y, vx, scene) else FAILS
        if goal.kind == REST and on_goal(x, y, goal):
            return SUCCEEDS if stops_on_goal(x, vx, scene.motion, goal) else PASSES
    if end == LAUNCHED and goal.kind == BOUNCE and on_goal(x, y, goal):
        return SUCCEEDS
    return FAILS


@inlined
def kept(rows, t):
    """The flight after tick t."""
    return rows[t, 0], rows[t, 1], rows[t, 2], rows[t, 3], rows[t, 4]


@inlined
def steers_alike(rows, before, start, end, flown, scene):
    """True where ending to steer at tick `start` is the same as ending at tick `end`: no speed differs in between.

    `rows` is the flight that steers on, `before` its horizontal speed before tick `start`. Approximation: exact.
    """
    takeoff, facing, switch, after = flown
    vx = before
    for t in range(start, end):
        on = facing if t >= switch else OFF
        if on != after and air_speed(vx, on, takeoff, scene.motion) != air_speed(vx, after, takeoff, scene.motion):
            return False
        vx = rows[t, 2]
    return True


@inlined
def too_low_in(body, hold, limit, scene):
    """The tick in which a body that has just taken off falls below the goal at the latest, its button held so long.

    Whoever meets something from below is at no time higher than who does not, and falls no slower: as long as the
    released gravity is not the weaker one. Approximation: over.
    """
    motion = scene.motion
    entry = band1(motion.jump_from, body.takeoff)
    if motion.jump_gravity_held[entry] > motion.jump_gravity[entry]:
        return limit
    y = body.y
    vy = body.vy
    held = body.held
    for t in range(1, limit):
        vy, held = air_vy(vy, held, np.int64(t < hold), body.takeoff, motion)
        y += vy
        if vy >= 0 and y > scene.goal.lowest:
            return t
    return limit


@inlined
def misses(x, vx, ticks, flown, scene):
    """True where a flight that has ended to steer does not come as far as the goal, or back to it, in so many ticks.

    Nothing makes it faster but the steering the other way, up to top speed. Approximation: under.
    """
    motion, _, goal = scene
    takeoff, facing, _, after = flown
    ahead = max(0, facing * vx)
    behind = max(0, -facing * vx)
    if after != 0:
        behind = max(behind, motion.air_cap[band1(motion.air_cap_from, takeoff)])
    forward = ahead * ticks
    backward = behind * ticks
    left = goal.left
    right = goal.right
    if goal.kind == TOUCH:
        left = goal.touch_left - motion.body_w + 1
        right = goal.touch_right - 1
        # It may land and touch the place while it brakes.
        rate = 2 * max(motion.reverse, motion.coast)
        forward += ahead * ahead // rate + 1
        backward += behind * behind // rate + 1
    if facing > 0:
        return x + forward < left or x - backward > right
    return x + backward < left or x - forward > right


@compiled
def release_first(
    out, spots, holds, steers, ends, trunk, branch, trunk_end, trunk_worth, trunk_spot, flown, scene, limit
):
    """Fill in the combinations that end steering at the release or after it; returns the longest flight's ticks.

    `trunk` is the flight with the button held and the steering of the plan, `branch` room for the flights that leave it
    at each release; `ends` the tick for each hold in which all is over at the latest; `flown` holds takeoff, facing,
    switch, after (the direction after steering).
    """
    takeoff, facing, switch, after = flown
    longest = trunk_end
    # From this row on the release comes when the button no longer counts.
    same_from = holds.shape[0]
    for j in range(holds.shape[0]):
        hold = holds[j]
        if j > same_from:
            for m in range(steers.shape[0]):
                if steers[m] >= hold:
                    out[j * steers.shape[0] + m] = out[same_from * steers.shape[0] + m]
                    spots[j * steers.shape[0] + m] = spots[same_from * steers.shape[0] + m]
            continue
        settled = trunk_end
        worth = trunk_worth
        spot = trunk_spot
        if hold <= trunk_end:
            end, settled, spot, vx, y = fly(
                branch, ON, kept(trunk, hold - 1), takeoff, hold, limit, OFF, OFF, facing, switch, scene
            )
            worth = judge(end, spot, vx, y, scene)
            longest = max(longest, settled)
        if hold > trunk_end or trunk[hold - 1, 4] == 0:
            same_from = j
        # Descending, each compared with the one that steers longer, at last with the one that steers on.
        later = settled + 1
        found = worth
        at = spot
        for n in range(steers.shape[0]):
            m = steers.shape[0] - 1 - n
            steer = steers[m]
            if steer < hold:
                break
            if steer <= settled:
                before = trunk[steer - 1, 2] if steer == hold else branch[steer - 1, 2]
                if not steers_alike(branch, before, steer, later, flown, scene):
                    parted = kept(trunk, steer - 1) if steer == hold else kept(branch, steer - 1)
                    found = FAILS
                    at = parted[0]
                    if not misses(parted[0], before, ends[j] - steer + 1, flown, scene):
                        end, _, at, vx, y = fly(
                            branch, OFF, parted, takeoff, steer, limit, OFF, after, after, OFF, scene
                        )
                        found = judge(end, at, vx, y, scene)
                later = steer
            out[j * steers.shape[0] + m] = found
            spots[j * steers.shape[0] + m] = at
    return longest


@compiled
def steer_first(
    out, spots, holds, steers, ends, trunk, branch, trunk_end, trunk_worth, trunk_spot, flown, scene, limit
):
    """Fill in the combinations that end steering before the release; arguments as of `release_first`.

    All others are filled in already.
    """
    takeoff, _, _, after = flown
    latest = 0
    for j in range(holds.shape[0]):
        latest = max(latest, ends[j])
    for n in range(steers.shape[0]):
        m = steers.shape[0] - 1 - n
        steer = steers[m]
        if steer >= holds[holds.shape[0] - 1]:
            continue
        settled = trunk_end
        worth = trunk_worth
        spot = trunk_spot
        # Releases from here on are those of the next combination, or of the flight that steers on.
        alike_from = settled + 1
        branched = True
        if steer <= trunk_end:
            if misses(trunk[steer - 1, 0], trunk[steer - 1, 2], latest - steer + 1, flown, scene):
                for j in range(holds.shape[0]):
                    if holds[j] > steer:
                        out[j * steers.shape[0] + m] = FAILS
                        spots[j * steers.shape[0] + m] = trunk[steer - 1, 0]
                continue
            branched = False
            later = min(steers[m + 1], trunk_end + 1) if n > 0 else trunk_end + 1
            if steers_alike(trunk, trunk[steer - 1, 2], steer, later, flown, scene):
                alike_from = later
            else:
                alike_from = holds[holds.shape[0] - 1] + 1
        for j in range(holds.shape[0]):
            hold = holds[j]
            if hold <= steer:
                continue
            if hold >= alike_from:
                out[j * steers.shape[0] + m] = out[j * steers.shape[0] + m + 1] if n > 0 else trunk_worth
                spots[j * steers.shape[0] + m] = spots[j * steers.shape[0] + m + 1] if n > 0 else trunk_spot
                continue
            if not branched:
                branched = True
                end, settled, spot, vx, y = fly(
                    branch, ON, kept(trunk, steer - 1), takeoff, steer, limit, ON, after, after, OFF, scene
                )
                worth = judge(end, spot, vx, y, scene)
            if hold > settled or branch[hold - 1, 4] == 0:
                out[j * steers.shape[0] + m] = worth
                spots[j * steers.shape[0] + m] = spot
                continue
            parted = kept(branch, hold - 1)
            out[j * steers.shape[0] + m] = FAILS
            spots[j * steers.shape[0] + m] = parted[0]
            if not misses(parted[0], parted[2], ends[j] - hold + 1, flown, scene):
                end, _, x, vx, y = fly(branch, OFF, parted, takeoff, hold, limit, OFF, after, after, OFF, scene)
                out[j * steers.shape[0] + m] = judge(end, x, vx, y, scene)
                spots[j * steers.shape[0] + m] = x


@compiled
def fill_grid(out, spots, run_ups, last, ends, trunk, branch, plan, presses, holds, steers, scene):
    """What every combination of press, hold and steering ticks of a plan is worth. Approximation: exact.

    For each press the flight with the button held is flown once, the trunk; from it one flight is branched off at each
    release and one at each end of steering; every combination then flies on alone from where it parts, unless it is the
    same as another one or cannot come as far as the goal.

    Parameters
    ----------
    out : uint8 [cells]
        Receives FAILS, PASSES or SUCCEEDS for every press, hold and steering, the last running fastest.
    spots : int64 [cells]
        Receives x where a flight that does not fail ended, spx.
    run_ups : int64 [ticks, 13]
        The bodies of the run-up, as of `run_up`.
    last : int64
        The last tick of it that allows the press.
    ends : int64 [n]
        Room for a number a hold.
    trunk, branch : int64 [ticks, 5]
        Room for two flights. None is followed for more ticks; one that has not ended by then fails.
    plan : PlanTicks
        A jump, drop or spring plan; its press, hold and steer_until are replaced by those of the axes.
    presses, holds, steers : int64 [n]
        Ascending axes; holds and steers from 1. A drop or spring has the hold 1 alone.
    scene : Scene

    Returns
    -------
    int64
        The greatest number of ticks that a flight with this or no steering lasted: steering past it changes nothing.
    """
    limit = trunk.shape[0]
    cells = holds.shape[0] * steers.shape[0]
    out[: presses.shape[0] * cells] = 0
    spots[: presses.shape[0] * cells] = 0
    longest = 0
    for i in range(presses.shape[0]):
        if max(presses[i], 0) > last:
            break
        worths = out[i * cells : (i + 1) * cells]
        xs = spots[i * cells : (i + 1) * cells]
        switch = plan.steer_from + max(-presses[i], 0)
        before = row_body(run_ups[max(presses[i], 0)])
        body = before
        jump = ON if plan.action == JUMP else OFF
        if plan.action != SPRING:
            down = ON if plan.action == DROP else OFF
            body = tick(before, plan.facing if switch == 0 else 0, down, plan.run, jump, scene)
        if plan.action == DROP and body.fate != TOUCHED and (body.grounded != 0 or body.y != before.y + 1):
            continue
        if body.fate != ALIVE or body.grounded != 0 or (body.launched != 0):
            # The tick of the takeoff settles it already.
            end = REACHED if body.fate == TOUCHED else LANDED if body.grounded != 0 else LAUNCHED
            if body.fate == ALIVE or body.fate == TOUCHED:
                worths[:] = judge(end, body.x, body.vx, body.y, scene)
            xs[:] = body.x
            continue
        trunk[0, 0] = body.x
        trunk[0, 1] = body.y
        trunk[0, 2] = body.vx
        trunk[0, 3] = body.vy
        trunk[0, 4] = body.held
        end, ticks, x, vx, y = fly(
            trunk, ON, kept(trunk, 0), body.takeoff, ON, limit, jump, OFF, plan.facing, switch, scene
        )
        worth = judge(end, x, vx, y, scene)
        flown = (body.takeoff, plan.facing, switch, plan.end * plan.facing)
        for j in range(holds.shape[0]):
            ends[j] = too_low_in(body, holds[j], limit, scene)
        longest = max(
            longest,
            release_first(worths, xs, holds, steers, ends, trunk, branch, ticks, worth, x, flown, scene, limit),
        )
        if plan.action == JUMP:
            steer_first(worths, xs, holds, steers, ends, trunk, branch, ticks, worth, x, flown, scene, limit)
    return longest
