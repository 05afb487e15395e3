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
    for w in range(cap, 0, -1):
        wide = max(1, w // strides[0])
        high = max(1, w // strides[1])
        deep = max(1, w // strides[2])
        volume = wide * high * deep
        for i in range(a - wide + 1):
            for j in range(b - high + 1):
                for k in range(c - deep + 1):
                    if box_sum(sums, i, j, k, i + wide, j + high, k + deep) == volume:
                        return w, i, j, k
        if w < strides[0] and w < strides[1] and w < strides[2]:
            break
    return 0, 0, 0, 0


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
