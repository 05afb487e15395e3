"""The fast path of a flight: ticks without any question to the map while the body stays in the same or empty cells."""

import numpy as np

from reach.kernels.compiling import compiled, inlined
from reach.kernels.course import BLOCKS, CARRIES, any_flag, cell_at
from reach.kernels.plan_tick import ALIVE, TOUCHED, fate_in, launch_under
from reach.kernels.step import air_speed, air_vy, band1

FLYING = 0
LANDED = 1
LAUNCHED = 2
TAKEN = 3
"""The flight ended in a place that ends the level, or in a loss."""
REACHED = 4
"""The flight touched the goal's place."""
TOO_LOW = 5
"""The body falls below everything that could still be the goal."""

FLIGHT_FIELDS = 5


@inlined
def same_cells(edges, first, last, size):
    """The least and greatest position at which a body of this size overlaps the same cells. Approximation: exact."""
    low = max(edges[first], edges[last] - size + 1)
    high = min(edges[first + 1] - 1, edges[last + 1] - size)
    return low, high


@inlined
def free_range(top, bottom, left, right, vx, vy, scene):
    """The least and greatest x and y up to which a body over these cells meets nothing on its way.

    In a square of cells without flags there is nothing to meet; a body over others stays over the same ones.
    Approximation: under.
    """
    motion, course, goal = scene
    way = (0 if vy < 0 else 2) + (0 if vx < 0 else 1)
    row = bottom if vy < 0 else top
    column = right if vx < 0 else left
    side = np.int64(course.clear[way, row, column])
    if side > max(bottom - top, right - left):
        first_row = row - side + 1 if vy < 0 else row
        first_column = column - side + 1 if vx < 0 else column
        begin = course.x_edges[first_column]
        end = course.x_edges[first_column + side]
        upper = course.y_edges[first_row]
        lower = course.y_edges[first_row + side]
        if begin >= goal.touch_right or end <= goal.touch_left or upper >= goal.touch_bottom or lower <= goal.touch_top:
            return begin, end - motion.body_w, upper, lower - motion.body_h
    x_low, x_high = same_cells(course.x_edges, left, right, motion.body_w)
    y_low, y_high = same_cells(course.y_edges, top, bottom, motion.body_h)
    return x_low, x_high, y_low, y_high


@inlined
def moved_on(edges, cell, value):
    """`cell_at` for a value near a cell. Approximation: exact."""
    while edges[cell + 1] <= value:
        cell += 1
    while edges[cell] > value:
        cell -= 1
    return cell


@compiled
def fly(rows, keep, flight, takeoff, first, until, jump, early, late, switch, scene):
    """Fly from tick `first` until the flight ends or tick `until` begins. Approximation: exact.

    Nothing can be met in a tick that ends over the same columns and rows as it began: no wall, top or bottom is crossed
    without entering another row or column, and what is overlapped has been asked about before. Nothing can be met
    either in a tick that begins and ends within a square of empty cells. In such ticks only speeds and positions
    change; every other one asks as `step` does.

    Parameters
    ----------
    rows : int64 [ticks, 5]
        Where `keep` is 1, row t receives x, y, vx, vy, held after tick t, if the flight goes on after it.
    keep : int64
    flight : (int64, int64, int64, int64, int64)
        x, y, vx, vy, held before tick `first`, airborne, no coyote time or buffered press left.
    takeoff, first, until, jump : int64
        Takeoff speed, ticks, and the jump button in all these ticks.
    early, late, switch : int64
        The direction is `early` in ticks before `switch`, `late` from then on.
    scene : Scene

    Returns
    -------
    end, t, x, vx, y : int64
        How it ended (FLYING where `until` was reached), in which tick, with what.
    """
    motion, course, goal = scene
    x_edges = course.x_edges
    y_edges = course.y_edges
    flags = course.flags
    x, y, vx, vy, held = flight
    body_w = motion.body_w
    body_h = motion.body_h
    left = cell_at(x_edges, x)
    right = moved_on(x_edges, left, x + body_w - 1)
    top = cell_at(y_edges, y)
    bottom = moved_on(y_edges, top, y + body_h - 1)
    x_low, x_high, y_low, y_high = free_range(top, bottom, left, right, vx, vy, scene)
    gravity = motion.jump_gravity[band1(motion.jump_from, takeoff)]
    is_steady = False
    t = first
    while t < until:
        if not is_steady or t == switch:
            new_vx = air_speed(vx, late if t >= switch else early, takeoff, motion)
            is_steady = new_vx == vx
            vx = new_vx
        if held != 0:
            vy, held = air_vy(vy, held, jump, takeoff, motion)
        else:
            vy = min(vy + gravity, motion.terminal)
        new_x = x + vx
        new_y = y + vy
        if x_low <= new_x <= x_high and y_low <= new_y <= y_high:
            x = new_x
            y = new_y
        else:
            # The columns and rows overlapped (left, right, top, bottom) move on one by one, so nothing is searched for.
            left = moved_on(x_edges, left, x)
            right = moved_on(x_edges, right, x + body_w - 1)
            top = moved_on(y_edges, top, y)
            bottom = moved_on(y_edges, bottom, y + body_h - 1)
            if new_x > x:
                while x_edges[right + 1] < new_x + body_w:
                    if any_flag(flags, top, bottom, right + 1, right + 1) & BLOCKS:
                        new_x = x_edges[right + 1] - body_w
                        vx = 0
                        is_steady = False
                        break
                    right += 1
                while x_edges[left + 1] <= new_x:
                    left += 1
            elif new_x < x:
                while x_edges[left] > new_x:
                    if any_flag(flags, top, bottom, left - 1, left - 1) & BLOCKS:
                        new_x = x_edges[left]
                        vx = 0
                        is_steady = False
                        break
                    left -= 1
                while x_edges[right] >= new_x + body_w:
                    right -= 1
            hit = 0
            if new_y > y:
                while y_edges[bottom + 1] < new_y + body_h:
                    if any_flag(flags, bottom + 1, bottom + 1, left, right) & CARRIES:
                        new_y = y_edges[bottom + 1] - body_h
                        vy = 0
                        hit = LANDED
                        break
                    bottom += 1
                while y_edges[top + 1] <= new_y:
                    top += 1
            elif new_y < y:
                while y_edges[top] > new_y:
                    if any_flag(flags, top - 1, top - 1, left, right) & BLOCKS:
                        new_y = y_edges[top]
                        vy = 0
                        held = 0
                        break
                    top -= 1
                while y_edges[bottom] >= new_y + body_h:
                    bottom -= 1
            x = new_x
            y = new_y
            fate = fate_in(x, y, top, bottom, left, right, scene)
            if fate == TOUCHED:
                return REACHED, t, x, vx, y
            if fate != ALIVE:
                return TAKEN, t, x, vx, y
            if hit == LANDED:
                if launch_under(bottom + 1, left, right, course) >= 0:
                    return LAUNCHED, t, x, vx, y
                return LANDED, t, x, vx, y
            x_low, x_high, y_low, y_high = free_range(top, bottom, left, right, vx, vy, scene)
        if vy >= 0 and y > goal.lowest:
            return TOO_LOW, t, x, vx, y
        if keep != 0:
            rows[t, 0] = x
            rows[t, 1] = y
            rows[t, 2] = vx
            rows[t, 3] = vy
            rows[t, 4] = held
        t += 1
    return FLYING, t, x, vx, y
