"""The axes along which a plan can be varied - press, hold, steering - and the ticks on them.

Axes are the three rows of an int64 [3, 4] array: the first tick, the last one, and whether all ticks beyond the first
and beyond the last do the same as that one.
"""

from reach.kernels.compiling import compiled, inlined
from reach.kernels.course import cell_at
from reach.kernels.plans import JUMP, SPRING, WALK

LOW, HIGH, OPEN_LOW, OPEN_HIGH = 0, 1, 2, 3

TICKS_AT_TOP_SPEED = 96
"""So much longer than it takes to reach top speed may a plan run up."""

MOST_EARLY_TICKS = 8
"""No plan with a run presses longer before the direction."""


@compiled
def natural_ticks(motion, launch, drop):
    """Upper bounds for a flight that meets nothing: ticks until the button is no longer held, ticks until too low.

    Parameters
    ----------
    motion : Motion
    launch : int
        Speed of a spring's launch; -1 for a jump, in any of its bands.
    drop : int
        How far down the flight may go from its start, spx (negative: the goal lies higher).

    Returns
    -------
    hold, flight : int64
        From a hold of `hold` ticks on, holding longer changes nothing. A flight that keeps clear of everything is lower
        than `drop`, falling, after `flight` ticks at most.
    """
    hold = 1
    flight = 1
    for band in range(motion.jump_from.shape[0]):
        for held in range(2):
            vy = -motion.jump_launch[band] if launch < 0 else -launch
            y = vy
            ticks = 1
            while vy < 0 or y <= drop:
                up = held == 1 and launch < 0 and vy < 0
                vy = min(vy + (motion.jump_gravity_held[band] if up else motion.jump_gravity[band]), motion.terminal)
                y += vy
                ticks += 1
                if up:
                    hold = max(hold, ticks)
            flight = max(flight, ticks)
    return hold + 1, flight + 1


@compiled
def launch_at(x, y, scene):
    """Greatest launch, spx per tick, of the cells on which a body at (x, y) stands. Approximation: exact."""
    motion, course, _ = scene
    row = cell_at(course.y_edges, y + motion.body_h)
    launch = 0
    for column in range(cell_at(course.x_edges, x), cell_at(course.x_edges, x + motion.body_w - 1) + 1):
        launch = max(launch, course.launch[row, column])
    return launch


@inlined
def most_run_up(run, motion):
    """The ticks after which running up farther only moves the takeoff."""
    accel = motion.run_accel if run != 0 else motion.walk_accel
    cap = motion.run_cap if run != 0 else motion.walk_cap
    return (cap + accel - 1) // accel + TICKS_AT_TOP_SPEED


@inlined
def write_axis(axis, low, high, open_low, open_high):
    """Write one axis."""
    axis[LOW] = low
    axis[HIGH] = high
    axis[OPEN_LOW] = open_low
    axis[OPEN_HIGH] = open_high


@inlined
def copy_axes(of, to):
    """Write axes that are those in `of`."""
    for axis in range(3):
        write_axis(to[axis], of[axis, LOW], of[axis, HIGH], of[axis, OPEN_LOW], of[axis, OPEN_HIGH])


@compiled
def write_axes(axes, plan, natural, last, most_flight, motion):
    """Write the axes on which a plan can be varied at all.

    `natural` is what `natural_ticks` returns, `last` the last tick of the run-up that allows the press, `most_flight`
    the ticks for which a flight is followed at most.
    """
    hold, flight = natural
    axes[:] = 0
    presses = axes[0]
    holds = axes[1]
    steers = axes[2]
    steers[LOW] = 1
    steers[OPEN_HIGH] = 1
    if plan.action == WALK:
        presses[OPEN_LOW:] = 1
        holds[OPEN_LOW:] = 1
        steers[HIGH] = most_run_up(plan.run, motion) + flight
        return
    steers[HIGH] = min(flight + 1, most_flight)
    holds[LOW] = 1
    holds[HIGH] = hold if plan.action == JUMP else 1
    holds[OPEN_LOW] = plan.action != JUMP
    holds[OPEN_HIGH] = 1
    presses[HIGH] = max(last, 0)
    if plan.run != 0 and plan.action != SPRING:
        # Pressing well before the direction is the same as without running: the walking plan has it.
        presses[LOW] = -MOST_EARLY_TICKS
    else:
        presses[LOW] = -steers[HIGH]
        presses[OPEN_LOW] = 1


@inlined
def axis_size(axis):
    """Number of ticks."""
    return axis[HIGH] - axis[LOW] + 1


@inlined
def cells_of(axes):
    """Number of combinations of ticks."""
    return axis_size(axes[0]) * axis_size(axes[1]) * axis_size(axes[2])


@inlined
def padding(axis, ticks):
    """By how much to repeat the first and the last tick so that open ends hold so many more.

    Where nothing depends on this axis at all, one side does.
    """
    if axis_size(axis) == 1 and axis[OPEN_LOW] != 0 and axis[OPEN_HIGH] != 0:
        return 0, ticks
    return ticks * axis[OPEN_LOW], ticks * axis[OPEN_HIGH]


@compiled
def open_ends(axes, longest):
    """Close the ends of axes that some flight outlasts: beyond them something may change yet."""
    presses = axes[0]
    steers = axes[2]
    steers[OPEN_HIGH] &= steers[HIGH] > longest
    presses[OPEN_LOW] &= presses[LOW] >= 0 or -presses[LOW] > longest


@inlined
def cut(axis, part, low, high):
    """Write a part of an axis, open only where it reaches the axis's own open end."""
    first = max(low, axis[LOW])
    last = min(high, axis[HIGH])
    write_axis(part, first, last, axis[OPEN_LOW] & (first == axis[LOW]), axis[OPEN_HIGH] & (last == axis[HIGH]))


@inlined
def write_ticks(ticks, axis, step):
    """Write every so-manieth tick of an axis, and its last one; returns how many they are."""
    count = 0
    for tick in range(axis[LOW], axis[HIGH] + 1, step):
        ticks[count] = tick
        count += 1
    if ticks[count - 1] != axis[HIGH]:
        ticks[count] = axis[HIGH]
        count += 1
    return count
