"""One tick of the body's motion."""

from numba import njit

from reach.kernels.compiling import LEAF
from reach.kernels.contact import (
    column_blocks,
    first_cell,
    is_carried,
    is_lost,
    last_cell,
    may_drop,
    row_blocks,
    row_carries,
    spring_launch,
    touches_end,
)
from reach.kernels.params import State

LANDED = 1
HIT_CEILING = 2


@njit(**LEAF)
def approach(value, target, rate):
    """`value` moved toward `target` by at most `rate`, never past it. Approximation: exact."""
    if value < target:
        return min(value + rate, target)
    return max(value - rate, target)


@njit(**LEAF)
def band1(thresholds, speed):
    """Index of the last entry whose threshold is at most `speed`; the first is 0. Approximation: exact."""
    index = thresholds.shape[0] - 1
    while index > 0 and thresholds[index] > speed:
        index -= 1
    return index


@njit(**LEAF)
def band2(from_speed, from_takeoff, speed, takeoff):
    """Index of the last entry with both thresholds at most their speeds; the first is (0, 0). Approximation: exact."""
    index = from_speed.shape[0] - 1
    while index > 0 and (from_speed[index] > speed or from_takeoff[index] > takeoff):
        index -= 1
    return index


@njit(**LEAF)
def buffer_after_buttons(buffer, jump, jump_was_down, motion):
    """The jump buffer once this tick's jump button is known (rule 1). Approximation: exact."""
    if jump != 0 and jump_was_down == 0:
        return motion.buffer_ticks + 1
    return buffer


@njit(**LEAF)
def is_running(run, run_memory, motion):
    """True where a grounded body uses the run's values (rule 2). Approximation: exact."""
    return motion.has_run != 0 and (run != 0 or run_memory > 0)


@njit(**LEAF)
def run_memory_after(run, run_memory, grounded, motion):
    """The run memory after this tick's buttons (rule 2); always 0 without a run. Approximation: exact."""
    if motion.has_run == 0:
        return 0
    if run != 0:
        return motion.run_memory
    if grounded != 0:
        return max(0, run_memory - 1)
    return 0


@njit(**LEAF)
def ground_speed(vx, direction, running, motion):
    """Horizontal speed of a grounded body after this tick's buttons (rule 2), spx per tick. Approximation: exact."""
    if direction == 0:
        return approach(vx, 0, motion.coast)
    if direction * vx < 0:
        return approach(vx, 0, motion.reverse)
    if running:
        rate = motion.run_accel
        cap = motion.run_cap
    else:
        rate = motion.walk_accel
        cap = motion.walk_cap
    if abs(vx) > cap:
        rate = motion.coast
    return approach(vx, direction * cap, rate)


@njit(**LEAF)
def air_speed(vx, direction, takeoff, motion):
    """Horizontal speed of an airborne body after this tick's buttons (rule 2), spx per tick. Approximation: exact."""
    if direction == 0:
        return approach(vx, 0, motion.drag)
    speed = abs(vx)
    if direction * vx < 0:
        entry = band2(motion.air_reverse_from_speed, motion.air_reverse_from_takeoff, speed, takeoff)
        return approach(vx, 0, motion.air_reverse[entry])
    cap = motion.air_cap[band1(motion.air_cap_from, takeoff)]
    rate = motion.drag
    if speed < cap:
        rate = motion.air_accel[band1(motion.air_accel_from, speed)]
    return approach(vx, direction * cap, rate)


@njit(**LEAF)
def cut(vy, motion):
    """`vy` after the jump button is released while held (rule 3), spx per tick. Approximation: exact."""
    if motion.cut_speed >= 0:
        return max(vy, -motion.cut_speed)
    return vy


@njit(**LEAF)
def takeoff_vy(takeoff, jump, motion):
    """Vertical speed in the tick of a takeoff (rule 3), spx per tick. Approximation: exact."""
    entry = band1(motion.jump_from, takeoff)
    vy = -motion.jump_launch[entry]
    if jump == 0:
        vy = cut(vy, motion)
    if motion.launch_tick_gravity != 0:
        gravity = motion.jump_gravity_held[entry] if jump != 0 else motion.jump_gravity[entry]
        vy = min(vy + gravity, motion.terminal)
    return vy


@njit(**LEAF)
def air_vy(vy, held, jump, takeoff, motion):
    """(vy, held) of an airborne body that does not take off, after gravity (rule 3). Approximation: exact."""
    if held != 0 and jump == 0:
        held = 0
        vy = cut(vy, motion)
    if vy >= 0:
        held = 0
    entry = band1(motion.jump_from, takeoff)
    gravity = motion.jump_gravity_held[entry] if held != 0 else motion.jump_gravity[entry]
    return min(vy + gravity, motion.terminal), held


