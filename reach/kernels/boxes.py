"""Largest boxes of ones in a three-dimensional grid of successes."""

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
    size = np.zeros(tuple(cells + 1 for cells in grid.shape), np.int64)
    found: tuple[int, int, int, int] = _largest_cube(grid, cap, size, np.zeros(size.shape, np.int64))
    return found


@compiled
def _largest_cube(grid, cap, size, sums):
    """As `largest_cube`; `size` and `sums` are room for a number at every corner of a cell, zeros."""
    a, b, c = grid.shape
    best = 0
    for i in range(1, a + 1):
        for j in range(1, b + 1):
            for k in range(1, c + 1):
                one = grid[i - 1, j - 1, k - 1]
                sums[i, j, k] = (
                    one
                    + sums[i - 1, j, k]
                    + sums[i, j - 1, k]
                    + sums[i, j, k - 1]
                    - sums[i - 1, j - 1, k]
                    - sums[i - 1, j, k - 1]
                    - sums[i, j - 1, k - 1]
                    + sums[i - 1, j - 1, k - 1]
                )
                if one != 0:
                    least = min(
                        size[i - 1, j, k],
                        size[i, j - 1, k],
                        size[i, j, k - 1],
                        size[i - 1, j - 1, k],
                        size[i - 1, j, k - 1],
                        size[i, j - 1, k - 1],
                        size[i - 1, j - 1, k - 1],
                    )
                    size[i, j, k] = min(least + 1, cap)
                    best = max(best, size[i, j, k])
    most = -1
    first = (0, 0, 0)
    if best > 0:
        for i in range(best, a + 1):
            for j in range(best, b + 1):
                for k in range(best, c + 1):
                    if size[i, j, k] == best:
                        around = box_sum(
                            sums,
                            max(0, i - best - 3),
                            max(0, j - best - 3),
                            max(0, k - best - 3),
                            min(a, i + 3),
                            min(b, j + 3),
                            min(c, k + 3),
                        )
                        if around > most:
                            most = around
                            first = (i - best, j - best, k - best)
    return best, first[0], first[1], first[2]


@inlined
def box_sum(sums, i, j, k, i_end, j_end, k_end):
    """Ones in the box from (i, j, k) up to but without (i_end, j_end, k_end), from running sums."""
    return (
        sums[i_end, j_end, k_end]
        - sums[i, j_end, k_end]
        - sums[i_end, j, k_end]
        - sums[i_end, j_end, k]
        + sums[i, j, k_end]
        + sums[i, j_end, k]
        + sums[i_end, j, k]
        - sums[i, j, k]
    )


def sampled_bound(grid: np.ndarray, strides: np.ndarray, cap: int) -> tuple[int, int, int, int]:
    """How large a cube can be at most in a grid of which only every so-manieth cell was tried.

    A cube of w cells holds a box of floor(w / stride) samples along each axis, and they are all ones.

    Parameters
    ----------
    grid : uint8 [a, b, c]
        0 or 1 at the samples.
    strides : int64 [3]
        Cells from sample to sample.
    cap : int

    Returns
    -------
    w, i, j, k : int64
        The bound, at most cap, and the first sample of a box of ones that allows it; 0 and zeros where there is no
        one at all (a cube may then still hide between the samples, of less than the greatest stride).
        Approximation: over, but for that case.
    """
    sums = np.zeros(tuple(cells + 1 for cells in grid.shape), np.int64)
    bound: tuple[int, int, int, int] = _sampled_bound(grid, strides, cap, sums)
    return bound


