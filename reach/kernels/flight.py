"""Flights: the evolution of sets of (x, vx) along the tree of vertical states that a takeoff opens.

A flight may start at any height with any vertical speed: it needs y, vy, whether the button is held, the coyote ticks
left, and a set in the zones of its takeoff class. Sets are numbered; what a step makes of a set depends only on the set
and on the rows it meets, so equal evolutions of different vertical states are computed once and looked up after.

Approximation: over. Arrays w, marks, g, j as in heap.py; `cover` as in marks.py.
"""

from reach.kernels import heap, polygon
from reach.kernels.areas import begin_tick, use_area
from reach.kernels.arrivals import arrive, split, touch_places
from reach.kernels.marks import mark_cover, measure_misses
from reach.kernels.pool import add_item, close_set, finish, items, record, set_record, vertices
from reach.kernels.post import FAR, push
from reach.kernels.rows import corridor, meets, span_of, span_rows
from reach.kernels.typed import kernel

_SIDE = 0
_OPEN = 1
_LAND = 2
_CEILING = 3
_CONTACT = 4
_GROUND = 5


@kernel
def _slot(j, op, s, row) -> tuple[int, bool]:
    """Memo record of a key: (where, known). An unknown key is entered; its values must be written next."""
    if s >= 1 << 24:
        j[heap.FULL] = 1
        return j[heap.MEMO], False
    key = (((j[heap.GENERATION] << 24) | s) << 18) | (row << 3) | op
    mask = j[heap.MEMO + 1] - 1
    h = (s * 0x9E3779B1 + row * 0x85EBCA6B + op * 0xC2B2AE35) & 0x7FFFFFFF
    i = (h ^ (h >> 15)) & mask
    for _ in range(mask):
        at = j[heap.MEMO] + i * heap.MEMO_WIDTH
        known = j[at]
        if known == key:
            return at, True
        if (known >> 42) != j[heap.GENERATION]:
            j[at] = key
            return at, False
        i = (i + 1) & mask
    j[heap.FULL] = 1
    return j[heap.MEMO], False


@kernel
def new_generation(j) -> None:
    """Forget the memo, because the next sets live in other zones."""
    j[heap.GENERATION] += 1
    if j[heap.GENERATION] >= 1 << 20:
        for i in range(j[heap.MEMO + 1]):
            j[j[heap.MEMO] + i * heap.MEMO_WIDTH] = 0
        j[heap.GENERATION] = 1


@kernel
def _advance(w, marks, j, table, s, span) -> int:
    """The set one tick later; with span < 0 as if nothing stood in the way."""
    left = -FAR
    right = FAR
    first, end = items(j, s)
    for q in range(first, end):
        i = j[q]
        r = record(j, i)
        if span >= 0:
            left, right = corridor(w, span, j[r + heap.X0])
        ax, av, n = vertices(j, i)
        push(w, j, ax, av, n, j[r + heap.ZONE], -FAR, FAR, left, right, table)
        marks[heap.POLYGON_TICKS] += 1
    return finish(j)


@kernel
def _sideways(w, marks, j, table, s, y) -> int:
    """The set after this tick's sideways move at y."""
    span = span_of(w, y)
    slot, known = _slot(j, _OPEN, s, 0)
    if not known:
        j[slot + 1] = _advance(w, marks, j, table, s, -1)
    free = j[slot + 1]
    a = set_record(j, s)
    b = set_record(j, free)
    left, right = corridor(w, span, j[a + heap.SET_X0])
    if j[a + heap.SET_X1] <= right and left <= j[b + heap.SET_X0] and j[b + heap.SET_X1] <= right:
        return free
    slot, known = _slot(j, _SIDE, s, span)
    if not known:
        j[slot + 1] = _advance(w, marks, j, table, s, span)
    return j[slot + 1]


