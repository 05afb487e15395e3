"""One tick of the body's motion, and the statement of the motion model that the whole product answers for.

This docstring is the model, complete. The functions below follow it rule by rule and are the reference for every
other kernel. Everything is an integer; nothing depends on the machine. `Motion`, `Terrain`, `State` and `Buttons` are
described in `reach/kernels/params.py`.

Units and coordinates
---------------------
1 px = 65536 subpixels (spx). Positions are in spx, speeds in spx per tick, accelerations in spx per tick per tick. x
grows to the right, y grows downward. A tile is T = 65536 * tile_px wide and high; tile (c, r) covers c*T <= x <
(c+1)*T and r*T <= y < (r+1)*T. The body is a box of W by H spx; (x, y) is its top-left corner, it covers [x, x+W) by
[y, y+H), and y + H is its feet line. It *overlaps* a tile when the two share at least one spx: flush is not overlap.
All divisions are floor divisions, also of negative numbers.

Columns left of column 0 and right of the last are solid at every height, above and below the map too. In all other
columns rows above row 0 are empty, and so are rows from the last on down, the void.

Materials
---------
Solid and spring tiles *block*: the body may never overlap one. Solid, one_way and spring tiles *carry*. A hazard
neither blocks nor carries; a body that overlaps one at the end of a tick is lost. One_way tiles never stop a body
sideways or from below.

Profile
-------
The values of `Motion`. `band(list, s)` is the last entry whose thresholds are all at most their speeds; lists ascend
(by speed, then takeoff speed, where there are two) and the first thresholds are 0. Speeds compared with thresholds
are absolute values.

State
-----
x, y, vx, vy, grounded, takeoff (the takeoff speed), held (the button that began this jump is still down), run_memory,
coyote, buffer, jump_was_down, lost, ended. Two states that differ only in a takeoff speed that falls in the same band
of every list behave alike; `step` keeps the number itself.

Start on tile (c, r): x = c*T + floor((T-W)/2), y = (r+1)*T - H; grounded if the feet line has a carrying tile right
under it in a column that the body overlaps; `ended` if the body overlaps a place that ends the level; all else 0, so
a jump button that is down in the first tick counts as pressed. A start that overlaps a blocking tile, the border
columns or a hazard is refused. A start on a spring is grounded: the spring acts at the end of the first tick.

One tick
--------
`approach(v, target, rate)` is v moved toward target by at most rate, never past it. The input is direction (-1, 0,
+1; left and right together are 0), down, run and jump. A lost or ended state does not change any more, in no field.

1. Buttons. If jump is down and jump_was_down is 0, buffer := buffer_ticks + 1. It *wants to jump* if buffer > 0.

2. Horizontal speed, by `grounded` as it was when the tick began (a coyote jump is still ruled by the air here).

   Grounded. The body runs if the profile has a run and (run is down or run_memory > 0). (accel, cap) are the run's or
   the walk's. Direction 0: vx := approach(vx, 0, coast). direction*vx >= 0: vx := approach(vx, direction*cap, r) with
   r = accel if |vx| <= cap, else coast. direction*vx < 0: vx := approach(vx, 0, reverse); it stops at 0 at best, and
   speeds up the other way from the next tick on. After that, run_memory := the profile's memory if run is down, else
   max(0, run_memory - 1).

   Airborne. cap := band(air_cap, takeoff). Direction 0: vx := approach(vx, 0, drag). direction*vx >= 0: vx :=
   approach(vx, direction*cap, r) with r = band(air_accel, |vx|) if |vx| < cap, else drag. direction*vx < 0: vx :=
   approach(vx, 0, band(air_reverse, |vx|, takeoff)). run_memory := the profile's memory if run is down, else 0.

   Without a run, run_memory is always 0.

3. Vertical speed.

   a. If the body wants to jump and (it is grounded or coyote > 0): takeoff := |vx| as rule 2 left it; held := jump;
      vy := -launch of band(jump, takeoff); if not held and the profile has a cut speed s, vy := max(vy, -s); with
      launch_tick_gravity, vy := min(vy + g, terminal) where g is the band's gravity_held if held, else its gravity.
      grounded, coyote and buffer := 0. This goes before dropping.
   b. Else, if grounded: vy := 0. If down is pressed, the profile drops through, and no tile that carries in the row
      under the feet line, in the columns overlapped now, is anything but one_way: grounded := 0, takeoff := |vx|,
      held := 0, coyote := 0 and y := y + 1, so that the feet are past the top. This tick has no further vertical
      motion.
   c. Else: if held and jump is up, held := 0 and, with a cut speed s, vy := max(vy, -s). Then, if vy >= 0, held := 0.
      g is gravity_held if still held, else gravity, of band(jump, takeoff); vy := min(vy + g, terminal). coyote :=
      max(0, coyote - 1).

4. Sideways, by vx, at the rows overlapped now (after a drop: with its one spx). The body stops flush against the
   first column in its way that has a blocking tile in those rows, and then vx := 0. Coming exactly flush with a wall
   is no hit and keeps vx; the hit comes in the next tick whose vx would overlap it.

5. Vertically, at the columns overlapped after rule 4.

   Airborne, vy > 0: of the rows whose top t satisfies feet line <= t before and t < feet line after the move, the
   nearest one in which some tile under those columns carries is landed on: y := t - H, vy := 0, grounded := 1, held
   := 0, coyote := 0 (takeoff stays). If there is none, y := y + vy. A feet line that comes exactly to a top has not
   landed: the first tick that would take it past the top does that.
   Airborne, vy < 0: of the rows whose bottom b satisfies b <= y before and b > y after the move, the nearest one in
   which some tile over those columns blocks is hit: y := b, vy := 0, held := 0. If there is none, y := y + vy.
   Airborne, vy = 0: nothing.
   Grounded: if no tile under the feet line and those columns carries, grounded := 0, takeoff := |vx|, held := 0,
   coyote := coyote_ticks, vy := 0. Falling starts in the next tick.

6. Springs. If the body is grounded now and has springs under the feet line in columns it overlaps: takeoff := |vx|,
   vy := minus the greatest of their launches, grounded, held and coyote := 0. It leaves in the next tick's move, with
   the released gravity. A body that jumped off a spring in this tick is in the air and is not launched. The buffer
   stays.

7. Contact, at the position now reached; nothing in between counts. If the body overlaps a hazard, or y >= rows*T:
   lost, and no place is touched. Else it touches every place whose tile it overlaps, and one that ends the level
   makes it `ended`.

8. End. jump_was_down := jump. buffer := max(0, buffer - 1). This is done in the tick of losing and ending too.
"""

