"""Jobs: from new ground states of a foothold to everything that leaves it, and to the footholds where that lands.

Approximation: over. A foothold once rested on is taken as rested on everywhere. Arrays as in heap.py and marks.py;
scratch polygons 1, 6 and 7 are used here.
"""

from reach.kernels import heap, polygon
from reach.kernels.areas import empty_areas
from reach.kernels.arrivals import arrive, bounds, is_spring
from reach.kernels.closure import add_zoned, close, deliver, take_inbox
from reach.kernels.flight import class_speeds, fly, fly_pending, launch, new_generation, start_flight, vertical
from reach.kernels.ground_lists import shorten, store
from reach.kernels.marks import mark_carried, mark_cover, measure_misses
from reach.kernels.pool import (
    add_polygon,
    build,
    finish,
    piece,
    piece_vertices,
    record,
    scratch_v,
    scratch_x,
    vertices,
)
from reach.kernels.post import FAR, clip_range, into_zones, point, push, speed_step, zone_record
from reach.kernels.rows import corridor, end_of, first_not_before, span_of
from reach.kernels.typed import kernel


@kernel
def begin_job(j) -> None:
    """Empty the job's results."""
    for i in (
        heap.FULL,
        heap.ACTIVE_N,
        heap.COMING_N,
        heap.PENDING_N,
        heap.OUT_N,
        heap.MOVES_N,
        heap.RECORD_N,
        heap.LOST,
        heap.BUILD_N,
        heap.CLOSE_N,
    ):
        j[i] = 0
    empty_areas(j)
    for i in range(j[heap.TOUCHED + 1]):
        j[j[heap.TOUCHED] + i] = 0


@kernel
def _jumps(w, marks, carried, cover, j, node, row, left, right) -> None:
    """Takeoffs from every piece of the closure: rule 5.2 of the ground, the new speed's class, the walls."""
    y = row * w[heap.TILE] - w[heap.BODY_H]
    for c in range(w[heap.CLASSES]):
        for q in range(j[heap.CLOSE_N]):
            ax, av, n = piece_vertices(j, heap.CLOSE, q)
            z = j[piece(j, heap.CLOSE, q) + heap.B_ZONE]
            marks[heap.POLYGON_TICKS] += 1
            for side in range(2):
                low, high = class_speeds(w, c, side)
                push(w, j, ax, av, n, z, low, high, left, right, 1 + c)
        s = finish(j)
        if s == 0:
            continue
        new_generation(j)
        launch(w, marks, carried, cover, j, node, c, y, s, heap.JUMP, 1)
        fly(w, marks, carried, cover, j, node, c, heap.JUMP, 1)


@kernel
def _walked(w, marks, carried, cover, j, row, ax, av, n, c) -> None:
    """Split a polygon after a ground tick by carried and uncarried x; the latter goes to BUILD in air zones."""
    bx = scratch_x(j, 1)
    bv = scratch_v(j, 1)
    x0, x1, _, _ = polygon.box(ax, av, n)
    t = first_not_before(w, heap.CARRY, row, x0)
    end = end_of(w, heap.CARRY, row)
    start = x0
    while start <= x1:
        stop = x1
        here = t < end and w[t + heap.LOW] <= start
        if here:
            stop = min(x1, w[t + heap.HIGH])
            t += heap.INTERVAL_WIDTH
        elif t < end:
            stop = min(x1, w[t + heap.LOW] - 1)
        m = clip_range(j, ax, av, n, start, stop, bx, bv)
        if m > 0 and here:
            arrive(w, marks, carried, cover, j, row, bx, bv, m, heap.STRIDE, 0)
        elif m > 0:
            into_zones(w, j, bx, bv, m, -FAR, FAR, 1 + c, 0)
        start = stop + 1


@kernel
def _walks(w, marks, carried, cover, j, node, row, left, right) -> None:
    """The ground tick of every piece: strides, springs, losses and places on the ground, and walking off."""
    y = row * w[heap.TILE] - w[heap.BODY_H]
    bx = scratch_x(j, 0)
    bv = scratch_v(j, 0)
    cx = scratch_x(j, 7)
    cv = scratch_v(j, 7)
    dx = scratch_x(j, 6)
    dv = scratch_v(j, 6)
    for c in range(w[heap.CLASSES]):
        for q in range(j[heap.CLOSE_N]):
            ax, av, n = piece_vertices(j, heap.CLOSE, q)
            z = j[piece(j, heap.CLOSE, q) + heap.B_ZONE]
            for part in range(w[zone_record(w, z) + heap.Z_PIECES]):
                if c == 0:
                    # walking off takes the speed after the wall, which is none: class 0, whatever the speed before
                    m = speed_step(w, j, ax, av, n, z, part, -FAR, FAR)
                    marks[heap.POLYGON_TICKS] += 1
                    x0, x1, _, _ = polygon.box(bx, bv, m)
                    dv[0] = 0
                    if x0 < left:
                        dx[0] = left
                        _walked(w, marks, carried, cover, j, row, dx, dv, 1, 0)
                    if x1 > right:
                        dx[0] = right
                        _walked(w, marks, carried, cover, j, row, dx, dv, 1, 0)
                for side in range(2):
                    low, high = class_speeds(w, c, side)
                    if low > high:
                        continue
                    m = speed_step(w, j, ax, av, n, z, part, low, high)
                    marks[heap.POLYGON_TICKS] += 1
                    if m == 0:
                        continue
                    m = clip_range(j, bx, bv, m, left, right, cx, cv)
                    if m > 0:
                        _walked(w, marks, carried, cover, j, row, cx, cv, m, c)
        s = finish(j)
        if s == 0:
            continue
        new_generation(j)
        # walking off: airborne from here on, falling from the next tick
        vertical(w, marks, carried, cover, j, node, c, y, 0, 0, w[heap.COYOTE], s, heap.WALK_OFF, 0)
        fly(w, marks, carried, cover, j, node, c, heap.WALK_OFF, 0)
        fly_pending(w, marks, carried, cover, j, node)


