"""What an exploration has found: monotone marks, so setting one twice, or in a job that is done again, changes nothing.

`carried` is uint8 [rows, columns]. `cover` is uint8 [cell rows, columns * CELLS]: bit 1 where a body's top cell is and
it meets the least number of cell rows, bit 2 where it meets one more; its first `marks[COVER_ABOVE]` rows lie above
the map.
"""

from reach.kernels.heap import (
    BODY_H,
    BODY_W,
    CELLS,
    COLUMNS,
    COVER_ABOVE,
    K_MISS,
    K_TOUCHED,
    MISS_WIDTH,
    PLACE,
    PLACE_COLUMN,
    PLACE_INDEX,
    PLACE_ROW,
    PLACE_WIDTH,
    PLACES,
    TILE,
)
from reach.kernels.typed import kernel


@kernel
def mark_cover(w, marks, cover, y, x0, x1) -> None:
    """Mark the cells that a body at y covers somewhere on [x0, x1]."""
    cell = w[TILE] // CELLS
    top = y // cell
    at = top + marks[COVER_ABOVE]
    if at < 0 or at >= cover.shape[0]:
        return
    count = (y + w[BODY_H] - 1) // cell - top + 1
    bit = 1 if count == (w[BODY_H] - 1) // cell + 1 else 2
    last = min((x1 + w[BODY_W] - 1) // cell, cover.shape[1] - 1)
    for c in range(max(x0 // cell, 0), last + 1):
        cover[at, c] |= bit


@kernel
def mark_carried(w, carried, row, x0, x1) -> None:
    """Mark the columns of a row under a body anywhere on [x0, x1]."""
    last = min((x1 + w[BODY_W] - 1) // w[TILE], w[COLUMNS] - 1)
    for c in range(max(x0 // w[TILE], 0), last + 1):
        carried[row, c] = 1


@kernel
def measure_misses(w, marks, y, x0, x1, node) -> None:
    """Keep the least distance between a body at y, anywhere on [x0, x1], and each place not touched yet."""
    tile = w[TILE]
    for q in range(w[PLACES]):
        p = w[PLACE] + q * PLACE_WIDTH
        i = w[p + PLACE_INDEX]
        if marks[marks[K_TOUCHED] + i]:
            continue
        m = marks[K_MISS] + i * MISS_WIDTH
        top = w[p + PLACE_ROW] * tile
        up = max(0, top - (y + w[BODY_H]), y - (top + tile))
        if marks[m] and up >= marks[m + 2] and up >= marks[m + 1] + marks[m + 2]:
            continue
        left = w[p + PLACE_COLUMN] * tile
        across = max(0, left - (x1 + w[BODY_W]), x0 - (left + tile))
        d = float(across) * float(across) + float(up) * float(up)
        if not marks[m] or d < float(marks[m + 1]) * float(marks[m + 1]) + float(marks[m + 2]) * float(marks[m + 2]):
            marks[m] = 1
            marks[m + 1] = across
            marks[m + 2] = up
            marks[m + 3] = node