@njit(**LEAF)
def move_sideways(x, y, vx, motion, terrain):
    """(x, vx) after the sideways move (rule 4). Approximation: exact.

    Parameters
    ----------
    x, y : int64
        Top-left corner before the move, spx; the rows overlapped at `y` count.
    vx : int64
        spx per tick.
    """
    if vx == 0:
        return x, vx
    tile = terrain.tile
    first_row = first_cell(y, tile)
    last_row = last_cell(y, motion.body_h, tile)
    if vx > 0:
        for column in range(last_cell(x, motion.body_w, tile) + 1, last_cell(x + vx, motion.body_w, tile) + 1):
            if column_blocks(column, first_row, last_row, terrain):
                return column * tile - motion.body_w, 0
    else:
        for column in range(first_cell(x, tile) - 1, first_cell(x + vx, tile) - 1, -1):
            if column_blocks(column, first_row, last_row, terrain):
                return (column + 1) * tile, 0
    return x + vx, vx


@njit(**LEAF)
def move_vertically(x, y, vy, motion, terrain):
    """(y, vy, what was hit) after the vertical move of an airborne body (rule 5). Approximation: exact.

    Returns
    -------
    y, vy : int64
        spx, spx per tick.
    hit : int64
        0, LANDED or HIT_CEILING.
    """
    if vy == 0:
        return y, vy, 0
    tile = terrain.tile
    first_column = first_cell(x, tile)
    last_column = last_cell(x, motion.body_w, tile)
    if vy > 0:
        feet = y + motion.body_h
        for row in range((feet + tile - 1) // tile, (feet + vy - 1) // tile + 1):
            if row_carries(row, first_column, last_column, terrain):
                return row * tile - motion.body_h, 0, LANDED
    else:
        for row in range(first_cell(y, tile) - 1, first_cell(y + vy, tile) - 1, -1):
            if row_blocks(row, first_column, last_column, terrain):
                return (row + 1) * tile, 0, HIT_CEILING
    return y + vy, vy, 0


@njit(**LEAF)
def step(state, buttons, motion, terrain):
    """The state after one tick. Approximation: exact.

    Parameters
    ----------
    state : State
        int64 fields, spx and ticks. A lost or ended state comes back unchanged.
    buttons : Buttons
        int64 fields.
    motion : Motion
    terrain : Terrain

    Returns
    -------
    State
    """
    if state.lost != 0 or state.ended != 0:
        return state
    x = state.x
    y = state.y
    vx = state.vx
    vy = state.vy
    grounded = state.grounded
    takeoff = state.takeoff
    held = state.held
    coyote = state.coyote

    buffer = buffer_after_buttons(state.buffer, buttons.jump, state.jump_was_down, motion)

    if grounded != 0:
        vx = ground_speed(vx, buttons.direction, is_running(buttons.run, state.run_memory, motion), motion)
    else:
        vx = air_speed(vx, buttons.direction, takeoff, motion)
    run_memory = run_memory_after(buttons.run, state.run_memory, grounded, motion)

    if buffer > 0 and (grounded != 0 or coyote > 0):
        takeoff = abs(vx)
        held = buttons.jump
        vy = takeoff_vy(takeoff, held, motion)
        grounded = 0
        coyote = 0
        buffer = 0
    elif grounded != 0:
        vy = 0
        if buttons.down != 0 and motion.drop_through != 0 and may_drop(x, y, motion, terrain):
            grounded = 0
            takeoff = abs(vx)
            held = 0
            coyote = 0
            y += 1
    else:
        vy, held = air_vy(vy, held, buttons.jump, takeoff, motion)
        coyote = max(0, coyote - 1)

    x, vx = move_sideways(x, y, vx, motion, terrain)

    if grounded == 0:
        y, vy, hit = move_vertically(x, y, vy, motion, terrain)
        if hit == LANDED:
            grounded = 1
            held = 0
            coyote = 0
        elif hit == HIT_CEILING:
            held = 0
    elif not is_carried(x, y, motion, terrain):
        grounded = 0
        takeoff = abs(vx)
        held = 0
        coyote = motion.coyote_ticks
        vy = 0

    if grounded != 0:
        launch = spring_launch(x, y, motion, terrain)
        if launch >= 0:
            takeoff = abs(vx)
            vy = -launch
            grounded = 0
            held = 0
            coyote = 0

    lost = 0
    ended = 0
    if is_lost(x, y, motion, terrain):
        lost = 1
    elif touches_end(x, y, motion, terrain):
        ended = 1

    return State(
        x, y, vx, vy, grounded, takeoff, held, run_memory, coyote, max(0, buffer - 1), buttons.jump, lost, ended
    )
