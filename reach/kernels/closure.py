"""Ground states of one foothold: what is known, what is new, and the fixpoint of the ground tick on it.

Approximation: over. Arrays as in heap.py and marks.py; scratch polygons 3 to 8 are used here.
"""

from reach.kernels import heap, polygon, rising
from reach.kernels.arrivals import bounds, can_rest, is_spring
from reach.kernels.flight import class_speeds
from reach.kernels.ground_lists import held_by, store
from reach.kernels.pool import (
    build,
    piece,
    piece_vertices,
    put,
    record,
    scratch_v,
    scratch_x,
    vertices,
    work_room,
)
from reach.kernels.post import FAR, clip_range, point, speed_step, zone_record
from reach.kernels.rows import corridor, span_of
from reach.kernels.typed import kernel

_SNAP_AFTER = 200
"""Joins of one piece after which its vertices go outward to a coarser grid, so that a creeping hull ends."""


@kernel
def _snap(w, j, q, low, high) -> None:
    """Move the vertices of closure piece q outward to a grid that grows with its number of joins."""
    p = piece(j, heap.CLOSE, q)
    n = j[p + heap.B_SIZE]
    if 4 * n > heap.WIDTH:
        return
    grid = 1 << min(4 + (j[p + heap.B_JOINS] - _SNAP_AFTER) // 20, 40)
    z = zone_record(w, j[p + heap.B_ZONE])
    ax, av, _ = piece_vertices(j, heap.CLOSE, q)
    bx = scratch_x(j, 8)
    bv = scratch_v(j, 8)
    m = 0
    for i in range(n):
        for right in range(2):
            for above in range(2):
                bx[m] = min(max((ax[i] // grid + right) * grid, low), high)
                bv[m] = min(max((av[i] // grid + above) * grid, w[z + heap.Z_LOW]), w[z + heap.Z_HIGH])
                m += 1
    m = polygon.tidy(bx, bv, m, work_room(j))
    rising.begin_lowest(bx, bv, m, ax, av)
    x0, x1 = polygon.range_of(ax, m)
    put(j, heap.CLOSE, q, ax, av, m, x0, x1)


@kernel
def add(w, g, j, node, ax, av, n, zone) -> None:
    """Add a piece to the closure unless its states are known; what changed is marked dirty."""
    if held_by(g, g[g[heap.SETTLED] + node], ax, av, n, zone):
        return
    x0, x1, v0, v1 = polygon.box(ax, av, n)
    for q in range(j[heap.CLOSE_N]):
        p = piece(j, heap.CLOSE, q)
        if (
            j[p + heap.B_ZONE] == zone
            and j[p + heap.B_X0] <= x0
            and x1 <= j[p + heap.B_X1]
            and j[p + heap.B_V0] <= v0
            and v1 <= j[p + heap.B_V1]
        ):
            bx, bv, m = piece_vertices(j, heap.CLOSE, q)
            if polygon.contains(bx, bv, m, ax, av, n):
                return
    q = build(j, heap.CLOSE, heap.CLOSE_N, ax, av, n, zone, 0)
    if q >= 0 and j[piece(j, heap.CLOSE, q) + heap.B_JOINS] > _SNAP_AFTER:
        low, high = bounds(w, node)
        _snap(w, j, q, low, high)


@kernel
def add_zoned(w, g, j, node, ax, av, n) -> None:
    """Add a polygon to the closure, cut at the ground's zones."""
    if n == 0:
        return
    bx = scratch_x(j, 3)
    bv = scratch_v(j, 3)
    for z in range(w[w[heap.ZONE_AT]], w[w[heap.ZONE_AT] + 1]):
        r = zone_record(w, z)
        m = rising.cut_speeds(ax, av, n, w[r + heap.Z_LOW], w[r + heap.Z_HIGH], bx, bv)
        if m > 0:
            add(w, g, j, node, bx, bv, m, z)


@kernel
def close(w, marks, g, j, node) -> None:
    """Bring the closure's pieces to the fixpoint of the ground tick on this foothold."""
    low, high = bounds(w, node)
    span = span_of(w, w[w[heap.FOOT_ROW] + node] * w[heap.TILE] - w[heap.BODY_H])
    left, right = corridor(w, span, low)
    ax = scratch_x(j, 6)
    av = scratch_v(j, 6)
    bx = scratch_x(j, 0)
    bv = scratch_v(j, 0)
    cx = scratch_x(j, 7)
    cv = scratch_v(j, 7)
    changed = True
    while changed:
        changed = False
        q = 0
        while q < j[heap.CLOSE_N]:
            if j[heap.FULL] or marks[heap.STOP]:
                return
            p = piece(j, heap.CLOSE, q)
            if not j[p + heap.B_DIRTY]:
                q += 1
                continue
            changed = True
            j[p + heap.B_DIRTY] = 0
            z = j[p + heap.B_ZONE]
            ux, uv, n = piece_vertices(j, heap.CLOSE, q)
            polygon.copy(ux, uv, n, ax, av)
            for part in range(w[zone_record(w, z) + heap.Z_PIECES]):
                marks[heap.POLYGON_TICKS] += 1
                m = speed_step(w, j, ax, av, n, z, part, -FAR, FAR)
                if m == 0:
                    continue
                x0, x1, _, _ = polygon.box(bx, bv, m)
                if x0 < left and low <= left:
                    px, pv = point(j, left, 0)
                    add_zoned(w, g, j, node, px, pv, 1)
                if x1 > right and right <= high:
                    px, pv = point(j, right, 0)
                    add_zoned(w, g, j, node, px, pv, 1)
                m = clip_range(j, bx, bv, m, low, high, cx, cv)
                add_zoned(w, g, j, node, cx, cv, m)
            q += 1


@kernel
def _deliver_piece(g, node, ax, av, n, zone) -> bool:
    if held_by(g, g[g[heap.SETTLED] + node], ax, av, n, zone):
        return True
    if held_by(g, g[g[heap.INBOX] + node], ax, av, n, zone):
        return True
    return store(g, heap.INBOX, node, ax, av, n, zone)


@kernel
def deliver(w, g, j, node, ax, av, n) -> bool:
    """Put a polygon of ground states (or of launched ones, on a spring) into a foothold's inbox. False: no room.

    On a foothold the pieces are cut at the ground's zones; on a spring at the takeoff classes, numbered 2c for v < 0
    and 2c + 1 for v > 0 (and all of class 0).
    """
    g[g[heap.LANDED] + node] = 1
    bx = scratch_x(j, 3)
    bv = scratch_v(j, 3)
    if not is_spring(w, node):
        for z in range(w[w[heap.ZONE_AT]], w[w[heap.ZONE_AT] + 1]):
            r = zone_record(w, z)
            m = rising.cut_speeds(ax, av, n, w[r + heap.Z_LOW], w[r + heap.Z_HIGH], bx, bv)
            if m > 0 and not _deliver_piece(g, node, bx, bv, m, z):
                return False
        return True
    for c in range(w[heap.CLASSES]):
        for side in range(2):
            low, high = class_speeds(w, c, side)
            if low > high:
                continue
            m = rising.cut_speeds(ax, av, n, low, high, bx, bv)
            if m > 0 and not _deliver_piece(g, node, bx, bv, m, 2 * c + side):
                return False
    return True


@kernel
def take_inbox(w, g, j, node) -> None:
    """Bring what waits in a foothold's inbox, and is not known, into the closure. The inbox itself stays as it is."""
    i = g[g[heap.INBOX] + node]
    while i >= 0:
        ax, av, n = vertices(g, i)
        r = record(g, i)
        add(w, g, j, node, ax, av, n, g[r + heap.ZONE])
        i = g[r + heap.NEXT]


@kernel
def inbox_can_rest(w, g, j, node) -> bool:
    """Whether a state in the inbox can come to rest on this foothold."""
    i = g[g[heap.INBOX] + node]
    while i >= 0:
        ax, av, n = vertices(g, i)
        if can_rest(w, j, node, ax, av, n):
            return True
        i = g[record(g, i) + heap.NEXT]
    return False
