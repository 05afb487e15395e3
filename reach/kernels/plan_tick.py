"""One tick of a body on a course: `reach.kernels.step` again, with the course's geometry and the goal of a plan.

The rules for speeds are `step`'s own functions; only where tiles are asked about does the course answer instead.
"""

from typing import NamedTuple

import numpy as np

from reach.kernels.compiling import compiled, inlined
from reach.kernels.course import (
    BLOCKS,
    CARRIES,
    ENDS,
    HURTS,
    LAUNCHES,
    Course,
    any_flag,
    cell_at,
    course_sideways,
    course_vertically,
)
from reach.kernels.params import Motion
from reach.kernels.step import (
    air_speed,
    air_vy,
    buffer_after_buttons,
    ground_speed,
    is_running,
    run_memory_after,
    takeoff_vy,
)

ALIVE = 0
LOST = 1
ENDED = 2
TOUCHED = 3

OFF = np.int64(0)
ON = np.int64(1)
"""Arguments of kernels: a plain 0 or 1 would be compiled in as a constant, each combination anew."""

REST = 0
BOUNCE = 1
TOUCH = 2

FAILS = 0
PASSES = 1
SUCCEEDS = 2


class Body(NamedTuple):
    """A body under a plan: the fields of a `State`, with one `fate` in place of lost and ended.

    `fate` is ALIVE, LOST, ENDED (by a place that is not the goal) or TOUCHED (the goal's place); all but ALIVE are
    final.
    `launched` is 1 in the tick in which a spring launches it.
    """

    x: int
    y: int
    vx: int
    vy: int
    grounded: int
    takeoff: int
    held: int
    run_memory: int
    coyote: int
    buffer: int
    jump_was_down: int
    fate: int
    launched: int


class Goal(NamedTuple):
    """What a plan wants (spx).

    `kind` REST: come to rest with the top-left corner at `y` and `left` <= x <= `right`, the ends included. BOUNCE: be
    launched there by a spring. TOUCH: overlap the box `touch_*` (half-open). `wall_left` and `wall_right` are 1 where a
    blocking tile ends the interval, so that a body stops at it. A falling body whose y is greater than `lowest` fails.
    """

    kind: int
    left: int
    right: int
    y: int
    wall_left: int
    wall_right: int
    touch_left: int
    touch_top: int
    touch_right: int
    touch_bottom: int
    lowest: int


class Scene(NamedTuple):
    """Everything that stays the same from plan to plan."""

    motion: Motion
    course: Course
    goal: Goal


@inlined
def fate_in(x, y, top, bottom, left, right, scene):
    """What a body at (x, y), over these rows and columns, meets at a tick's end (rule 7). Approximation: exact."""
    _, course, goal = scene
    found = any_flag(course.flags, top, bottom, left, right)
    if found & HURTS or top == course.flags.shape[0] - 1:
        return LOST
    if (
        x < goal.touch_right
        and x + scene.motion.body_w > goal.touch_left
        and y < goal.touch_bottom
        and y + scene.motion.body_h > goal.touch_top
    ):
        return TOUCHED
    if found & ENDS:
        return ENDED
    return ALIVE


@compiled
def fate_at(x, y, scene):
    """What a body at (x, y) meets at a tick's end (rule 7): ALIVE, LOST, ENDED or TOUCHED. Approximation: exact."""
    motion, course, _ = scene
    top = cell_at(course.y_edges, y)
    bottom = cell_at(course.y_edges, y + motion.body_h - 1)
    left = cell_at(course.x_edges, x)
    right = cell_at(course.x_edges, x + motion.body_w - 1)
    return fate_in(x, y, top, bottom, left, right, scene)


@inlined
def launch_under(row, first_column, last_column, course):
    """Greatest launch of the springs in these cells, spx per tick; -1 without one. Approximation: exact."""
    launch = -1
    for column in range(first_column, last_column + 1):
        if course.flags[row, column] & LAUNCHES:
            launch = max(launch, course.launch[row, column])
    return launch


