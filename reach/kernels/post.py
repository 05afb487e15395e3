"""One tick of rule 5.2 and 5.4 for a polygon: the sum, the clips, the walls, and the cut into the zones of a table.

Approximation: over. Arrays w and j as in heap.py; scratch polygons 0 to 5 are used here.
"""

from reach.kernels import polygon, rising
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
def speed_step(w, j, ax, av, n, z, part, low, high) -> int:
    """Polygon of (x + v', v') for the new speeds v' in [low, high], from zone z by one of its pieces, into scratch 0.

    Returns its number of vertices. Over scratch 1.
    """
    bx = scratch_x(j, 1)
    bv = scratch_v(j, 1)
    p = zone_record(w, z) + Z_DOWN + 4 * part
    n = rising.sum_and_shear(ax, av, n, w[p], w[p + 1], bx, bv)
    return rising.cut_speeds(bx, bv, n, max(low, w[p + 2]), min(high, w[p + 3]), scratch_x(j, 0), scratch_v(j, 0))


@kernel
def clip_range(j, ax, av, n, low, high, bx, bv) -> int:
    """The part of a with low <= x <= high, into b (which may be a), over scratch 2; returns its number of vertices."""
    x0, x1 = polygon.range_of(ax, n)
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
        rising.begin_lowest(cx, cv, n, bx, bv)
    if x1 > high and n > 0:
        n = polygon.clip_x(bx, bv, n, high, 1, cx, cv, work)
        rising.begin_lowest(cx, cv, n, bx, bv)
    return n


@kernel
def into_zones(w, j, ax, av, n, low, high, table, lane) -> None:
    """Cut the part of a polygon with low <= v <= high at the zones of a table and add the pieces to BUILD.

    Over scratch 3.
    """
    if n == 0:
        return
    bx = scratch_x(j, 3)
    bv = scratch_v(j, 3)
    v0 = av[0]
    v1 = av[rising.peak(av, n)]
    for z in range(w[w[ZONE_AT] + table], w[w[ZONE_AT] + table + 1]):
        r = zone_record(w, z)
        least = max(low, w[r + Z_LOW])
        most = min(high, w[r + Z_HIGH])
        if least > most or v1 < least or most < v0:
            continue
        if least <= v0 and v1 <= most:
            build(j, BUILD, BUILD_N, ax, av, n, z, lane)
            continue
        m = rising.cut_speeds(ax, av, n, least, most, bx, bv)
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
    bx = scratch_x(j, 0)
    bv = scratch_v(j, 0)
    for part in range(w[zone_record(w, z) + Z_PIECES]):
        p = zone_record(w, z) + Z_DOWN + 4 * part
        least = max(low, w[p + 2])
        most = min(high, w[p + 3])
        m = rising.sum_and_shear(ax, av, n, w[p], w[p + 1], bx, bv)
        if left == -FAR and right == FAR:
            into_zones(w, j, bx, bv, m, least, most, table, left)
            continue
        x0, x1 = polygon.range_of(bx, m)
        if left <= x0 and x1 <= right:
            into_zones(w, j, bx, bv, m, least, most, table, left)
            continue
        m = speed_step(w, j, ax, av, n, z, part, low, high)
        if m == 0:
            continue
        x0, x1 = polygon.range_of(bx, m)
        if x0 < left:
            px, pv = point(j, left, 0)
            into_zones(w, j, px, pv, 1, -FAR, FAR, table, left)
        if x1 > right:
            px, pv = point(j, right, 0)
            into_zones(w, j, px, pv, 1, -FAR, FAR, table, left)
        m = clip_range(j, bx, bv, m, left, right, bx, bv)
        into_zones(w, j, bx, bv, m, -FAR, FAR, table, left)