@kernel
def _drops(w, marks, carried, cover, j, node, row) -> None:
    """Drop-through from every spot that only one-way tiles carry."""
    y = row * w[heap.TILE] - w[heap.BODY_H]
    span = span_of(w, y + 1)
    cx = scratch_x(j, 7)
    cv = scratch_v(j, 7)
    for c in range(w[heap.CLASSES]):
        for q in range(j[heap.CLOSE_N]):
            ax, av, n = piece_vertices(j, heap.CLOSE, q)
            p = piece(j, heap.CLOSE, q)
            start = j[p + heap.B_X0]
            x1 = j[p + heap.B_X1]
            t = first_not_before(w, heap.CEILING, row, start)
            end = end_of(w, heap.CEILING, row)
            while start <= x1:
                stop = x1
                if t < end:
                    if w[t + heap.LOW] <= start:
                        start = w[t + heap.HIGH] + 1
                        t += heap.INTERVAL_WIDTH
                        continue
                    stop = min(x1, w[t + heap.LOW] - 1)
                m = clip_range(j, ax, av, n, start, stop, cx, cv)
                if m > 0:
                    left, right = corridor(w, span, start)
                    marks[heap.POLYGON_TICKS] += 1
                    for side in range(2):
                        low, high = class_speeds(w, c, side)
                        push(w, j, cx, cv, m, j[p + heap.B_ZONE], low, high, left, right, 1 + c)
                start = stop + 1
        s = finish(j)
        if s == 0:
            continue
        new_generation(j)
        vertical(w, marks, carried, cover, j, node, c, y + 1, 0, 0, 0, s, heap.DROP, 0)
        fly(w, marks, carried, cover, j, node, c, heap.DROP, 0)


@kernel
def _leave(w, marks, carried, cover, j, node, row, at_x) -> None:
    """Every way off the ground of a row for the closure's pieces, which stand in the corridor around at_x."""
    span = span_of(w, row * w[heap.TILE] - w[heap.BODY_H])
    left, right = corridor(w, span, at_x)
    _jumps(w, marks, carried, cover, j, node, row, left, right)
    _walks(w, marks, carried, cover, j, node, row, left, right)
    if w[heap.DROP_THROUGH]:
        _drops(w, marks, carried, cover, j, node, row)


@kernel
def _bounces(w, marks, carried, cover, j, node) -> None:
    """Launches of a spring for the closure's pieces, which are cut at the takeoff classes."""
    row = w[w[heap.FOOT_ROW] + node]
    y = row * w[heap.TILE] - w[heap.BODY_H]
    cx = scratch_x(j, 7)
    cv = scratch_v(j, 7)
    for c in range(w[heap.CLASSES]):
        x0, _ = bounds(w, node)
        t = first_not_before(w, heap.SPRING, row, x0)
        while t < end_of(w, heap.SPRING, row):
            for q in range(j[heap.CLOSE_N]):
                if j[piece(j, heap.CLOSE, q) + heap.B_ZONE] // 2 == c:
                    ax, av, n = piece_vertices(j, heap.CLOSE, q)
                    m = clip_range(j, ax, av, n, w[t + heap.LOW], w[t + heap.HIGH], cx, cv)
                    into_zones(w, j, cx, cv, m, -FAR, FAR, 1 + c, 0)
            s = finish(j)
            if s != 0:
                start_flight(w, marks, carried, cover, j, node, c, y, -w[t + heap.MORE], s, heap.BOUNCE)
            t += heap.INTERVAL_WIDTH


@kernel
def packed_size(j, settles) -> tuple[int, int]:
    """Number of the polygons that a job hands on, and of their vertices."""
    count = j[heap.OUT_N]
    total = 0
    for q in range(j[heap.OUT_N]):
        total += j[record(j, j[j[heap.OUT] + q * heap.OUT_WIDTH]) + heap.SIZE]
    if settles:
        count += j[heap.CLOSE_N]
        for q in range(j[heap.CLOSE_N]):
            total += j[piece(j, heap.CLOSE, q) + heap.B_SIZE]
    return count, total


