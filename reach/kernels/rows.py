"""Where a body may be, row by row: free, deadly, ending, carried and launching x as sorted closed integer intervals.

A solid run of columns [a, b] is overlapped by a body of width W exactly for a*T - W + 1 <= x <= (b + 1)*T - 1 (spx).
A *span* is the set of rows that a body at some y overlaps: its first row and one of at most two counts.
"""

import numpy as np

from reach.kernels import heap
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
from reach.kernels.intervals import (
    BLOCKING,
    CARRYING,
    Pieces,
    any_overlapped,
    any_row,
    cut_pieces,
    ending_tiles,
    find_runs,
    greatest_overlapped,
)
from reach.kernels.params import HAZARD, SPRING, Motion, Terrain
from reach.kernels.typed import kernel


def _row_table(values: np.ndarray, pieces: Pieces) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """(at, low, high, value) of the intervals of x in which the value is not zero."""
    row, low, high, value = find_runs(values, pieces)
    return np.searchsorted(row, np.arange(len(values) + 1)), low, high, value


def row_tables(motion: Motion, terrain: Terrain) -> tuple[dict[int, tuple[np.ndarray, ...]], dict[int, int]]:
    """Interval tables of a level for a body, by region name of heap.py: (at, low, high) with int64 arrays; SPRING has
    launches.

    Also the scalars that `span_of` needs. Intervals `at[i]:at[i + 1]` belong to row (or span) i. Approximation: exact.
    """
    material = terrain.material
    rows, columns = material.shape
    tile, body_h = terrain.tile, motion.body_h
    least = (body_h - 1) // tile + 1
    first_row = -(least + 1)
    span = np.arange(2 * (rows - first_row))
    first = first_row + span // 2
    end = first + least + span % 2
    pieces = cut_pieces(columns, tile, motion.body_w)

    def meets(marked: np.ndarray) -> np.ndarray:
        return any_overlapped(any_row(marked, first, end), pieces)

    springs = np.where(material == SPRING, terrain.launch, 0)
    tables = {
        heap.FREE: _row_table(~meets(np.isin(material, BLOCKING)), pieces)[:3],
        heap.DEADLY: _row_table(meets(material == HAZARD), pieces)[:3],
        heap.ENDING: _row_table(meets(ending_tiles(terrain)), pieces)[:3],
        heap.CARRY: _row_table(any_overlapped(np.isin(material, CARRYING), pieces), pieces)[:3],
        heap.CEILING: _row_table(any_overlapped(np.isin(material, BLOCKING), pieces), pieces)[:3],
        heap.SPRING: _row_table(greatest_overlapped(springs, pieces), pieces),
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