@kernel
def contact(w, marks, j, s, y) -> int:
    """Rule 5.7 for a set at y: what is lost is cut away, places are touched, what has ended is cut away."""
    if s == 0:
        return 0
    if y >= w[heap.ROWS] * w[heap.TILE]:
        j[heap.LOST] = 1
        return 0
    span = span_of(w, y)
    r = set_record(j, s)
    x0 = j[r + heap.SET_X0]
    x1 = j[r + heap.SET_X1]
    first_row, end_row = span_rows(w, span)
    deadly = meets(w, heap.DEADLY, span, x0, x1)
    if not deadly and w[w[heap.PLACE_AT] + first_row] == w[w[heap.PLACE_AT] + end_row]:
        return s
    slot, known = _slot(j, _CONTACT, s, span)
    if known:
        return j[slot + 1]
    alive = s
    if deadly:
        dead, alive = split(w, j, heap.DEADLY, span, s)
        if dead != 0:
            j[heap.LOST] = 1
    first, end = items(j, alive)
    for q in range(first, end):
        p = record(j, j[q])
        touch_places(w, marks, j, span, j[p + heap.X0], j[p + heap.X1])
    if alive != 0:
        r = set_record(j, alive)
        if meets(w, heap.ENDING, span, j[r + heap.SET_X0], j[r + heap.SET_X1]):
            _, alive = split(w, j, heap.ENDING, span, alive)
    j[slot + 1] = alive
    return alive


@kernel
def keep_record(j, c, y, vy, held, coyote, s) -> None:
    """Keep a vertical state for checks, where the job is told to."""
    if j[heap.KEEP]:
        m = j[heap.RECORD_N]
        if m >= j[heap.RECORD + 1]:
            j[heap.FULL] = 1
            return
        at = j[heap.RECORD] + m * heap.RECORD_WIDTH
        j[at] = c
        j[at + 1] = y
        j[at + 2] = vy
        j[at + 3] = held
        j[at + 4] = coyote
        j[at + 5] = s
        j[heap.RECORD_N] = m + 1


@kernel
def _union(j, s, t) -> int:
    """The set with the polygons of both, but those that another of them holds."""
    if s == t:
        return s
    first = j[heap.ITEM_N]
    for part in range(2):
        a, b = items(j, t if part else s)
        for q in range(a, b):
            i = j[q]
            r = record(j, i)
            held = False
            for e in range(j[heap.ITEM] + first, j[heap.ITEM] + j[heap.ITEM_N]):
                o = record(j, j[e])
                if (
                    not held
                    and j[o + heap.ZONE] == j[r + heap.ZONE]
                    and j[o + heap.X0] <= j[r + heap.X0]
                    and j[r + heap.X1] <= j[o + heap.X1]
                    and j[o + heap.V0] <= j[r + heap.V0]
                    and j[r + heap.V1] <= j[o + heap.V1]
                ):
                    ax, av, n = vertices(j, j[e])
                    bx, bv, m = vertices(j, i)
                    held = polygon.contains(ax, av, n, bx, bv, m)
            if not held:
                add_item(j, i)
    return close_set(j, first)


@kernel
def _mark(w, marks, cover, j, node, y, s) -> None:
    """Mark what bodies at y cover somewhere in a set; polygons that follow one another and overlap are one range."""
    first, end = items(j, s)
    q = first
    while q < end:
        r = record(j, j[q])
        x0 = j[r + heap.X0]
        x1 = j[r + heap.X1]
        q += 1
        while q < end:
            r = record(j, j[q])
            if j[r + heap.X0] > x1 or j[r + heap.X1] < x0:
                break
            x0 = min(x0, j[r + heap.X0])
            x1 = max(x1, j[r + heap.X1])
            q += 1
        mark_cover(w, marks, cover, y, x0, x1)
        measure_misses(w, marks, y, x0, x1, node)


@kernel
def enter(w, marks, cover, j, node, c, y, vy, held, coyote, s) -> None:
    """A vertical state that the flight is in at the end of a tick."""
    if s == 0:
        return
    _mark(w, marks, cover, j, node, y, s)
    keep_record(j, c, y, vy, held, coyote, s)
    m = j[heap.COMING_N]
    if vy == 0:
        # bodies that hit the same ceiling in the same tick are one vertical state from now on
        for e in range(m):
            at = j[heap.COMING] + e * heap.STATE_WIDTH
            if j[at] == y and j[at + 1] == 0 and j[at + 2] == held and j[at + 3] == coyote:
                j[at + 4] = _union(j, j[at + 4], s)
                return
    if m >= j[heap.COMING + 1]:
        j[heap.FULL] = 1
        return
    at = j[heap.COMING] + m * heap.STATE_WIDTH
    j[at] = y
    j[at + 1] = vy
    j[at + 2] = held
    j[at + 3] = coyote
    j[at + 4] = s
    j[heap.COMING_N] = m + 1


