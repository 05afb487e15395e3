"""Splitting sets by what stands in a row, and what happens to a polygon that is on the ground now.

Approximation: over. Arrays as in heap.py and marks.py; scratch polygons 5, 6, 8 and 9 are used here.
"""

from reach.kernels import heap, polygon, rising
from reach.kernels.areas import use_area
from reach.kernels.marks import mark_carried, mark_cover
from reach.kernels.pool import (
    add_item,
    add_polygon,
    close_set,
    items,
    record,
    scratch_v,
    scratch_x,
    vertices,
)
from reach.kernels.post import FAR, clip_range
from reach.kernels.rows import corridor, end_of, first_not_before, span_of, span_rows
from reach.kernels.typed import kernel


@kernel
def split(w, j, table, row, s) -> tuple[int, int]:
    """Split a set by the intervals of a row: (inside, outside)."""
    bx = scratch_x(j, 6)
    bv = scratch_v(j, 6)
    end = end_of(w, table, row)
    a, b = items(j, s)
    inside = 0
    outside = 0
    for inner in (1, 0):
        first = j[heap.ITEM_N]
        for q in range(a, b):
            i = j[q]
            r = record(j, i)
            x0 = j[r + heap.X0]
            x1 = j[r + heap.X1]
            t = first_not_before(w, table, row, x0)
            if t == end or w[t + heap.LOW] > x1:
                if not inner:
                    add_item(j, i)
                continue
            if w[t + heap.LOW] <= x0 and x1 <= w[t + heap.HIGH]:
                if inner:
                    add_item(j, i)
                continue
            # the intervals, or the gaps between them, that the polygon meets
            start = x0
            while start <= x1:
                stop = x1
                here = t < end and w[t + heap.LOW] <= start
                if here:
                    stop = min(w[t + heap.HIGH], x1)
                    t += heap.INTERVAL_WIDTH
                elif t < end:
                    stop = min(w[t + heap.LOW] - 1, x1)
                if here == inner:
                    ax, av, n = vertices(j, i)
                    m = clip_range(j, ax, av, n, start, stop, bx, bv)
                    if m > 0:
                        add_item(j, add_polygon(j, bx, bv, m, j[r + heap.ZONE]))
                start = stop + 1
        if inner:
            inside = close_set(j, first)
            if inside == 0:
                return 0, s
        else:
            outside = close_set(j, first)
    return inside, outside


@kernel
def touch_places(w, marks, j, span, x0, x1) -> None:
    """Mark the places that a body on [x0, x1] touches in the rows of a span."""
    first, end = span_rows(w, span)
    for q in range(w[w[heap.PLACE_AT] + first], w[w[heap.PLACE_AT] + end]):
        p = w[heap.PLACE] + q * heap.PLACE_WIDTH
        c = w[p + heap.PLACE_COLUMN]
        if c * w[heap.TILE] - w[heap.BODY_W] + 1 <= x1 and x0 <= (c + 1) * w[heap.TILE] - 1:
            marks[marks[heap.K_TOUCHED] + w[p + heap.PLACE_INDEX]] = 1
            j[j[heap.TOUCHED] + w[p + heap.PLACE_INDEX]] = 1


@kernel
def is_spring(w, node) -> bool:
    """Whether a foothold is a spring."""
    return w[w[heap.INTERVALS] + (w[w[heap.FOOT]] + node) * heap.INTERVAL_WIDTH + heap.MORE] != 0


@kernel
def bounds(w, node) -> tuple[int, int]:
    """Least and greatest x of a foothold."""
    at = w[heap.INTERVALS] + (w[w[heap.FOOT]] + node) * heap.INTERVAL_WIDTH
    return w[at + heap.LOW], w[at + heap.HIGH]