import numpy as np

from reach.kernels.compiling import compiled, inlined
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
from reach.kernels.params import Buttons, Motion, State, Terrain

LANDED = 1
HIT_CEILING = 2


@inlined
def approach(value, target, rate):
    """`value` moved toward `target` by at most `rate`, never past it. Approximation: exact."""
    if value < target:
        return min(value + rate, target)
    return max(value - rate, target)


@inlined
def band1(thresholds, speed):
    """Index of the last entry whose threshold is at most `speed`; the first is 0. Approximation: exact."""
    index = thresholds.shape[0] - 1
    while index > 0 and thresholds[index] > speed:
        index -= 1
    return index


@inlined
def band2(from_speed, from_takeoff, speed, takeoff):
    """Index of the last entry with both thresholds at most their speeds; the first is (0, 0). Approximation: exact."""
    index = from_speed.shape[0] - 1
    while index > 0 and (from_speed[index] > speed or from_takeoff[index] > takeoff):
        index -= 1
    return index


@inlined
def buffer_after_buttons(buffer, jump, jump_was_down, motion):
    """The jump buffer once this tick's jump button is known (rule 1). Approximation: exact."""
    if jump != 0 and jump_was_down == 0:
        return motion.buffer_ticks + 1
    return buffer


@inlined
def is_running(run, run_memory, motion):
    """True where a grounded body uses the run's values (rule 2). Approximation: exact."""
    return motion.has_run != 0 and (run != 0 or run_memory > 0)


@inlined
def run_memory_after(run, run_memory, grounded, motion):
    """The run memory after this tick's buttons (rule 2); always 0 without a run. Approximation: exact."""
    if motion.has_run == 0:
        return 0
    if run != 0:
        return motion.run_memory
    if grounded != 0:
        return max(0, run_memory - 1)
    return 0


@inlined
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


@inlined
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


@inlined
def cut(vy, motion):
    """`vy` after the jump button is released while held (rule 3), spx per tick. Approximation: exact."""
    if motion.cut_speed >= 0:
        return max(vy, -motion.cut_speed)
    return vy


@inlined
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


@inlined
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


@inlined
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


@inlined
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


@inlined
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
        int64 fields.
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


@compiled
def initial_state(column, row, motion, terrain):
    """The start state on a tile. `lost` is set where it overlaps a hazard; blocking tiles are the caller's to refuse.

    Approximation: exact.
    """
    x = column * terrain.tile + (terrain.tile - motion.body_w) // 2
    y = (row + 1) * terrain.tile - motion.body_h
    grounded = 1 if is_carried(x, y, motion, terrain) else 0
    lost = 1 if is_lost(x, y, motion, terrain) else 0
    ended = 1 if lost == 0 and touches_end(x, y, motion, terrain) else 0
    return State(x, y, 0, 0, grounded, 0, 0, 0, 0, 0, 0, lost, ended)


def run_script(state: State, inputs: np.ndarray, motion: Motion, terrain: Terrain) -> np.ndarray:
    """The states of a whole script. Approximation: exact.

    Parameters
    ----------
    state : State
        The state before the first tick.
    inputs : int64 [ticks, 4]
        Columns direction, down, run, jump.
    motion : Motion
    terrain : Terrain

    Returns
    -------
    int64 [ticks + 1, 13]
        Row 0 the given state, row t the state after tick t; columns in the order of `State`.
    """
    states = np.empty((inputs.shape[0] + 1, 13), np.int64)
    _fill_script(state, inputs, states, motion, terrain)
    return states


@compiled
def _fill_script(state, inputs, states, motion, terrain):
    """Write what `run_script` returns into `states`."""
    for t in range(states.shape[0]):
        if t > 0:
            buttons = Buttons(inputs[t - 1, 0], inputs[t - 1, 1], inputs[t - 1, 2], inputs[t - 1, 3])
            state = step(state, buttons, motion, terrain)
        states[t, 0] = state.x
        states[t, 1] = state.y
        states[t, 2] = state.vx
        states[t, 3] = state.vy
        states[t, 4] = state.grounded
        states[t, 5] = state.takeoff
        states[t, 6] = state.held
        states[t, 7] = state.run_memory
        states[t, 8] = state.coyote
        states[t, 9] = state.buffer
        states[t, 10] = state.jump_was_down
        states[t, 11] = state.lost
        states[t, 12] = state.ended
