"""Where a body may be, row by row: free, deadly, ending, carried and launching x as sorted closed integer intervals.

A solid run of columns [a, b] is overlapped by a body of width W exactly for a*T - W + 1 <= x <= (b + 1)*T - 1 (spx).
A *span* is the set of rows that a body at some y overlaps: its first row and one of at most two counts.
"""

import numpy as np

from reach.kernels import heap
from reach.kernels.compiling import compiled
from reach.kernels.heap import (
    BODY_H,
    FIRST_ROW,
    FREE,
    HIGH,
    INTERVAL_WIDTH,
    INTERVALS,
    LEAST_COUNT,
    LOW,
    ROWS,
    TILE,
)
from reach.kernels.params import HAZARD, ONE_WAY, SOLID, SPRING, Motion, Terrain
from reach.kernels.typed import kernel

BLOCKING = 1
FATAL = 2
CARRYING = 3


@compiled()
def _is_kind(material, kind):
    if kind == BLOCKING:
        return material == SOLID or material == SPRING
    if kind == FATAL:
        return material == HAZARD
    return material == SOLID or material == SPRING or material == ONE_WAY


@compiled()
def _contacts(mask, tile, body_w, limit, low, high, m):
    """Append the merged contact intervals of the marked columns, cut to 0..limit; returns the new count."""
    columns = mask.shape[0]
    first = m
    c = 0
    while c < columns:
        if not mask[c]:
            c += 1
            continue
        a = c
        while c < columns and mask[c]:
            c += 1
        lo = max(a * tile - body_w + 1, 0)
        hi = min(c * tile - 1, limit)
        if lo > hi:
            continue
        if m > first and lo <= high[m - 1] + 1:
            high[m - 1] = max(high[m - 1], hi)
        else:
            low[m] = lo
            high[m] = hi
            m += 1
    return m


