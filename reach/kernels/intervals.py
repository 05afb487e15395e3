"""Exact integer intervals of the body's left edge: where it is carried, blocked, hurt or at an ending place.

Every interval is closed, [first, last] in spx, and every list of them is an int64 array [n, 2] that ascends, disjoint
and never adjacent. A solid run of columns [a, b] is overlapped by a body of width W exactly for
``a*T - W + 1 <= x <= (b + 1)*T - 1``: contact is open, flush is none (motion model, section 1).
"""

import numpy as np

from reach.kernels.compiling import compiled
from reach.kernels.params import HAZARD, ONE_WAY, SOLID, SPRING, Motion, Terrain


@compiled()
def contact_intervals(marked: np.ndarray, tile: int, width: int) -> np.ndarray:
    """Intervals of x in which a body overlaps a marked column.

    Parameters
    ----------
    marked : bool [columns]
    tile, width : int
        Side of a tile and width of the body, spx.

    Returns
    -------
    int64 [n, 2]
        Merged intervals. Approximation: exact.
    """
    columns = marked.shape[0]
    out = np.empty((columns, 2), np.int64)
    count = 0
    column = 0
    while column < columns:
        if not marked[column]:
            column += 1
            continue
        first = column
        while column < columns and marked[column]:
            column += 1
        low = first * tile - width + 1
        high = column * tile - 1
        if count > 0 and low <= out[count - 1, 1] + 1:
            out[count - 1, 1] = high
        else:
            out[count, 0] = low
            out[count, 1] = high
            count += 1
    return out[:count].copy()


