"""Largest boxes of ones in a three-dimensional grid of successes.

Kernels take a grid as one row of cells, the last axis running fastest, and its shape; the room for numbers that they
work with has one at every corner of a cell.
"""

import math

import numpy as np

from reach.kernels.compiling import compiled, inlined


def largest_cube(grid: np.ndarray, cap: int) -> tuple[int, int, int, int]:
    """The largest w <= cap such that some w x w x w box holds ones alone, and the best of these boxes.

    By dynamic programming: the largest cube whose last corner is a given cell is one larger than the smallest of the
    cubes that end at the seven cells before it.

    Parameters
    ----------
    grid : uint8 [a, b, c]
        0 or 1.
    cap : int

    Returns
    -------
    w, i, j, k : int64
        The size and the first corner; of equal cubes the one with the most ones within 3 cells around it, then the
        first. Approximation: exact.
    """
    rooms = np.empty((2, math.prod(cells + 1 for cells in grid.shape)), np.int64)
    cells = np.ascontiguousarray(grid).reshape(-1)
    found: tuple[int, int, int, int] = cube_over(cells, grid.shape, cap, 0, rooms[0], rooms[1])
    return found


@compiled
def cube_over(grid, shape, cap, known, size, sums):
    """As `largest_cube`, but 0 and zeros where no cube is larger than `known`; `size` and `sums` are room."""
    a, b, c = shape
    right = c + 1
    down = (b + 1) * right
    size[: (a + 1) * down] = 0
    best = 0
    for i in range(1, a + 1):
        for j in range(1, b + 1):
            cell = ((i - 1) * b + j - 1) * c
            at = i * down + j * right
            for k in range(1, c + 1):
                if grid[cell + k - 1] != 0:
                    here = at + k
                    least = min(
                        size[here - down],
                        size[here - right],
                        size[here - 1],
                        size[here - down - right],
                        size[here - down - 1],
                        size[here - right - 1],
                        size[here - down - right - 1],
                    )
                    size[here] = min(least + 1, cap)
                    best = max(best, size[here])
    if best <= known:
        return 0, 0, 0, 0
    sum_up(grid, shape, sums)
    most = -1
    first = (0, 0, 0)
    for i in range(best, a + 1):
        for j in range(best, b + 1):
            for k in range(best, c + 1):
                if size[i * down + j * right + k] == best:
                    around = box_sum(
                        sums,
                        shape,
                        (max(0, i - best - 3), max(0, j - best - 3), max(0, k - best - 3)),
                        (min(a, i + 3), min(b, j + 3), min(c, k + 3)),
                    )
                    if around > most:
                        most = around
                        first = (i - best, j - best, k - best)
    return best, first[0], first[1], first[2]


@compiled
def sum_up(grid, shape, sums):
    """Write, at every corner of a cell, the number of ones in all cells before it."""
    a, b, c = shape
    right = c + 1
    down = (b + 1) * right
    sums[:down] = 0
    for i in range(1, a + 1):
        sums[i * down : i * down + right] = 0
        for j in range(1, b + 1):
            cell = ((i - 1) * b + j - 1) * c
            at = i * down + j * right
            sums[at] = 0
            row = 0
            for k in range(1, c + 1):
                row += int(grid[cell + k - 1])
                here = at + k
                sums[here] = row + sums[here - down] + sums[here - right] - sums[here - down - right]


@inlined
def box_sum(sums, shape, first, end):
    """Ones in the box from one cell up to but without another, from running sums."""
    right = shape[2] + 1
    down = (shape[1] + 1) * right
    upper = first[0] * down
    lower = end[0] * down
    near = first[1] * right
    far = end[1] * right
    return (
        sums[lower + far + end[2]]
        - sums[upper + far + end[2]]
        - sums[lower + near + end[2]]
        - sums[lower + far + first[2]]
        + sums[upper + near + end[2]]
        + sums[upper + far + first[2]]
        + sums[lower + near + first[2]]
        - sums[upper + near + first[2]]
    )


