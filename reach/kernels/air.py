"""The fast path of a flight: ticks without any question to the map as long as the body stays in the same cells."""

from numba import njit

from reach.kernels.compiling import BARE
from reach.kernels.course import cell_at, course_sideways, course_vertically
from reach.kernels.plan_tick import ALIVE, TOUCHED, fate_at, launch_under
from reach.kernels.step import air_speed, air_vy

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


@njit(**BARE)
def fly(rows, keep, flight, takeoff, first, until, jump, early, late, switch, scene):
    """Fly from tick `first` until the flight ends or tick `until` begins. Approximation: exact.

    Nothing can be met in a tick that ends over the same columns and rows as it began: no wall, top or bottom is crossed
    without entering another row or column, and what is overlapped has been asked about before. In such a tick only
    speeds and positions change; every other one asks as `step` does.

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
    x, y, vx, vy, held = flight
    body_w = motion.body_w
    body_h = motion.body_h
    x_low = 1
    x_high = 0
    y_low = 1
    y_high = 0
    t = first
    while t < until:
        vx = air_speed(vx, late if t >= switch else early, takeoff, motion)
        vy, held = air_vy(vy, held, jump, takeoff, motion)
        if x_low <= x + vx <= x_high and y_low <= y + vy <= y_high:
            x += vx
            y += vy
        else:
            if vx != 0:
                first_row = cell_at(course.y_edges, y)
                last_row = cell_at(course.y_edges, y + body_h - 1)
                x, vx = course_sideways(x, vx, first_row, last_row, body_w, course)
            first_column = cell_at(course.x_edges, x)
            last_column = cell_at(course.x_edges, x + body_w - 1)
            hit = 0
            if vy != 0:
                y, vy, hit = course_vertically(y, vy, first_column, last_column, body_h, course)
            fate = fate_at(x, y, scene)
            if fate == TOUCHED:
                return REACHED, t, x, vx, y
            if fate != ALIVE:
                return TAKEN, t, x, vx, y
            if hit == 1:
                row = cell_at(course.y_edges, y + body_h)
                if launch_under(row, first_column, last_column, course) >= 0:
                    return LAUNCHED, t, x, vx, y
                return LANDED, t, x, vx, y
            if hit == 2:
                held = 0
            first_row = cell_at(course.y_edges, y)
            last_row = cell_at(course.y_edges, y + body_h - 1)
            x_low = max(course.x_edges[first_column], course.x_edges[last_column] - body_w + 1)
            x_high = min(course.x_edges[first_column + 1] - 1, course.x_edges[last_column + 1] - body_w)
            y_low = max(course.y_edges[first_row], course.y_edges[last_row] - body_h + 1)
            y_high = min(course.y_edges[first_row + 1] - 1, course.y_edges[last_row + 1] - body_h)
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