@compiled()
def intersect(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Intervals common to both lists. Approximation: exact."""
    out = np.empty((a.shape[0] + b.shape[0], 2), np.int64)
    count = 0
    i = 0
    j = 0
    while i < a.shape[0] and j < b.shape[0]:
        low = max(a[i, 0], b[j, 0])
        high = min(a[i, 1], b[j, 1])
        if low <= high:
            out[count, 0] = low
            out[count, 1] = high
            count += 1
        if a[i, 1] < b[j, 1]:
            i += 1
        else:
            j += 1
    return out[:count].copy()


@compiled()
def subtract(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Intervals of `a` without the points of `b`. Approximation: exact."""
    out = np.empty((a.shape[0] + b.shape[0], 2), np.int64)
    count = 0
    j = 0
    for i in range(a.shape[0]):
        low = a[i, 0]
        high = a[i, 1]
        while j < b.shape[0] and b[j, 1] < low:
            j += 1
        k = j
        while k < b.shape[0] and b[k, 0] <= high:
            if b[k, 0] > low:
                out[count, 0] = low
                out[count, 1] = b[k, 0] - 1
                count += 1
            low = max(low, b[k, 1] + 1)
            k += 1
        if low <= high:
            out[count, 0] = low
            out[count, 1] = high
            count += 1
    return out[:count].copy()


@compiled()
def blocked_columns(top_row: int, bottom_row: int, terrain: Terrain) -> np.ndarray:
    """bool [columns]: a tile of rows [top_row, bottom_row] blocks or hurts there; rows off the map hold nothing."""
    columns = terrain.material.shape[1]
    out = np.zeros(columns, np.bool_)
    for row in range(max(top_row, 0), min(bottom_row, terrain.material.shape[0] - 1) + 1):
        for column in range(columns):
            material = terrain.material[row, column]
            if material in (SOLID, SPRING, HAZARD):
                out[column] = True
    return out


@compiled()
def standing_intervals(row: int, motion: Motion, terrain: Terrain) -> np.ndarray:
    """Intervals of x in which a body with its feet line on the top of `row` overlaps no blocking tile and no hazard.

    The columns beside the map are solid at every height, so ``0 <= x <= columns*T - W`` always. Carried or not is not
    asked. Approximation: exact.
    """
    tile = terrain.tile
    width = motion.body_w
    whole = np.empty((1, 2), np.int64)
    whole[0, 0] = 0
    whole[0, 1] = terrain.material.shape[1] * tile - width
    if whole[0, 1] < 0:
        return whole[:0].copy()
    top_row = (row * tile - motion.body_h) // tile
    return subtract(whole, contact_intervals(blocked_columns(top_row, row - 1, terrain), tile, width))


@compiled()
def row_footholds(row: int, motion: Motion, terrain: Terrain) -> np.ndarray:
    """The footholds of one row, in order of their left ends.

    Returns
    -------
    int64 [n, 5]
        left and right end of the body's left edge (spx), 1 on springs, first and last carrying column a body on it can
        overlap. Spots at an ending place belong to none (nothing follows there). Approximation: exact.
    """
    tile = terrain.tile
    width = motion.body_w
    columns = terrain.material.shape[1]
    carries = np.zeros(columns, np.bool_)
    springs = np.zeros(columns, np.bool_)
    carried = False
    for column in range(columns):
        material = terrain.material[row, column]
        carries[column] = material in (SOLID, ONE_WAY, SPRING)
        springs[column] = material == SPRING
        carried = carried or carries[column]
    if not carried:
        return np.empty((0, 5), np.int64)
    ends = np.zeros(columns, np.bool_)
    top_row = (row * tile - motion.body_h) // tile
    for i in range(terrain.place_column.shape[0]):
        if terrain.place_ends[i] and top_row <= terrain.place_row[i] <= row - 1:
            ends[terrain.place_column[i]] = True
    on_spring = contact_intervals(springs, tile, width)
    free = intersect(standing_intervals(row, motion, terrain), contact_intervals(carries, tile, width))
    free = subtract(free, contact_intervals(ends, tile, width))
    ordinary = subtract(free, on_spring)
    bouncing = intersect(free, on_spring)
    out = np.empty((ordinary.shape[0] + bouncing.shape[0], 5), np.int64)
    i = 0
    j = 0
    for n in range(out.shape[0]):
        spring = i >= ordinary.shape[0] or (j < bouncing.shape[0] and bouncing[j, 0] < ordinary[i, 0])
        if spring:
            low = bouncing[j, 0]
            high = bouncing[j, 1]
            j += 1
        else:
            low = ordinary[i, 0]
            high = ordinary[i, 1]
            i += 1
        first = low // tile
        while not carries[first]:
            first += 1
        last = (high + width - 1) // tile
        while not carries[last]:
            last -= 1
        out[n, 0] = low
        out[n, 1] = high
        out[n, 2] = 1 if spring else 0
        out[n, 3] = first
        out[n, 4] = last
    return out


@compiled()
def foothold_table(motion: Motion, terrain: Terrain) -> np.ndarray:
    """All footholds by row, then left end: int64 [n, 6], the row and then the entries of `row_footholds`."""
    rows = terrain.material.shape[0]
    out = np.empty((16, 6), np.int64)
    count = 0
    for row in range(rows):
        found = row_footholds(row, motion, terrain)
        if count + found.shape[0] > out.shape[0]:
            larger = np.empty((2 * (count + found.shape[0]), 6), np.int64)
            larger[:count] = out[:count]
            out = larger
        for i in range(found.shape[0]):
            out[count, 0] = row
            out[count, 1:] = found[i]
            count += 1
    return out[:count].copy()


@compiled()
def standable_table(motion: Motion, terrain: Terrain) -> np.ndarray:
    """bool [rows, columns]: the tile carries and a body can be on it (motion model, section 2).

    Spots at an ending place count: the body is on the tile when the level ends. Approximation: exact.
    """
    rows, columns = terrain.material.shape
    tile = terrain.tile
    out = np.zeros((rows, columns), np.bool_)
    for row in range(rows):
        free = standing_intervals(row, motion, terrain)
        k = 0
        for column in range(columns):
            material = terrain.material[row, column]
            if material not in (SOLID, ONE_WAY, SPRING):
                continue
            low = column * tile - motion.body_w + 1
            high = (column + 1) * tile - 1
            while k < free.shape[0] and free[k, 1] < low:
                k += 1
            out[row, column] = k < free.shape[0] and free[k, 0] <= high
    return out