@kernel
def can_rest(w, j, node, ax, av, n) -> bool:
    """Whether some state of the polygon, braking as hard as it can, stops on a foothold, by itself or at a wall.

    The foothold ends at a wall where the free corridor of its row does: what would pass that end stays flush with it.
    """
    low, high = bounds(w, node)
    left, right = corridor(w, span_of(w, w[w[heap.FOOT_ROW] + node] * w[heap.TILE] - w[heap.BODY_H]), low)
    brake = w[heap.BRAKE]
    ux = scratch_x(j, 8)
    uv = scratch_v(j, 8)
    tx = scratch_x(j, 9)
    tv = scratch_v(j, 9)
    for sign in (1, -1):
        m = clip_range(j, ax, av, n, low, high, ux, uv)
        if m == 0:
            return False
        m = rising.cut_speeds(ux, uv, m, -FAR if sign < 0 else 0, 0 if sign < 0 else FAR, tx, tv)
        while m > 0:
            _, _, v0, v1 = polygon.box(tx, tv, m)
            if (v0 if sign > 0 else -v1) <= brake:
                return True
            m = rising.sum_and_shear(tx, tv, m, -sign * brake, -sign * brake, ux, uv)
            x0, x1, _, _ = polygon.box(ux, uv, m)
            if (x1 > high and high == right) if sign > 0 else (x0 < low and low == left):
                return True
            m = clip_range(j, ux, uv, m, low, high, tx, tv)
    return False


@kernel
def _note_move(w, j, node, kind, ticks, ax, av, n) -> None:
    """Remember that this flight reaches a foothold, and whether the polygon it lands with can come to rest there."""
    m = j[heap.MOVES_N]
    q = j[heap.MOVES]
    end = q + m * heap.MOVES_WIDTH
    while q < end and not (j[q] == node and j[q + 1] == kind):
        q += heap.MOVES_WIDTH
    if q == end:
        if m >= j[heap.MOVES + 1]:
            j[heap.FULL] = 1
            return
        j[q] = node
        j[q + 1] = kind
        j[q + 2] = ticks
        j[q + 3] = 0
        j[heap.MOVES_N] = m + 1
    j[q + 2] = min(j[q + 2], ticks)
    if j[q + 3] == 0 and not is_spring(w, node) and can_rest(w, j, node, ax, av, n):
        j[q + 3] = 1


@kernel
def arrive(w, marks, carried, cover, j, row, ax, av, n, kind, ticks) -> None:
    """A polygon that is on the ground of a row now: marks, losses, and a piece for every foothold under it."""
    y = row * w[heap.TILE] - w[heap.BODY_H]
    span = span_of(w, y)
    x0, x1, _, _ = polygon.box(ax, av, n)
    start = x0
    t = first_not_before(w, heap.DEADLY, span, x0)
    end = end_of(w, heap.DEADLY, span)
    while start <= x1:
        if t < end and w[t + heap.LOW] <= start:
            j[heap.LOST] = 1
            start = w[t + heap.HIGH] + 1
            t += heap.INTERVAL_WIDTH
            continue
        stop = x1
        if t < end:
            stop = min(x1, w[t + heap.LOW] - 1)
        mark_carried(w, carried, row, start, stop)
        mark_cover(w, marks, cover, y, start, stop)
        touch_places(w, marks, j, span, start, stop)
        start = stop + 1
    bx = scratch_x(j, 5)
    bv = scratch_v(j, 5)
    f = first_not_before(w, heap.FOOT, row, x0)
    end = end_of(w, heap.FOOT, row)
    base = w[heap.INTERVALS] + w[w[heap.FOOT]] * heap.INTERVAL_WIDTH
    while f < end and w[f + heap.LOW] <= x1:
        m = clip_range(j, ax, av, n, w[f + heap.LOW], w[f + heap.HIGH], bx, bv)
        if m > 0:
            c = j[heap.OUT_N]
            if c >= j[heap.OUT + 1]:
                j[heap.FULL] = 1
                return
            node = (f - base) // heap.INTERVAL_WIDTH
            at = j[heap.OUT] + c * heap.OUT_WIDTH
            area = j[heap.AREA]
            use_area(j, heap.LASTING)
            j[at] = add_polygon(j, bx, bv, m, -1)
            use_area(j, area)
            j[at + 1] = node
            j[heap.OUT_N] = c + 1
            _note_move(w, j, node, kind, ticks, bx, bv, m)
        f += heap.INTERVAL_WIDTH
