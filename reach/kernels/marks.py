"""What an exploration has found: monotone marks, so setting one twice, or in a job that is done again, changes nothing.

`carried` is uint8 [rows, columns]. `cover` is uint8 [cell rows, columns * CELLS]: bit 1 where a body's top cell is and
it meets the least number of cell rows, bit 2 where it meets one more; its first `marks[COVER_ABOVE]` rows lie above
the map.
"""

from reach.kernels.heap import (
    AIM,
    AIM_BOTTOM,
    AIM_LEFT,
    AIM_PLACE,
    AIM_RIGHT,
    AIM_TOP,
    AIM_WIDTH,
    AIMS,
    BODY_H,
    BODY_W,
    BOX_BOTTOM,
    BOX_LEFT,
    BOX_RIGHT,
    BOX_TOP,
    CELLS,
    COLUMNS,
    COVER_ABOVE,
    K_MISS,
    K_TOUCHED,
    MISS_FOOTHOLD,
    MISS_TO_X,
    MISS_TO_Y,
    MISS_WIDTH,
    MISS_X,
    MISS_Y,
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
    first = max(x0 // cell, 0)
    last = min((x1 + w[BODY_W] - 1) // cell, cover.shape[1] - 1)
    marks[BOX_TOP] = min(marks[BOX_TOP], at)
    marks[BOX_BOTTOM] = max(marks[BOX_BOTTOM], at)
    marks[BOX_LEFT] = min(marks[BOX_LEFT], first)
    marks[BOX_RIGHT] = max(marks[BOX_RIGHT], last)
    for c in range(first, last + 1):
        cover[at, c] |= bit


@kernel
def mark_carried(w, carried, row, x0, x1) -> None:
    """Mark the columns of a row under a body anywhere on [x0, x1]."""
    last = min((x1 + w[BODY_W] - 1) // w[TILE], w[COLUMNS] - 1)
    for c in range(max(x0 // w[TILE], 0), last + 1):
        carried[row, c] = 1


@kernel
def measure_misses(w, marks, y, x0, x1, node) -> None:
    """Keep the least distance from a body at y, anywhere on [x0, x1], to an aim of each place not touched yet."""
    for q in range(w[AIMS]):
        a = w[AIM] + q * AIM_WIDTH
        i = w[a + AIM_PLACE]
        if marks[marks[K_TOUCHED] + i]:
            continue
        m = marks[K_MISS] + i * MISS_WIDTH
        to_y = min(max(y, w[a + AIM_TOP]), w[a + AIM_BOTTOM])
        up = abs(to_y - y)
        least_across = abs(marks[m + MISS_TO_X] - marks[m + MISS_X])
        least_up = abs(marks[m + MISS_TO_Y] - marks[m + MISS_Y])
        if marks[m] and up >= least_across + least_up:
            continue
        x = min(max(x0, w[a + AIM_LEFT]), x1)
        to_x = min(max(x, w[a + AIM_LEFT]), w[a + AIM_RIGHT])
        across = abs(to_x - x)
        d = float(across) * float(across) + float(up) * float(up)
        least = float(least_across) * float(least_across) + float(least_up) * float(least_up)
        if not marks[m] or d < least:
            marks[m] = 1
            marks[m + MISS_X] = x
            marks[m + MISS_Y] = y
            marks[m + MISS_TO_X] = to_x
            marks[m + MISS_TO_Y] = to_y
            marks[m + MISS_FOOTHOLD] = node