@compiled()
def _row_table(material, tile, body_w, kind):
    rows, columns = material.shape
    limit = columns * tile - body_w
    at = np.zeros(rows + 1, np.int64)
    low = np.zeros(rows * (columns // 2 + 1), np.int64)
    high = np.zeros(rows * (columns // 2 + 1), np.int64)
    mask = np.zeros(columns, np.bool_)
    m = 0
    for r in range(rows):
        for c in range(columns):
            mask[c] = _is_kind(material[r, c], kind)
        m = _contacts(mask, tile, body_w, limit, low, high, m)
        at[r + 1] = m
    return at, low[:m].copy(), high[:m].copy()


@compiled()
def _span_table(material, ends, tile, body_w, first_row, least, spans, which):
    """Intervals per span; which: BLOCKING gives the free ones (the complement), FATAL the deadly, 0 the ending ones."""
    rows, columns = material.shape
    limit = columns * tile - body_w
    at = np.zeros(spans + 1, np.int64)
    room = max(64, spans * 4)
    low = np.zeros(room, np.int64)
    high = np.zeros(room, np.int64)
    mask = np.zeros(columns, np.bool_)
    a = np.zeros(columns // 2 + 2, np.int64)
    b = np.zeros(columns // 2 + 2, np.int64)
    m = 0
    for s in range(spans):
        r0 = first_row + s // 2
        count = least + s % 2
        mask[:] = False
        for r in range(max(r0, 0), min(r0 + count, rows)):
            for c in range(columns):
                if which == 0:
                    if ends[r, c]:
                        mask[c] = True
                elif _is_kind(material[r, c], which):
                    mask[c] = True
        k = _contacts(mask, tile, body_w, limit, a, b, 0)
        if m + k + 2 > low.shape[0]:
            grown = max(2 * low.shape[0], m + k + 2)
            low2 = np.zeros(grown, np.int64)
            high2 = np.zeros(grown, np.int64)
            low2[:m] = low[:m]
            high2[:m] = high[:m]
            low = low2
            high = high2
        if which == BLOCKING:
            x = 0
            for i in range(k):
                if a[i] > x:
                    low[m] = x
                    high[m] = a[i] - 1
                    m += 1
                x = b[i] + 1
            if x <= limit:
                low[m] = x
                high[m] = limit
                m += 1
        else:
            for i in range(k):
                low[m] = a[i]
                high[m] = b[i]
                m += 1
        at[s + 1] = m
    return at, low[:m].copy(), high[:m].copy()


@compiled()
def _spring_table(material, launch, tile, body_w):
    """Per row disjoint intervals with the greatest launch among the springs that a body there overlaps."""
    rows, columns = material.shape
    limit = columns * tile - body_w
    at = np.zeros(rows + 1, np.int64)
    total = 0
    for r in range(rows):
        for c in range(columns):
            if material[r, c] == SPRING:
                total += 1
    low = np.zeros(2 * total + 1, np.int64)
    high = np.zeros(2 * total + 1, np.int64)
    speed = np.zeros(2 * total + 1, np.int64)
    edges = np.zeros(2 * total + 1, np.int64)
    m = 0
    for r in range(rows):
        first = m
        e = 0
        for c in range(columns):
            if material[r, c] == SPRING:
                edges[e] = max(c * tile - body_w + 1, 0)
                edges[e + 1] = min((c + 1) * tile, limit + 1)
                e += 2
        cuts = np.unique(edges[:e])
        for i in range(cuts.shape[0] - 1):
            lo = cuts[i]
            hi = cuts[i + 1] - 1
            best = 0
            # columns overlapped by a body at lo: those of the whole piece, by the choice of the cuts
            for c in range(max(lo // tile, 0), min((lo + body_w - 1) // tile, columns - 1) + 1):
                if material[r, c] == SPRING:
                    best = max(best, launch[r, c])
            if best == 0:
                continue
            if m > first and high[m - 1] == lo - 1 and speed[m - 1] == best:
                high[m - 1] = hi
            else:
                low[m] = lo
                high[m] = hi
                speed[m] = best
                m += 1
        at[r + 1] = m
    return at, low[:m].copy(), high[:m].copy(), speed[:m].copy()


def row_tables(
    motion: Motion, terrain: Terrain
) -> tuple[dict[int, tuple[np.ndarray, np.ndarray, np.ndarray]], dict[int, int]]:
    """Interval tables of a level for a body, by region name of heap.py: (at, low, high) with int64 arrays; SPRING has
    launches.

    Also the scalars that `span_of` needs. Intervals `at[i]:at[i + 1]` belong to row (or span) i. Approximation: exact.
    """
    material = np.ascontiguousarray(terrain.material)
    rows, columns = material.shape
    tile, body_w, body_h = terrain.tile, motion.body_w, motion.body_h
    least = (body_h - 1) // tile + 1
    first_row = -(least + 1)
    spans = 2 * (rows - first_row)
    ends = np.zeros((rows, columns), np.bool_)
    for i in np.flatnonzero(terrain.place_ends):
        ends[terrain.place_row[i], terrain.place_column[i]] = True
    tables = {
        heap.FREE: _span_table(material, ends, tile, body_w, first_row, least, spans, BLOCKING),
        heap.DEADLY: _span_table(material, ends, tile, body_w, first_row, least, spans, FATAL),
        heap.ENDING: _span_table(material, ends, tile, body_w, first_row, least, spans, 0),
        heap.CARRY: _row_table(material, tile, body_w, CARRYING),
        heap.CEILING: _row_table(material, tile, body_w, BLOCKING),
        heap.SPRING: _spring_table(material, terrain.launch, tile, body_w),
    }
    return tables, {heap.FIRST_ROW: first_row, heap.LEAST_COUNT: least}


@kernel
def span_of(w, y) -> int:
    """Number of the rows that a body at y overlaps; high above the map all spans are empty and count as the first."""
    r0 = y // w[TILE]
    r1 = (y + w[BODY_H] - 1) // w[TILE]
    if r0 < w[FIRST_ROW]:
        return 0
    return 2 * (r0 - w[FIRST_ROW]) + (r1 - r0 + 1 - w[LEAST_COUNT])


@kernel
def span_rows(w, span) -> tuple[int, int]:
    """The rows of a span that lie in the map: (first, end)."""
    r0 = w[FIRST_ROW] + span // 2
    first = min(max(r0, 0), w[ROWS])
    return first, max(min(r0 + w[LEAST_COUNT] + span % 2, w[ROWS]), first)


@kernel
def end_of(w, table, i) -> int:
    """Where the intervals of row i of a table end."""
    return w[INTERVALS] + w[w[table] + i + 1] * INTERVAL_WIDTH


@kernel
def first_not_before(w, table, i, x) -> int:
    """The first interval of row i that ends at or after x; `end_of` if there is none.

    Intervals are INTERVAL_WIDTH apart.
    """
    lo = w[w[table] + i]
    hi = w[w[table] + i + 1]
    base = w[INTERVALS]
    while lo < hi:
        mid = (lo + hi) // 2
        if w[base + mid * INTERVAL_WIDTH + HIGH] < x:
            lo = mid + 1
        else:
            hi = mid
    return base + lo * INTERVAL_WIDTH


@kernel
def meets(w, table, i, x0, x1) -> bool:
    """Whether an interval of row i meets [x0, x1]."""
    q = first_not_before(w, table, i, x0)
    return q < end_of(w, table, i) and w[q + LOW] <= x1


@kernel
def corridor(w, span, x) -> tuple[int, int]:
    """The free interval of a span around x."""
    q = first_not_before(w, FREE, span, x)
    return w[q + LOW], w[q + HIGH]