@kernel
def vertical(w, marks, carried, cover, j, node, c, y, vy, held, coyote, s, kind, ticks) -> None:
    """Rule 5.5 and 5.7 for a set after its sideways move: landings, ceilings, contact, and the state that flies on."""
    tile = w[heap.TILE]
    if vy > 0:
        feet = y + w[heap.BODY_H]
        first = max((feet + tile - 1) // tile, 0)
        last = min((feet + vy - 1) // tile, w[heap.ROWS] - 1)
        for r in range(first, last + 1):
            if s == 0:
                return
            q = set_record(j, s)
            if not meets(w, heap.CARRY, r, j[q + heap.SET_X0], j[q + heap.SET_X1]):
                continue
            slot, known = _slot(j, _LAND, s, r)
            if not known:
                landed, rest = split(w, j, heap.CARRY, r, s)
                j[slot + 1] = landed
                j[slot + 2] = rest
            landed = j[slot + 1]
            s = j[slot + 2]
            if landed != 0:
                slot, known = _slot(j, _GROUND, landed, r)
                if not known:
                    a, b = items(j, landed)
                    for q in range(a, b):
                        ax, av, n = vertices(j, j[q])
                        arrive(w, marks, carried, cover, j, r, ax, av, n, kind, ticks)
    elif vy < 0:
        first = min(y // tile - 1, w[heap.ROWS] - 1)
        last = max((y + vy) // tile, 0)
        for r in range(first, last - 1, -1):
            if s == 0:
                return
            q = set_record(j, s)
            if not meets(w, heap.CEILING, r, j[q + heap.SET_X0], j[q + heap.SET_X1]):
                continue
            slot, known = _slot(j, _CEILING, s, r)
            if not known:
                hit, rest = split(w, j, heap.CEILING, r, s)
                j[slot + 1] = hit
                j[slot + 2] = rest
            hit = j[slot + 1]
            s = j[slot + 2]
            if hit != 0:
                below = (r + 1) * tile
                enter(w, marks, cover, j, node, c, below, 0, 0, 0, contact(w, marks, j, hit, below))
    enter(w, marks, cover, j, node, c, y + vy, vy, held, coyote, contact(w, marks, j, s, y + vy))


@kernel
def class_record(w, c) -> int:
    """Where takeoff class c's record stands."""
    return w[heap.CLASS] + c * heap.CLASS_WIDTH


@kernel
def class_speeds(w, c, side) -> tuple[int, int]:
    """Range of new speeds of a takeoff class: side 1 positive (class 0: all), side 0 negative (class 0: an empty

    range).
    """
    r = class_record(w, c)
    if c == 0:
        return (-w[r + heap.C_HIGH], w[r + heap.C_HIGH]) if side else (1, 0)
    if side:
        return w[r + heap.C_LOW], w[r + heap.C_HIGH]
    return -w[r + heap.C_HIGH], -w[r + heap.C_LOW]


@kernel
def launch(w, marks, carried, cover, j, node, c, y, s, kind, ticks) -> None:
    """The takeoff tick's vertical part: the button held, and with a buffer the jump whose button is already up."""
    r = class_record(w, c)
    speed = -w[r + heap.C_LAUNCH]
    held = speed
    if w[heap.LAUNCH_TICK_GRAVITY]:
        held = min(speed + w[r + heap.C_HELD], w[heap.TERMINAL])
    vertical(w, marks, carried, cover, j, node, c, y, held, 1, 0, s, kind, ticks)
    if w[heap.BUFFER] > 0:
        up = speed
        if w[heap.CUT_SPEED] >= 0:
            up = max(up, -w[heap.CUT_SPEED])
        if w[heap.LAUNCH_TICK_GRAVITY]:
            up = min(up + w[r + heap.C_GRAVITY], w[heap.TERMINAL])
        vertical(w, marks, carried, cover, j, node, c, y, up, 0, 0, s, kind, ticks)


@kernel
def _coyote_jumps(w, marks, j, s, y, ticks) -> None:
    """Takeoffs from the air: rule 5.2 of the air, the new speed's class, the walls of this height."""
    span = span_of(w, y)
    first, end = items(j, s)
    for c in range(w[heap.CLASSES]):
        for q in range(first, end):
            i = j[q]
            r = record(j, i)
            left, right = corridor(w, span, j[r + heap.X0])
            ax, av, n = vertices(j, i)
            marks[heap.POLYGON_TICKS] += 1
            for side in range(2):
                low, high = class_speeds(w, c, side)
                push(w, j, ax, av, n, j[r + heap.ZONE], low, high, left, right, 1 + c)
        area = j[heap.AREA]
        use_area(j, heap.LASTING)
        t = finish(j)
        use_area(j, area)
        if t == 0:
            continue
        m = j[heap.PENDING_N]
        if m >= j[heap.PENDING + 1]:
            j[heap.FULL] = 1
            return
        at = j[heap.PENDING] + m * heap.PENDING_WIDTH
        j[at] = c
        j[at + 1] = y
        j[at + 2] = t
        j[at + 3] = ticks
        j[heap.PENDING_N] = m + 1


@kernel
def _swap(j) -> None:
    m = j[heap.COMING_N]
    for q in range(m * heap.STATE_WIDTH):
        j[j[heap.ACTIVE] + q] = j[j[heap.COMING] + q]
    j[heap.ACTIVE_N] = m
    j[heap.COMING_N] = 0


@kernel
def fly(w, marks, carried, cover, j, node, c, kind, ticks) -> None:
    """Run the states in `COMING` (class c) until all have landed, ended or been lost."""
    r = class_record(w, c)
    while j[heap.COMING_N] > 0:
        if j[heap.FULL] or marks[heap.STOP]:
            return
        ticks += 1
        _swap(j)
        begin_tick(j)
        new_generation(j)
        for e in range(j[heap.ACTIVE_N]):
            at = j[heap.ACTIVE] + e * heap.STATE_WIDTH
            y = j[at]
            vy = j[at + 1]
            held = j[at + 2]
            coyote = j[at + 3]
            s = j[at + 4]
            if coyote > 0:
                _coyote_jumps(w, marks, j, s, y, ticks)
            s = _sideways(w, marks, j, 1 + c, s, y)
            if held and vy < 0:
                after = min(vy + w[r + heap.C_HELD], w[heap.TERMINAL])
                vertical(w, marks, carried, cover, j, node, c, y, after, 1, 0, s, kind, ticks)
                if w[heap.CUT_SPEED] >= 0:
                    vy = max(vy, -w[heap.CUT_SPEED])
            after = min(vy + w[r + heap.C_GRAVITY], w[heap.TERMINAL])
            vertical(w, marks, carried, cover, j, node, c, y, after, 0, max(0, coyote - 1), s, kind, ticks)


@kernel
def fly_pending(w, marks, carried, cover, j, node) -> None:
    """Run the coyote jumps that flights have left behind."""
    done = 0
    while done < j[heap.PENDING_N]:
        if j[heap.FULL] or marks[heap.STOP]:
            return
        at = j[heap.PENDING] + done * heap.PENDING_WIDTH
        c = j[at]
        ticks = j[at + 3]
        new_generation(j)
        launch(w, marks, carried, cover, j, node, c, j[at + 1], j[at + 2], heap.JUMP, ticks)
        fly(w, marks, carried, cover, j, node, c, heap.JUMP, ticks)
        done += 1
    j[heap.PENDING_N] = 0


@kernel
def start_flight(w, marks, carried, cover, j, node, c, y, vy, s, kind) -> None:
    """Run a flight whose first tick is still to come, from (y, vy) with the button up."""
    new_generation(j)
    enter(w, marks, cover, j, node, c, y, vy, 0, 0, s)
    fly(w, marks, carried, cover, j, node, c, kind, 0)