@compiled
def _sampled_bound(grid, strides, cap, sums):
    """As `sampled_bound`; `sums` is room for a number at every corner of a cell, zeros."""
    a, b, c = grid.shape
    for i in range(1, a + 1):
        for j in range(1, b + 1):
            for k in range(1, c + 1):
                sums[i, j, k] = (
                    np.int64(grid[i - 1, j - 1, k - 1])
                    + sums[i - 1, j, k]
                    + sums[i, j - 1, k]
                    + sums[i, j, k - 1]
                    - sums[i - 1, j - 1, k]
                    - sums[i - 1, j, k - 1]
                    - sums[i, j - 1, k - 1]
                    + sums[i - 1, j - 1, k - 1]
                )
    tried = (0, 0, 0)
    for w in range(cap, 0, -1):
        wide = max(1, w // strides[0])
        high = max(1, w // strides[1])
        deep = max(1, w // strides[2])
        if tried == (wide, high, deep):
            continue
        tried = (wide, high, deep)
        volume = wide * high * deep
        for i in range(a - wide + 1):
            for j in range(b - high + 1):
                for k in range(c - deep + 1):
                    if box_sum(sums, i, j, k, i + wide, j + high, k + deep) == volume:
                        return w, i, j, k
    return 0, 0, 0, 0


def padded(grid: np.ndarray, pads: list[tuple[int, int]]) -> np.ndarray:
    """A grid whose first and last cells along each axis are repeated so many times.

    Parameters
    ----------
    grid : uint8 [a, b, c]
    pads : three pairs of int

    Returns
    -------
    uint8 [a', b', c']
        Approximation: exact.
    """
    if not any(map(any, pads)):
        return grid
    wide = np.empty([cells + sum(pad) for cells, pad in zip(grid.shape, pads, strict=True)], np.uint8)
    _fill_padded(grid, wide, pads[0][0], pads[1][0], pads[2][0])
    return wide


@compiled
def _fill_padded(grid, wide, above, before, left):
    """Write what `padded` returns into `wide`."""
    a, b, c = grid.shape
    for i in range(wide.shape[0]):
        for j in range(wide.shape[1]):
            row = grid[min(max(i - above, 0), a - 1), min(max(j - before, 0), b - 1)]
            for k in range(wide.shape[2]):
                wide[i, j, k] = row[min(max(k - left, 0), c - 1)]


def grown(grid: np.ndarray, first: list[int], last: list[int]) -> tuple[list[int], list[int]]:
    """The first and last cells of a box of ones, grown side by side as far as it goes.

    Parameters
    ----------
    grid : uint8 [a, b, c]
        0 or 1.
    first, last : three int
        Cells of a box of ones.

    Returns
    -------
    three int, three int
        Approximation: exact.
    """
    box = np.array([first, last], np.int64)
    _grow(grid, box)
    low, high = box.tolist()
    return low, high


@compiled
def _grow(grid, box):
    """Do what `grown` does to the first and last cells in `box`, int64 [2, 3]."""
    growing = True
    while growing:
        growing = False
        for axis in range(3):
            for end in range(2):
                side = box[0, axis] - 1 if end == 0 else box[1, axis] + 1
                if 0 <= side < grid.shape[axis] and is_full_slab(grid, box, axis, side):
                    box[end, axis] = side
                    growing = True


@inlined
def is_full_slab(grid, box, axis, side):
    """True where the cells beside a box, at `side` along an axis, are all ones. Approximation: exact."""
    for i in range(side if axis == 0 else box[0, 0], (side if axis == 0 else box[1, 0]) + 1):
        for j in range(side if axis == 1 else box[0, 1], (side if axis == 1 else box[1, 1]) + 1):
            for k in range(side if axis == 2 else box[0, 2], (side if axis == 2 else box[1, 2]) + 1):
                if grid[i, j, k] == 0:
                    return False
    return True


@compiled
def natural_ticks(motion, launch, drop):
    """Upper bounds for a flight that meets nothing: ticks until the button is no longer held, ticks until too low.

    Parameters
    ----------
    motion : Motion
    launch : int
        Speed of a spring's launch; -1 for a jump, in any of its bands.
    drop : int
        How far down the flight may go from its start, spx (negative: the goal lies higher).

    Returns
    -------
    hold, flight : int64
        From a hold of `hold` ticks on, holding longer changes nothing. A flight that keeps clear of everything is lower
        than `drop`, falling, after `flight` ticks at most.
    """
    hold = 1
    flight = 1
    for band in range(motion.jump_from.shape[0]):
        for held in range(2):
            vy = -motion.jump_launch[band] if launch < 0 else -launch
            y = vy
            ticks = 1
            while vy < 0 or y <= drop:
                up = held == 1 and launch < 0 and vy < 0
                vy = min(vy + (motion.jump_gravity_held[band] if up else motion.jump_gravity[band]), motion.terminal)
                y += vy
                ticks += 1
                if up:
                    hold = max(hold, ticks)
            flight = max(flight, ticks)
    return hold + 1, flight + 1