@compiled
def sampled_bound(grid, shape, strides, cap, known, sums):
    """How large a cube can be at most in a grid of which only every so-manieth cell was tried.

    A cube of w cells holds a box of floor(w / stride) samples along each axis, and they are all ones.

    Parameters
    ----------
    grid : uint8 [cells]
        0 or 1 at the samples.
    shape : (int64, int64, int64)
    strides : (int64, int64, int64)
        Cells from sample to sample.
    cap : int64
    known : int64
        No smaller bound is of interest.
    sums : int64 [corners]
        Room.

    Returns
    -------
    w, i, j, k : int64
        The bound, at most cap, and the first sample of a box of ones that allows it; 0 and zeros where it is not more
        than `known`, or where there is no one at all (a cube may then still hide between the samples, of less than the
        greatest stride). Approximation: over, but for that case.
    """
    a, b, c = shape
    sum_up(grid, shape, sums)
    ones = sums[(a + 1) * (b + 1) * (c + 1) - 1]
    none = np.int64(0)
    tried = (0, 0, 0)
    for w in range(cap, known, -1):
        wide = max(1, w // strides[0])
        high = max(1, w // strides[1])
        deep = max(1, w // strides[2])
        volume = wide * high * deep
        if tried == (wide, high, deep) or volume > ones:
            continue
        tried = (wide, high, deep)
        for i in range(a - wide + 1):
            # No box begins here where not even the whole slab holds enough.
            if box_sum(sums, shape, (i, none, none), (i + wide, b, c)) < volume:
                continue
            for j in range(b - high + 1):
                if box_sum(sums, shape, (i, j, none), (i + wide, j + high, c)) < volume:
                    continue
                for k in range(c - deep + 1):
                    if box_sum(sums, shape, (i, j, k), (i + wide, j + high, k + deep)) == volume:
                        return w, i, j, k
    return 0, 0, 0, 0


@compiled
def pad(worths, shape, least, wide, lows, highs):
    """Write a grid of ones where something is worth at least so much; returns its shape. Approximation: exact.

    Its first and last cells along each axis are repeated so many times.

    Parameters
    ----------
    worths : uint8 [cells]
    shape : (int64, int64, int64)
    least : int64
    wide : uint8 [cells]
        Room.
    lows, highs : (int64, int64, int64)
        How often the first and the last cell along each axis are repeated.
    """
    a, b, c = shape
    rows = a + lows[0] + highs[0]
    columns = b + lows[1] + highs[1]
    length = c + lows[2] + highs[2]
    for i in range(rows):
        for j in range(columns):
            begin = (min(max(i - lows[0], 0), a - 1) * b + min(max(j - lows[1], 0), b - 1)) * c
            at = (i * columns + j) * length
            for k in range(length):
                wide[at + k] = worths[begin + min(max(k - lows[2], 0), c - 1)] >= least
    return rows, columns, length


@compiled
def grow(grid, shape, box):
    """Grow a box of ones side by side as far as it goes. Approximation: exact.

    Parameters
    ----------
    grid : uint8 [cells]
        0 or 1.
    shape : (int64, int64, int64)
    box : int64 [2, 3]
        Its first and last cells; they are changed.
    """
    growing = True
    while growing:
        growing = False
        for axis in range(3):
            for end in range(2):
                side = box[0, axis] - 1 if end == 0 else box[1, axis] + 1
                if 0 <= side < shape[axis] and is_full_slab(grid, shape, box, axis, side):
                    box[end, axis] = side
                    growing = True


@inlined
def is_full_slab(grid, shape, box, axis, side):
    """True where the cells beside a box, at `side` along an axis, are all ones. Approximation: exact."""
    for i in range(side if axis == 0 else box[0, 0], (side if axis == 0 else box[1, 0]) + 1):
        for j in range(side if axis == 1 else box[0, 1], (side if axis == 1 else box[1, 1]) + 1):
            for k in range(side if axis == 2 else box[0, 2], (side if axis == 2 else box[1, 2]) + 1):
                if grid[(i * shape[1] + j) * shape[2] + k] == 0:
                    return False
    return True
