"""One tick of rule 5.2 and 5.4 for a polygon: the sum, the clips, the walls, and the cut into the zones of a table.

Approximation: over. Arrays w and j as in heap.py; scratch polygons 0 to 5 are used here.
"""

from reach.kernels import polygon
from reach.kernels.heap import (
    BUILD,
    BUILD_N,
    Z_DOWN,
    Z_HIGH,
    Z_LOW,
    Z_PIECES,
    ZONE_AT,
    ZONE_WIDTH,
    ZONES,
)
from reach.kernels.pool import build, scratch_v, scratch_x, work_room
from reach.kernels.typed import kernel, view

FAR = 1 << 60


@kernel
def zone_record(w, z) -> int:
    """Where zone z's record stands."""
    return w[ZONES] + z * ZONE_WIDTH


@kernel
def clip_speeds(j, ax, av, n, low, high, bx, bv, spare) -> int:
    """The part of a with low <= v <= high, into b (which may be a), over scratch `spare`; returns its vertices."""
    _, _, v0, v1 = polygon.box(ax, av, n)
    if v1 < low or v0 > high:
        return 0
    polygon.copy(ax, av, n, bx, bv)
    if v0 >= low and v1 <= high:
        return n
    cx = scratch_x(j, spare)
    cv = scratch_v(j, spare)
    work = work_room(j)
    if v0 < low:
        n = polygon.clip_v(bx, bv, n, low, 0, cx, cv, work)
        polygon.copy(cx, cv, n, bx, bv)
    if v1 > high and n > 0:
        n = polygon.clip_v(bx, bv, n, high, 1, cx, cv, work)
        polygon.copy(cx, cv, n, bx, bv)
    return n


@kernel
def speed_step(w, j, ax, av, n, z, part, low, high) -> int:
    """Polygon of (x + v', v') for the new speeds v' in [low, high], from zone z by one of its pieces, into scratch 0.

    Returns its number of vertices.
    """
    bx = scratch_x(j, 0)
    bv = scratch_v(j, 0)
    p = zone_record(w, z) + Z_DOWN + 4 * part
    n = polygon.sum_and_shear(ax, av, n, w[p], w[p + 1], bx, bv)
    return clip_speeds(j, bx, bv, n, max(low, w[p + 2]), min(high, w[p + 3]), bx, bv, 1)


@kernel
def clip_range(j, ax, av, n, low, high, bx, bv) -> int:
    """The part of a with low <= x <= high, into b (which may be a), over scratch 2; returns its number of vertices."""
    x0, x1, _, _ = polygon.box(ax, av, n)
    if x1 < low or x0 > high:
        return 0
    polygon.copy(ax, av, n, bx, bv)
    if x0 >= low and x1 <= high:
        return n
    cx = scratch_x(j, 2)
    cv = scratch_v(j, 2)
    work = work_room(j)
    if x0 < low:
        n = polygon.clip_x(bx, bv, n, low, 0, cx, cv, work)
        polygon.copy(cx, cv, n, bx, bv)
    if x1 > high and n > 0:
        n = polygon.clip_x(bx, bv, n, high, 1, cx, cv, work)
        polygon.copy(cx, cv, n, bx, bv)
    return n


@kernel
def into_zones(w, j, ax, av, n, table, lane) -> None:
    """Cut a polygon at the zones of a table and add the pieces to BUILD, over scratch 3 and 4."""
    if n == 0:
        return
    bx = scratch_x(j, 3)
    bv = scratch_v(j, 3)
    _, _, v0, v1 = polygon.box(ax, av, n)
    for z in range(w[w[ZONE_AT] + table], w[w[ZONE_AT] + table + 1]):
        r = zone_record(w, z)
        if v1 < w[r + Z_LOW] or w[r + Z_HIGH] < v0:
            continue
        if w[r + Z_LOW] <= v0 and v1 <= w[r + Z_HIGH]:
            build(j, BUILD, BUILD_N, ax, av, n, z, lane)
            continue
        m = clip_speeds(j, ax, av, n, w[r + Z_LOW], w[r + Z_HIGH], bx, bv, 4)
        if m > 0:
            build(j, BUILD, BUILD_N, bx, bv, m, z, lane)


@view
def point(j, x, v):
    """Put a point into scratch 5; returns views of it."""
    bx = scratch_x(j, 5)
    bv = scratch_v(j, 5)
    bx[0] = x
    bv[0] = v
    return bx, bv


@kernel
def push(w, j, ax, av, n, z, low, high, left, right, table) -> None:
    """One tick of a polygon whose new speeds lie in [low, high], in the corridor [left, right], into a table's zones.

    What would pass a wall stays flush to it with speed 0; being in the corridor, it may be joined with all else there.
    """
    if low > high:
        return
    for part in range(w[zone_record(w, z) + Z_PIECES]):
        m = speed_step(w, j, ax, av, n, z, part, low, high)
        if m == 0:
            continue
        bx = scratch_x(j, 0)
        bv = scratch_v(j, 0)
        x0, x1, _, _ = polygon.box(bx, bv, m)
        if x0 < left:
            px, pv = point(j, left, 0)
            into_zones(w, j, px, pv, 1, table, left)
        if x1 > right:
            px, pv = point(j, right, 0)
            into_zones(w, j, px, pv, 1, table, left)
        m = clip_range(j, bx, bv, m, left, right, bx, bv)
        into_zones(w, j, bx, bv, m, table, left)
