"""One plan on trial: some of its combinations flown, then, where they promise enough, all of a part of them."""

from typing import NamedTuple

import numpy as np

from reach.kernels.boxes import cube_over, grow, pad, sampled_bound
from reach.kernels.compiling import compiled, inlined
from reach.kernels.plan_axes import HIGH, LOW, axis_size, cells_of, copy_axes, cut, open_ends, padding, write_ticks
from reach.kernels.plan_grid import fill_grid
from reach.kernels.plan_tick import PASSES
from reach.kernels.plans import WALK, PlanTicks, Source, fill_walks

SAMPLES = 1600
"""About so many combinations of a plan are flown before it is known whether it is worth more."""

WHOLE = 40_000
"""A part of a grid with so many combinations is flown completely at once."""

LACKS = -1
"""There was not room enough: `Room.lack` says for what."""

PART = 3
SAMPLED = 6
TRIAL_ROWS = 9
"""A trial is an int64 [9, 4] array: the axes of its plan, from row PART on those of the part that promises most, and
from row SAMPLED on those that are being sampled.
"""


class Room(NamedTuple):
    """Room for one plan after another.

    `run_ups` int64 [ticks, 13] for a run-up, `trunk` and `branch` int64 [ticks, 5] for flights, `inputs` int64 [ticks,
    4] and `bodies` int64 [ticks + 1, 13] for a walk, all as long as they may be. `ticks` int64 [3, n] for those of the
    axes, `ends` int64 [n]; `worths` uint8, `spots` int64, `wide` uint8, `sizes` and `sums` int64, all [cells], for
    grids of combinations; `box` int64 [2, 3]. `lack` int64 [2] tells how long an axis and how large a grid was for
    which there was no room, `flown` int64 [1] counts the combinations that are flown.
    """

    run_ups: np.ndarray
    trunk: np.ndarray
    branch: np.ndarray
    inputs: np.ndarray
    bodies: np.ndarray
    ticks: np.ndarray
    ends: np.ndarray
    worths: np.ndarray
    spots: np.ndarray
    wide: np.ndarray
    sizes: np.ndarray
    sums: np.ndarray
    box: np.ndarray
    lack: np.ndarray
    flown: np.ndarray


class OnTrial(NamedTuple):
    """A plan, its source, and the last tick of its run-up (which is in `Room.run_ups`) that allows the press."""

    plan: PlanTicks
    source: Source
    last: int


class Wish(NamedTuple):
    """What a search wants: windows of `cap` ticks at most in which everything is worth `least`, by so many `samples`.

    A plan whose samples allow a window of `at_once` is flown completely without looking at others first; at `enough`
    the search ends.
    """

    cap: int
    least: int
    samples: int
    at_once: int
    enough: int


