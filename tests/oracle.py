"""A slow, plain second reading of the motion model: one tick, and every state that any input leads to.

Written from the motion model alone. It shares no code, no constants and no data layout with the package, so that an
agreement of the two is evidence. Every function also runs as plain Python (`NUMBA_DISABLE_JIT=1`). All compiled code
stands in this one file, because the compiler's cache does not notice a change in another.

Positions are in subpixels (spx, 65536 to a pixel), speeds in spx per tick; x grows right, y grows down.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

NOTHING, WALL, LEDGE, SPIKES, BOUNCER = 0, 1, 2, 3, 4
"""Cell kinds: empty, solid, one_way, hazard, spring."""

NEVER, AT_START = -2, -1
"""Marks of a predecessor: not reached at all, reached by a start state itself."""


class Rules(NamedTuple):
    """A movement profile in integers; band tables hold their thresholds first, one row a band."""

    width: int
    height: int
    walk: np.ndarray  # acceleration, top speed
    run: np.ndarray  # acceleration, top speed; empty where the profile has no run
    memory: int
    coast: int
    reverse: int
    jumps: np.ndarray  # from takeoff speed, launch speed, gravity held, gravity
    cut: int  # -1: releasing cuts nothing
    gravity_at_launch: int
    terminal: int
    air_push: np.ndarray  # from speed, acceleration
    air_brake: np.ndarray  # from speed, from takeoff speed, deceleration
    air_top: np.ndarray  # from takeoff speed, top speed
    drag: int
    coyote: int
    buffer: int
    drops: int


class World(NamedTuple):
    """A level in integers: cell kinds and launch speeds [row, column]; places as (column, row, ends the level)."""

    tile: int
    cells: np.ndarray
    launches: np.ndarray
    places: np.ndarray


class Body(NamedTuple):
    """The state of section 4 of the motion model, in its order; flags are 0 or 1."""

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
    lost: int
    ended: int


FIELDS = len(Body._fields)


@njit(cache=True)
def cell(world, column, row):
    """Kind of a cell, inside the map or not: the sides are walls at every height, above and below is nothing."""
    rows, columns = world.cells.shape
    if column < 0 or column >= columns:
        return WALL
    if row < 0 or row >= rows:
        return NOTHING
    return int(world.cells[row, column])


@njit(cache=True)
def blocks(kind):
    return kind in (WALL, BOUNCER)


@njit(cache=True)
def carries(kind):
    return kind in (WALL, LEDGE, BOUNCER)


@njit(cache=True)
def approach(value, target, rate):
    """The value moved toward the target by at most the rate, never past it."""
    if value < target:
        return min(value + rate, target)
    return max(value - rate, target)


@njit(cache=True)
def band(table, speed):
    """Row of the last band whose threshold is at most the speed."""
    found = 0
    for row in range(len(table)):
        if table[row, 0] <= speed:
            found = row
    return found


@njit(cache=True)
def band_of_two(table, speed, takeoff):
    """Row of the last band whose two thresholds are at most their speeds."""
    found = 0
    for row in range(len(table)):
        if table[row, 0] <= speed and table[row, 1] <= takeoff:
            found = row
    return found


@njit(cache=True)
def column_blocks(world, column, top, bottom):
    """Whether a blocking cell stands in the column within the rows that [top, bottom) overlaps."""
    for row in range(top // world.tile, (bottom - 1) // world.tile + 1):  # noqa: SIM110 - compiled
        if blocks(cell(world, column, row)):
            return True
    return False


@njit(cache=True)
def row_blocks(world, row, left, right):
    """Whether a blocking cell stands in the row within the columns that [left, right) overlaps."""
    for column in range(left // world.tile, (right - 1) // world.tile + 1):  # noqa: SIM110 - compiled
        if blocks(cell(world, column, row)):
            return True
    return False


@njit(cache=True)
def row_carries(world, row, left, right):
    """Whether a carrying cell stands in the row within the columns that [left, right) overlaps."""
    for column in range(left // world.tile, (right - 1) // world.tile + 1):  # noqa: SIM110 - compiled
        if carries(cell(world, column, row)):
            return True
    return False


@njit(cache=True)
def is_hurt(world, x, y, width, height):
    """Whether the box overlaps a hazard."""
    for row in range(y // world.tile, (y + height - 1) // world.tile + 1):
        for column in range(x // world.tile, (x + width - 1) // world.tile + 1):
            if cell(world, column, row) == SPIKES:
                return True
    return False


@njit(cache=True)
def is_stuck(world, x, y, width, height):
    """Whether the box overlaps a blocking cell, the border among them."""
    for row in range(y // world.tile, (y + height - 1) // world.tile + 1):
        if row_blocks(world, row, x, x + width):
            return True
    return False


@njit(cache=True)
def overlaps_place(world, index, x, y, width, height):
    """Whether the box overlaps the tile of a place."""
    left = world.places[index, 0] * world.tile
    top = world.places[index, 1] * world.tile
    return x < left + world.tile and x + width > left and y < top + world.tile and y + height > top


@njit(cache=True)
def touches_an_end(world, x, y, width, height):
    """Whether the box overlaps a place that ends the level."""
    for index in range(len(world.places)):
        if world.places[index, 2] != 0 and overlaps_place(world, index, x, y, width, height):
            return 1
    return 0


@njit(cache=True)
def ground_speed(vx, direction, running, rules):
    """5.2 on the ground."""
    gait = rules.run if running else rules.walk
    push, cap = gait[0], gait[1]
    if direction == 0:
        return approach(vx, 0, rules.coast)
    if direction * vx >= 0:
        if abs(vx) <= cap:
            return approach(vx, direction * cap, push)
        return approach(vx, direction * cap, rules.coast)
    return approach(vx, 0, rules.reverse)


@njit(cache=True)
def air_speed(vx, takeoff, direction, rules):
    """5.2 in the air."""
    cap = rules.air_top[band(rules.air_top, takeoff), 1]
    if direction == 0:
        return approach(vx, 0, rules.drag)
    if direction * vx >= 0:
        if abs(vx) < cap:
            return approach(vx, direction * cap, rules.air_push[band(rules.air_push, abs(vx)), 1])
        return approach(vx, direction * cap, rules.drag)
    return approach(vx, 0, rules.air_brake[band_of_two(rules.air_brake, abs(vx), takeoff), 2])


@njit(cache=True)
def only_ledges(world, row, left, right):
    """Whether every carrying cell of the row under [left, right) is one-way."""
    for column in range(left // world.tile, (right - 1) // world.tile + 1):
        kind = cell(world, column, row)
        if carries(kind) and kind != LEDGE:
            return False
    return True


@njit(cache=True)
def move_sideways(world, x, y, vx, width, height):
    """5.4: (x, vx) after the move."""
    tile = world.tile
    if vx > 0:
        column = (x + width - 1) // tile + 1
        while column * tile < x + vx + width:
            if column_blocks(world, column, y, y + height):
                return column * tile - width, 0
            column += 1
    if vx < 0:
        column = x // tile - 1
        while (column + 1) * tile > x + vx:
            if column_blocks(world, column, y, y + height):
                return (column + 1) * tile, 0
            column -= 1
    return x + vx, vx


@njit(cache=True)
def landing_row(world, x, y, vy, width, height):
    """5.5, falling: (1, the row whose top the feet land on), or (0, 0)."""
    feet = y + height
    row = -((-feet) // world.tile)
    while row * world.tile < feet + vy:
        if row_carries(world, row, x, x + width):
            return 1, row
        row += 1
    return 0, 0


@njit(cache=True)
def ceiling_row(world, x, y, vy, width):
    """5.5, rising: (1, the row whose underside the head hits), or (0, 0)."""
    row = y // world.tile - 1
    while (row + 1) * world.tile > y + vy:
        if row_blocks(world, row, x, x + width):
            return 1, row
        row -= 1
    return 0, 0


@njit(cache=True)
def spring_under(world, x, y, width, height):
    """5.6: greatest launch among the springs under the feet, -1 where there is none."""
    greatest = -1
    row = (y + height) // world.tile
    for column in range(x // world.tile, (x + width - 1) // world.tile + 1):
        if cell(world, column, row) == BOUNCER:
            greatest = max(greatest, world.launches[row, column])
    return greatest


@njit(cache=True)
def start_body(world, rules, column, row):
    """The start state on a tile; whether it overlaps something forbidden is not asked here."""
    tile = world.tile
    x = column * tile + (tile - rules.width) // 2
    y = (row + 1) * tile - rules.height
    grounded = 1 if row_carries(world, row + 1, x, x + rules.width) else 0
    ended = touches_an_end(world, x, y, rules.width, rules.height)
    return Body(x, y, 0, 0, grounded, 0, 0, 0, 0, 0, 0, 0, ended)


@njit(cache=True)
def tick(body, direction, down, run, jump, rules, world):
    """One tick: (the next state, 1 if a spring launched the body in this tick)."""
    x, y, vx, vy, grounded, takeoff, held, memory, coyote, buffer, was_down, lost, ended = body
    if lost != 0 or ended != 0:
        return body, 0
    tile, width, height = world.tile, rules.width, rules.height

    # 5.1 buttons
    if jump != 0 and was_down == 0:
        buffer = rules.buffer + 1
    wants_jump = buffer > 0

    # 5.2 horizontal speed
    if grounded != 0:
        running = len(rules.run) > 0 and (run != 0 or memory > 0)
        memory = rules.memory if run != 0 else max(0, memory - 1)
        vx = ground_speed(vx, direction, running, rules)
    else:
        memory = rules.memory if run != 0 else 0
        vx = air_speed(vx, takeoff, direction, rules)

    # 5.3 vertical speed
    if (grounded != 0 or coyote > 0) and wants_jump:
        takeoff = abs(vx)
        held = jump
        bands = rules.jumps[band(rules.jumps, takeoff)]
        vy = -bands[1]
        if held == 0 and rules.cut >= 0:
            vy = max(vy, -rules.cut)
        if rules.gravity_at_launch != 0:
            vy = min(vy + (bands[2] if held != 0 else bands[3]), rules.terminal)
        grounded = 0
        coyote = 0
        buffer = 0
    elif grounded != 0:
        vy = 0
        if down != 0 and rules.drops != 0 and only_ledges(world, (y + height) // tile, x, x + width):
            grounded = 0
            takeoff = abs(vx)
            held = 0
            coyote = 0
            y = y + 1
    else:
        if held != 0 and jump == 0:
            held = 0
            if rules.cut >= 0:
                vy = max(vy, -rules.cut)
        if vy >= 0:
            held = 0
        bands = rules.jumps[band(rules.jumps, takeoff)]
        vy = min(vy + (bands[2] if held != 0 else bands[3]), rules.terminal)
        coyote = max(0, coyote - 1)

    # 5.4 sideways
    x, vx = move_sideways(world, x, y, vx, width, height)

    # 5.5 vertically
    if grounded != 0:
        if not row_carries(world, (y + height) // tile, x, x + width):
            grounded = 0
            takeoff = abs(vx)
            held = 0
            coyote = rules.coyote
            vy = 0
    elif vy > 0:
        hit, row = landing_row(world, x, y, vy, width, height)
        if hit != 0:
            y = row * tile - height
            vy = 0
            grounded = 1
            held = 0
            coyote = 0
        else:
            y = y + vy
    elif vy < 0:
        hit, row = ceiling_row(world, x, y, vy, width)
        if hit != 0:
            y = (row + 1) * tile
            vy = 0
            held = 0
        else:
            y = y + vy

    # 5.6 springs
    bounced = 0
    if grounded != 0:
        launch = spring_under(world, x, y, width, height)
        if launch >= 0:
            takeoff = abs(vx)
            vy = -launch
            grounded = 0
            held = 0
            coyote = 0
            bounced = 1

    # 5.7 contact
    if y >= len(world.cells) * tile or is_hurt(world, x, y, width, height):
        lost = 1
    else:
        ended = touches_an_end(world, x, y, width, height)

    # 5.8 end
    return Body(x, y, vx, vy, grounded, takeoff, held, memory, coyote, max(0, buffer - 1), jump, lost, ended), bounced


@njit(cache=True)
def read_body(states, index):
    """A row of a state table as a Body."""
    s = states[index]
    return Body(s[0], s[1], s[2], s[3], s[4], s[5], s[6], s[7], s[8], s[9], s[10], s[11], s[12])


@njit(cache=True)
def walk(body, buttons, rules, world):
    """States int64 [ticks + 1, fields], the given one first, along buttons (direction, down, run, jump) [ticks, 4]."""
    states = np.empty((len(buttons) + 1, FIELDS), np.int64)
    states[0] = np.array(body)
    for t in range(len(buttons)):
        body, _ = tick(body, buttons[t, 0], buttons[t, 1], buttons[t, 2], buttons[t, 3], rules, world)
        states[t + 1] = np.array(body)
    return states


@njit(cache=True)
def merged(body, classes):
    """The one representative of all states with the same future.

    Two takeoff speeds between the same thresholds are one; a grounded body's takeoff speed is overwritten before it is
    next read. `classes` holds every takeoff threshold of every band list, ascending from 0.
    """
    takeoff = 0
    if body.grounded == 0:
        for threshold in classes:
            if threshold <= body.takeoff:
                takeoff = threshold
    return Body(
        body.x,
        body.y,
        body.vx,
        body.vy,
        body.grounded,
        takeoff,
        body.held,
        body.run_memory,
        body.coyote,
        body.buffer,
        body.jump_was_down,
        body.lost,
        body.ended,
    )


@njit(cache=True)
def slot_of(body, states, slots):
    """Slot of a state in an open-addressing table of state indices: its own, or the empty one (-1) it would take."""
    mask = len(slots) - 1
    code = 1
    for value in body:
        # 31 bits at a time, so that the product fits 63: the same with and without the compiler
        code = (code ^ ((value ^ (value >> 15)) & 0x7FFFFFFF)) * 0x5BD1E995
        code = (code ^ (code >> 29)) & 0x7FFFFFFF
    slot = code & mask
    while slots[slot] >= 0 and not same(body, states, slots[slot]):
        slot = (slot + 1) & mask
    return slot


@njit(cache=True)
def same(body, states, index):
    return read_body(states, index) == body


@njit(cache=True)
def note_contacts(body, on_top, predecessor, via, rules, world, tile_from, place_from):
    """Write down, once each, which tops carry the body (if `on_top`) and which places it touches."""
    tile, width, height = world.tile, rules.width, rules.height
    if on_top:
        row = (body.y + height) // tile
        for column in range(body.x // tile, (body.x + width - 1) // tile + 1):
            if carries(cell(world, column, row)) and tile_from[row, column, 0] == NEVER:
                tile_from[row, column, 0] = predecessor
                tile_from[row, column, 1] = via
    for index in range(len(world.places)):
        if place_from[index, 0] == NEVER and overlaps_place(world, index, body.x, body.y, width, height):
            place_from[index, 0] = predecessor
            place_from[index, 1] = via


@njit(cache=True)
def explore(starts, inputs, rules, world, classes, limit):
    """Every state that any sequence of the inputs leads to, breadth first from the start states.

    Parameters: starts int64 [k, fields], none of them lost; inputs int64 [m, 4]; limit, the most states kept. Returns
    (ended, count, states int64 [count, fields], came_from int64 [count, 2], tile_from [rows, columns, 2],
    place_from [places, 2], lost_from [2]): each *_from is (index of the state before, index of the input), the state
    NEVER or AT_START where there is none. `ended` is 0 if the limit cut the search short: what is missing is unknown.
    """
    states = np.empty((limit, FIELDS), np.int64)
    came_from = np.empty((limit, 2), np.int64)
    size = 4
    while size < 2 * limit:
        size *= 2
    slots = np.full(size, -1, np.int64)
    rows, columns = world.cells.shape
    tile_from = np.full((rows, columns, 2), NEVER, np.int64)
    place_from = np.full((len(world.places), 2), NEVER, np.int64)
    lost_from = np.full(2, NEVER, np.int64)
    count = 0
    for k in range(len(starts)):
        body = merged(read_body(starts, k), classes)
        note_contacts(body, body.grounded != 0, AT_START, AT_START, rules, world, tile_from, place_from)
        slot = slot_of(body, states, slots)
        if slots[slot] < 0:
            if count == limit:
                return 0, count, states[:count], came_from[:count], tile_from, place_from, lost_from
            states[count] = np.array(body)
            came_from[count] = AT_START
            slots[slot] = count
            count += 1
    done = 0
    while done < count:
        body = read_body(states, done)
        if body.ended == 0:
            for via in range(len(inputs)):
                press = inputs[via]
                after, bounced = tick(body, press[0], press[1], press[2], press[3], rules, world)
                if after.lost != 0:
                    if lost_from[0] == NEVER:
                        lost_from[0] = done
                        lost_from[1] = via
                    continue
                on_top = after.grounded != 0 or bounced != 0
                note_contacts(after, on_top, done, via, rules, world, tile_from, place_from)
                after = merged(after, classes)
                slot = slot_of(after, states, slots)
                if slots[slot] < 0:
                    if count == limit:
                        return 0, count, states[:count], came_from[:count], tile_from, place_from, lost_from
                    states[count] = np.array(after)
                    came_from[count, 0] = done
                    came_from[count, 1] = via
                    slots[slot] = count
                    count += 1
        done += 1
    return 1, count, states[:count], came_from[:count], tile_from, place_from, lost_from