@kernel
def pack(j, a, settles) -> None:
    """Copy what a job hands on to `a` (of `heap.make_packed`): what is settled, then what has landed elsewhere.

    The latter have the zone -1 and the foothold where they land in NEXT.
    """
    if settles:
        for q in range(j[heap.CLOSE_N]):
            ax, av, n = piece_vertices(j, heap.CLOSE, q)
            add_polygon(a, ax, av, n, j[piece(j, heap.CLOSE, q) + heap.B_ZONE])
    for q in range(j[heap.OUT_N]):
        at = j[heap.OUT] + q * heap.OUT_WIDTH
        ax, av, n = vertices(j, j[at])
        i = add_polygon(a, ax, av, n, -1)
        a[record(a, i) + heap.NEXT] = j[at + 1]


@kernel
def commit(w, g, j, a, node, taken) -> bool:
    """Settle and deliver what a job on `node` hands on. False: no room; it may be done again with more.

    `taken` is how many polygons of the node's inbox the job took up: what has come since stays in it.
    """
    known = g[g[heap.SETTLED] + node] if node < g[heap.SETTLED + 1] else -1
    for i in range(a[heap.POLYGON_N]):
        ax, av, n = vertices(a, i)
        r = record(a, i)
        if a[r + heap.ZONE] < 0:
            done = deliver(w, g, j, a[r + heap.NEXT], ax, av, n)
        else:
            done = store(g, heap.SETTLED, node, ax, av, n, a[r + heap.ZONE])
        if not done:
            if node < g[heap.SETTLED + 1]:
                g[g[heap.SETTLED] + node] = known
            return False
    if taken > 0:
        shorten(g, heap.INBOX, node, taken)
    return True


@kernel
def _leave_closure(w, marks, carried, cover, g, j, node) -> None:
    """Bring the closure to its fixpoint and fly everything that leaves it."""
    row = w[w[heap.FOOT_ROW] + node]
    low, _ = bounds(w, node)
    y = row * w[heap.TILE] - w[heap.BODY_H]
    if is_spring(w, node):
        _bounces(w, marks, carried, cover, j, node)
        return
    close(w, marks, g, j, node)
    for q in range(j[heap.CLOSE_N]):
        p = piece(j, heap.CLOSE, q)
        mark_carried(w, carried, row, j[p + heap.B_X0], j[p + heap.B_X1])
        mark_cover(w, marks, cover, y, j[p + heap.B_X0], j[p + heap.B_X1])
        measure_misses(w, marks, y, j[p + heap.B_X0], j[p + heap.B_X1], node)
    if j[heap.CLOSE_N]:
        _leave(w, marks, carried, cover, j, node, row, low)


@kernel
def run(w, marks, carried, cover, g, j, node, begin, x, y, v) -> int:
    """Work out one job; returns its status. The ground states `g` are only read; `pack` and `commit` hand on.

    `begin` says from what, at or on foothold `node`:

    FROM_REST, rest anywhere on it; FROM_INBOX, the states in its inbox that are not known yet; FROM_AIR, rest in the
    air at (x, y); FROM_SPOT, rest at (x, y) on the ground where no foothold is (on a spring); FROM_TAKEOFF, the
    takeoffs with the speed v that a body at (x, y) makes in the tick whose sideways move has brought it there.
    """
    begin_job(j)
    px, pv = point(j, x, v)
    if begin == heap.FROM_TAKEOFF:
        for c in range(w[heap.CLASSES]):
            for side in range(2):
                low, high = class_speeds(w, c, side)
                if low <= v <= high:
                    into_zones(w, j, px, pv, 1, -FAR, FAR, 1 + c, 0)
                    new_generation(j)
                    launch(w, marks, carried, cover, j, node, c, y, finish(j), heap.JUMP, 1)
                    fly(w, marks, carried, cover, j, node, c, heap.JUMP, 1)
    elif begin == heap.FROM_AIR:
        into_zones(w, j, px, pv, 1, -FAR, FAR, 1, 0)
        start_flight(w, marks, carried, cover, j, node, 0, y, 0, finish(j), heap.WALK_OFF)
    elif begin == heap.FROM_SPOT:
        row = (y + w[heap.BODY_H]) // w[heap.TILE]
        for z in range(w[w[heap.ZONE_AT]], w[w[heap.ZONE_AT] + 1]):
            r = zone_record(w, z)
            if w[r + heap.Z_LOW] <= 0 <= w[r + heap.Z_HIGH]:
                build(j, heap.CLOSE, heap.CLOSE_N, px, pv, 1, z, 0)
        _leave(w, marks, carried, cover, j, node, row, x)
    elif begin == heap.FROM_REST:
        low, high = bounds(w, node)
        px[0] = high
        px[1] = low
        pv[1] = 0
        add_zoned(w, g, j, node, px, pv, 2 if high > low else 1)
        _leave_closure(w, marks, carried, cover, g, j, node)
    else:
        take_inbox(w, g, j, node)
        _leave_closure(w, marks, carried, cover, g, j, node)
    if marks[heap.STOP]:
        return heap.STOPPED
    return heap.NEEDS_ROOM if j[heap.FULL] else heap.OK