@inlined
def step_length(cells, samples, twice, size):
    """Ticks from sample to sample along an axis of some size, so that about so many samples are spread over all cells.

    The least n that is not under the cube root of cells / samples, times 1/2 (`twice` 0) or 7/5.
    """
    spread = max(cells, samples)
    n = 1
    if twice == 0:
        while 8 * n * n * n * samples < spread:
            n += 1
    else:
        while 125 * n * n * n * samples < 343 * spread:
            n += 1
    return min(n, max(1, size // 3))


@inlined
def choose_ticks(axes, steps, room):
    """Write every so-manieth tick of the axes; returns the grid's shape, whose first length is LACKS without room."""
    size = max(axis_size(axes[0]), axis_size(axes[1]), axis_size(axes[2]))
    if size > room.ticks.shape[1]:
        room.lack[0] = size
        return np.int64(LACKS), size, size
    a = np.int64(write_ticks(room.ticks[0], axes[0], steps[0]))
    b = np.int64(write_ticks(room.ticks[1], axes[1], steps[1]))
    c = np.int64(write_ticks(room.ticks[2], axes[2], steps[2]))
    if a * b * c > room.worths.shape[0]:
        room.lack[1] = a * b * c
        return np.int64(LACKS), b, c
    return a, b, c


@compiled
def fly_ticks(presses, holds, steers, on_trial, scene, room, worths, spots):
    """Fly the combinations of some ticks; returns the longest flight. Approximation: exact.

    `worths` uint8 and `spots` int64, as long as there are combinations at least, receive what each is worth and where
    it lands; a walk's presses and holds are not used.
    """
    room.flown[0] += presses.shape[0] * holds.shape[0] * steers.shape[0]
    if on_trial.plan.action == WALK:
        return fill_walks(worths, spots, room.inputs, room.bodies, on_trial.plan, steers, on_trial.source, scene)
    return fill_grid(
        worths,
        spots,
        room.run_ups,
        on_trial.last,
        room.ends,
        room.trunk,
        room.branch,
        on_trial.plan,
        presses,
        holds,
        steers,
        scene,
    )


@compiled
def fly_chosen(shape, on_trial, scene, room):
    """Fly the combinations of the ticks in `room.ticks` into `room.worths` and `room.spots`; returns the longest one.

    Approximation: exact.
    """
    a, b, c = shape
    ticks = room.ticks
    return fly_ticks(ticks[0, :a], ticks[1, :b], ticks[2, :c], on_trial, scene, room, room.worths, room.spots)


@compiled
def widen(axes, shape, least, over, room):
    """Write the grid of successes, padded so that open ends hold so many more ticks, into `room.wide`.

    Returns the padded grid's shape, its first length LACKS where there was no room, and the padding before it.
    """
    first = padding(axes[0], over[0])
    second = padding(axes[1], over[1])
    third = padding(axes[2], over[2])
    lows = (first[0], second[0], third[0])
    a = shape[0] + first[0] + first[1]
    b = shape[1] + second[0] + second[1]
    c = shape[2] + third[0] + third[1]
    if (a + 1) * (b + 1) * (c + 1) > room.sums.shape[0]:
        room.lack[1] = (a + 1) * (b + 1) * (c + 1)
        return (np.int64(LACKS), b, c), lows
    return pad(room.worths, shape, least, room.wide, lows, (first[1], second[1], third[1])), lows


@compiled
def find_hits(shape, least, room):
    """Write the first and last cells of all that is worth at least so much into `room.box`; returns the greatest worth.

    Where nothing is, the last cells are -1.
    """
    a, b, c = shape
    box = room.box
    box[0] = max(a, b, c)
    box[1] = -1
    most = 0
    for i in range(a):
        for j in range(b):
            row = room.worths[(i * b + j) * c : (i * b + j + 1) * c]
            low = c
            high = -1
            for k in range(c):
                worth = int(row[k])
                most = max(most, worth)
                if worth >= least:
                    low = min(low, k)
                    high = k
            if high >= 0:
                box[0, 0] = min(box[0, 0], i)
                box[1, 0] = i
                box[0, 1] = min(box[0, 1], j)
                box[1, 1] = max(box[1, 1], j)
                box[0, 2] = min(box[0, 2], low)
                box[1, 2] = max(box[1, 2], high)
    return most


@compiled
def sample(trial, first_row, on_trial, known, samples, wish, scene, room):
    """The most that a plan's window can be, by flying every so-manieth combination; 0 where that is not over `known`.

    The press, which mostly leaves the least, is sampled most densely. Closes ends of the trial's axes from row
    `first_row` on and writes its part: around all samples that succeed, or their largest box.

    Returns
    -------
    bound, passes : int64, bool
        The bound, or LACKS; whether some combination at least passes.
    """
    axes = trial[SAMPLED:]
    copy_axes(trial[first_row:], axes)
    part = trial[PART:SAMPLED]
    cells = cells_of(axes)
    steps = (
        step_length(cells, samples, 0, axis_size(axes[0])),
        step_length(cells, samples, 1, axis_size(axes[1])),
        step_length(cells, samples, 1, axis_size(axes[2])),
    )
    shape = choose_ticks(axes, steps, room)
    if shape[0] == LACKS:
        return LACKS, False
    longest = fly_chosen(shape, on_trial, scene, room)
    open_ends(axes, longest)
    copy_axes(axes, trial[first_row:])
    passes = find_hits(shape, wish.least, room) >= PASSES
    if room.box[1, 0] < 0:
        return 0, passes
    cap = wish.cap
    over = ((cap + steps[0] - 1) // steps[0], (cap + steps[1] - 1) // steps[1], (cap + steps[2] - 1) // steps[2])
    wide, lows = widen(axes, shape, wish.least, over, room)
    if wide[0] == LACKS:
        return LACKS, passes
    bound, i, j, k = sampled_bound(room.wide, wide, steps, cap, known, room.sums)
    if bound == 0:
        return 0, passes
    if cells > WHOLE:
        cut_part(axes, part, steps, shape, room)
        if cells_of(part) > WHOLE:
            corner = (i, j, k)
            for axis in range(3):
                room.box[0, axis] = corner[axis]
                room.box[1, axis] = corner[axis] + max(1, bound // steps[axis]) - 1
            grow(room.wide, wide, room.box)
            cut_near(axes, part, steps, shape, lows, cap, room)
    else:
        copy_axes(axes, part)
    return bound, passes


@compiled
def cut_part(axes, part, steps, shape, room):
    """Write the part of the axes around all samples that succeed, from the first to the last in `room.box`."""
    for axis in range(3):
        low = room.ticks[axis, room.box[0, axis]] - steps[axis] + 1
        high = room.ticks[axis, room.box[1, axis]] + steps[axis] - 1
        cut(axes[axis], part[axis], low, high)


@compiled
def cut_near(axes, part, steps, shape, lows, cap, room):
    """Write the part of the axes around the box in `room.box`, whose cells are those of the padded samples."""
    for axis in range(3):
        last = shape[axis] - 1
        low = room.ticks[axis, min(max(room.box[0, axis] - lows[axis], 0), last)]
        high = room.ticks[axis, min(max(room.box[1, axis] - lows[axis], 0), last)]
        spare = max(0, high - low - cap) // 2
        cut(axes[axis], part[axis], low + spare - steps[axis], high - spare + steps[axis])


@compiled
def complete(result, trial, bound, on_trial, known, wish, scene, room):
    """The window of a trial's part, all of it flown, where it is larger than `known`; else 0. LACKS without room.

    Writes into `result`, int64 [5, 4], its middle's ticks, its first ones, and from row 2 on the plan's axes.
    """
    part = trial[PART:SAMPLED]
    if bound > known and cells_of(part) > 2 * SAMPLES:
        bound, _ = sample(trial, np.int64(PART), on_trial, known, np.int64(SAMPLES), wish, scene, room)
        if bound == LACKS:
            return LACKS
    if bound <= known:
        return 0
    every = np.int64(1)
    shape = choose_ticks(part, (every, every, every), room)
    if shape[0] == LACKS:
        return LACKS
    longest = fly_chosen(shape, on_trial, scene, room)
    open_ends(part, longest)
    wide, lows = widen(part, shape, wish.least, (wish.cap, wish.cap, wish.cap), room)
    if wide[0] == LACKS:
        return LACKS
    size, i, j, k = cube_over(room.wide, wide, wish.cap, known, room.sizes, room.sums)
    if size == 0:
        return 0
    corner = (i, j, k)
    for axis in range(3):
        room.box[0, axis] = corner[axis]
        room.box[1, axis] = corner[axis] + size - 1
    grow(room.wide, wide, room.box)
    for axis in range(3):
        shift = part[axis, LOW] - lows[axis]
        begin = room.box[0, axis] + shift
        end = room.box[1, axis] + shift
        middle = min(max((begin + end) // 2, part[axis, LOW]), part[axis, HIGH])
        result[0, axis] = middle
        result[1, axis] = min(max(middle - (size - 1) // 2, begin), end - size + 1)
    copy_axes(trial, result[2:])
    open_ends(result[2:], longest)
    return size