@compiled
def tick(body, direction, down, run, jump, scene):
    """The body after one tick. Approximation: exact; equal to `step` but for the places that are not asked about.

    Parameters
    ----------
    body : Body
        int64 fields. One whose fate is sealed comes back unchanged.
    direction, down, run, jump : int64
        Buttons.
    scene : Scene
    """
    if body.fate != ALIVE:
        return body
    motion, course, _ = scene
    x = body.x
    y = body.y
    vx = body.vx
    vy = body.vy
    grounded = body.grounded
    takeoff = body.takeoff
    held = body.held
    coyote = body.coyote
    buffer = buffer_after_buttons(body.buffer, jump, body.jump_was_down, motion)
    if grounded != 0:
        vx = ground_speed(vx, direction, is_running(run, body.run_memory, motion), motion)
    else:
        vx = air_speed(vx, direction, takeoff, motion)
    run_memory = run_memory_after(run, body.run_memory, grounded, motion)

    if buffer > 0 and (grounded != 0 or coyote > 0):
        takeoff = abs(vx)
        held = jump
        vy = takeoff_vy(takeoff, held, motion)
        grounded = 0
        coyote = 0
        buffer = 0
    elif grounded != 0:
        vy = 0
        if down != 0 and motion.drop_through != 0:
            under = any_flag(
                course.flags,
                cell_at(course.y_edges, y + motion.body_h),
                cell_at(course.y_edges, y + motion.body_h),
                cell_at(course.x_edges, x),
                cell_at(course.x_edges, x + motion.body_w - 1),
            )
            if under & BLOCKS == 0:
                grounded = 0
                takeoff = abs(vx)
                held = 0
                coyote = 0
                y += 1
    else:
        vy, held = air_vy(vy, held, jump, takeoff, motion)
        coyote = max(0, coyote - 1)

    if vx != 0:
        first_row = cell_at(course.y_edges, y)
        last_row = cell_at(course.y_edges, y + motion.body_h - 1)
        x, vx = course_sideways(x, vx, first_row, last_row, motion.body_w, course)
    first_column = cell_at(course.x_edges, x)
    last_column = cell_at(course.x_edges, x + motion.body_w - 1)

    if grounded == 0:
        if vy != 0:
            y, vy, hit = course_vertically(y, vy, first_column, last_column, motion.body_h, course)
            if hit == 1:
                grounded = 1
                coyote = 0
            if hit != 0:
                held = 0
    else:
        row = cell_at(course.y_edges, y + motion.body_h)
        if any_flag(course.flags, row, row, first_column, last_column) & CARRIES == 0:
            grounded = 0
            takeoff = abs(vx)
            held = 0
            coyote = motion.coyote_ticks
            vy = 0

    launched = 0
    if grounded != 0:
        launch = launch_under(cell_at(course.y_edges, y + motion.body_h), first_column, last_column, course)
        if launch >= 0:
            takeoff = abs(vx)
            vy = -launch
            grounded = 0
            held = 0
            coyote = 0
            launched = 1

    fate = fate_at(x, y, scene)
    return Body(x, y, vx, vy, grounded, takeoff, held, run_memory, coyote, max(0, buffer - 1), jump, fate, launched)


@inlined
def at_rest(x, y):
    """A body standing still. Approximation: exact."""
    return Body(x, y, 0, 0, 1, 0, 0, 0, 0, 0, 0, ALIVE, 0)


@inlined
def brake_direction(vx, motion):
    """The direction that stops a grounded body soonest: the opposite one, or none where coasting is stronger."""
    if vx == 0 or motion.reverse < motion.coast:
        return 0
    return -1 if vx > 0 else 1


@inlined
def on_goal(x, y, goal):
    """True where a standing (or just launched) body is on the goal's foothold. Approximation: exact."""
    return goal.kind != TOUCH and y == goal.y and goal.left <= x <= goal.right


@inlined
def stops_on_goal(x, vx, motion, goal):
    """True where a body that landed on the goal's foothold comes to rest on it by braking. Approximation: exact.

    Stopping from v at deceleration d takes q = floor(v / d) ticks of motion and the distance q*v - d*q(q+1)/2 (motion
    model, section 6). On the way every position lies in the foothold, where nothing is met, as long as the last one
    does; at a wall the body stops, flush.
    """
    rate = max(motion.reverse, motion.coast)
    speed = abs(vx)
    count = speed // rate
    distance = count * speed - rate * (count * (count + 1) // 2)
    if vx > 0:
        return x + distance <= goal.right or goal.wall_right != 0
    return x - distance >= goal.left or goal.wall_left != 0


@inlined
def body_row(body, row):
    """Write a body into an int64 [13] row."""
    row[0] = body.x
    row[1] = body.y
    row[2] = body.vx
    row[3] = body.vy
    row[4] = body.grounded
    row[5] = body.takeoff
    row[6] = body.held
    row[7] = body.run_memory
    row[8] = body.coyote
    row[9] = body.buffer
    row[10] = body.jump_was_down
    row[11] = body.fate
    row[12] = body.launched


@inlined
def row_body(row):
    """The body in an int64 [13] row."""
    return Body(
        row[0],
        row[1],
        row[2],
        row[3],
        row[4],
        row[5],
        row[6],
        row[7],
        row[8],
        row[9],
        row[10],
        row[11],
        row[12],
    )


def run_inputs(start: np.ndarray, inputs: np.ndarray, scene: Scene) -> np.ndarray:
    """The bodies of a whole script of inputs on a course. Approximation: exact.

    Parameters
    ----------
    start : int64 [13]
        A body row.
    inputs : int64 [ticks, 4]
        Columns direction, down, run, jump.
    scene : Scene

    Returns
    -------
    int64 [ticks + 1, 13]
        Row 0 the start, row t the body after tick t.
    """
    rows = np.empty((inputs.shape[0] + 1, 13), np.int64)
    _fill_inputs(start, inputs, rows, scene)
    return rows


@compiled
def _fill_inputs(start, inputs, rows, scene):
    """Write what `run_inputs` returns into `rows`."""
    body = row_body(start)
    body_row(body, rows[0])
    for t in range(inputs.shape[0]):
        body = tick(body, inputs[t, 0], inputs[t, 1], inputs[t, 2], inputs[t, 3], scene)
        body_row(body, rows[t + 1])
