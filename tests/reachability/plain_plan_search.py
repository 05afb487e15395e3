"""The search for the best plan once more, in plain Python: what the compiled one must agree with to the last tick.

The grids that it looks at are flown by the same kernel; `tests/kernels/test_plans.py` compares that with `step`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from reach.kernels.boxes import largest_cube
from reach.kernels.plan_axes import natural_ticks
from reach.kernels.plan_tick import PASSES, SUCCEEDS
from reach.kernels.plans import DROP, JUMP, SPRING, WALK, PlanTicks, run_up
from reach.reachability.plan_search import Found, beside
from reach.reachability.plan_task import Axis, Task, close_plans, facings, starting_plans
from tests.random_plans import flown

SAMPLES = 1600
CLOSER_SAMPLES = 12_800
SAMPLE_STEPS = (0.5, 1.4, 1.4)
WHOLE = 40_000
COMFORTABLE = 3
COMPLETED = 3
MOST_FLIGHT_TICKS = 4096
TICKS_AT_TOP_SPEED = 96
MOST_EARLY_TICKS = 8


@dataclass(frozen=True, eq=False)
class _Trial:
    """A plan of which some combinations have been flown. `bound` limits its window, `part` is where that would be."""

    plan: PlanTicks
    axes: tuple[Axis, Axis, Axis]
    bound: int
    part: tuple[Axis, Axis, Axis]
    passes: bool


def plan_axes(task: Task, plan: PlanTicks) -> tuple[Axis, Axis, Axis]:
    """The press, hold and steer axes on which a plan can be varied at all."""
    motion = task.scene.motion
    source = task.source(plan.x)
    hold, flight = natural_ticks(motion, source.launch, task.scene.goal.lowest - task.ground.y)
    accel, top = (motion.run_accel, motion.run_cap) if plan.run else (motion.walk_accel, motion.walk_cap)
    most_run_up = -(-top // accel) + TICKS_AT_TOP_SPEED
    if task.action == WALK:
        anywhere = Axis(0, 0, True, True)
        return anywhere, anywhere, Axis(1, most_run_up + flight, open_high=True)
    last = 0
    if task.action != SPRING:
        last = max(0, run_up(plan, source, task.scene, np.zeros((most_run_up + 1, 13), np.int64)))
    steers = Axis(1, min(flight + 1, MOST_FLIGHT_TICKS), open_high=True)
    holds = Axis(1, hold, open_high=True) if task.action == JUMP else Axis(1, 1, True, True)
    if plan.run and task.action != SPRING:
        return Axis(-MOST_EARLY_TICKS, last), holds, steers
    return Axis(-steers.high, last, open_low=True), holds, steers


def padding(axis: Axis, ticks: int) -> tuple[int, int]:
    """By how much to repeat the first and the last tick so that open ends hold so many more."""
    if axis.size == 1 and axis.open_low and axis.open_high:
        return 0, ticks
    return ticks if axis.open_low else 0, ticks if axis.open_high else 0


def sampled_bound(ones: np.ndarray, strides: list[int], cap: int) -> tuple[int, list[int]]:
    """The greatest w for which a box of floor(w / stride) samples along each axis holds ones alone, and its corner."""
    sums = np.zeros([cells + 1 for cells in ones.shape], np.int64)
    sums[1:, 1:, 1:] = ones.cumsum(0, dtype=np.int64).cumsum(1).cumsum(2)
    for w in range(cap, 0, -1):
        size = [max(1, w // stride) for stride in strides]
        if any(n > cells for n, cells in zip(size, ones.shape, strict=True)):
            continue
        boxes = sums
        for axis, n in enumerate(size):
            cells = boxes.shape[axis]
            boxes = np.take(boxes, range(n, cells), axis) - np.take(boxes, range(cells - n), axis)
        full = np.argwhere(boxes == math.prod(size))
        if len(full):
            return w, [int(n) for n in full[0]]
    return 0, [0, 0, 0]


def grown(ones: np.ndarray, first: list[int], last: list[int]) -> tuple[list[int], list[int]]:
    """The first and last cells of a box of ones, grown side by side as far as it goes."""
    ends = [list(first), list(last)]
    growing = True
    while growing:
        growing = False
        for axis, end in product(range(3), range(2)):
            side = ends[end][axis] + (1 if end else -1)
            slab = [slice(low, high + 1) for low, high in zip(*ends, strict=True)]
            slab[axis] = slice(side, side + 1)
            if 0 <= side < ones.shape[axis] and ones[tuple(slab)].all():
                ends[end][axis] = side
                growing = True
    return ends[0], ends[1]


def find_window(task: Task, extra_x: tuple[int, ...], cap: int, wanted: int = 0) -> Found | None:
    """As `reach.reachability.plan_search.find_window`."""
    comfortable = max(-(-cap // COMFORTABLE), wanted)
    toward, away = facings(task)
    plain = starting_plans(task, toward, extra_x)
    back = [plan._replace(end=-1) for plan in plain]
    best, passing = _search(task, plain, cap, None)
    if _size(best) < comfortable:
        best, more = _search(task, back, cap, best)
        passing += more
    if best is None and not passing:
        best, passing = _search(task, [*plain, *back], cap, None, CLOSER_SAMPLES)
    if best is None:
        turned = [plan._replace(end=end) for plan, end in product(starting_plans(task, away, extra_x), (-1, 0))]
        if task.action in (JUMP, DROP):
            turned += [plan._replace(steer_from=ticks) for plan, ticks in product(plain, (4, 10))]
        best, more = _search(task, turned, cap, None)
        passing += more
    elif best.window_ticks < comfortable:
        best, _ = _search(task, beside(task, best.plan), cap, best)
    if best is not None and best.window_ticks < wanted:
        best = _look_closer(task, best, cap, wanted)
    if best is None:
        best = _complete_best(task, [_sample(task, plan, PASSES, cap) for plan in passing], PASSES, cap, None)
    return best


def _search(
    task: Task, plans: list[PlanTicks], cap: int, best: Found | None, samples: int = SAMPLES
) -> tuple[Found | None, list[PlanTicks]]:
    """Return the best window of some plans and of `best`; and the plans that land on the target but never rest."""
    trials = []
    passing = []
    for plan in plans:
        trial = _sample(task, plan, SUCCEEDS, cap, samples=samples)
        if trial.bound >= cap:
            best = _better(best, _complete(task, trial, SUCCEEDS, cap, _size(best)))
            if best is not None and best.window_ticks >= cap:
                return best, []
        elif trial.bound:
            trials.append(trial)
        elif trial.passes:
            passing.append(plan)
    return _complete_best(task, trials, SUCCEEDS, cap, best), passing


def _look_closer(task: Task, best: Found, cap: int, wanted: int) -> Found | None:
    """Return the first window as large as wanted of plans that start on spots close to each other, or the best."""
    better: Found | None = best
    for plan in close_plans(task, best.plan, wanted):
        better = _better(better, _complete(task, _sample(task, plan, SUCCEEDS, cap), SUCCEEDS, cap, _size(better)))
        if _size(better) >= wanted:
            break
    return better


def _size(found: Found | None) -> int:
    return 0 if found is None else found.window_ticks


def _cells(axes: tuple[Axis, Axis, Axis]) -> int:
    return math.prod(axis.size for axis in axes)


def _better(one: Found | None, other: Found | None) -> Found | None:
    if one is None or (other is not None and other.window_ticks > one.window_ticks):
        return other
    return one


def _complete_best(task: Task, trials: list[_Trial], least_worth: int, cap: int, best: Found | None) -> Found | None:
    """Return the best window of the most promising trials and of `best`."""
    trials = sorted(trials, key=lambda trial: -trial.bound)
    for trial in trials[:COMPLETED]:
        best = _better(best, _complete(task, trial, least_worth, cap, _size(best)))
    return best


def _sample(
    task: Task,
    plan: PlanTicks,
    least_worth: int,
    cap: int,
    axes: tuple[Axis, Axis, Axis] | None = None,
    samples: int = SAMPLES,
) -> _Trial:
    """Fly every so-manieth combination of a plan; the press, which mostly leaves the least, is sampled most densely."""
    axes = plan_axes(task, plan) if axes is None else axes
    cells = _cells(axes)
    stride = max(1.0, (cells / samples) ** (1 / 3))
    values = []
    strides = []
    for axis, factor in zip(axes, SAMPLE_STEPS, strict=True):
        step = min(max(1, math.ceil(factor * stride)), max(1, axis.size // 3))
        ticks = np.arange(axis.low, axis.high + 1, step, dtype=np.int64)
        values.append(np.append(ticks, axis.high) if ticks[-1] != axis.high else ticks)
        strides.append(step)
    grid, _, longest = flown(task, plan, *values)
    axes = _opened(axes, longest)
    ones = (grid >= least_worth).astype(np.uint8)
    pads = [padding(axis, -(-cap // step)) for axis, step in zip(axes, strides, strict=True)]
    bound, corner = 0, [0, 0, 0]
    if ones.any():
        bound, corner = sampled_bound(np.pad(ones, pads, mode="edge"), strides, cap)
    part = axes
    if bound and cells > WHOLE:
        part = _part(axes, values, strides, pads, ones, bound, corner, cap)
    return _Trial(plan, axes, bound, part, bool((grid >= PASSES).any()))


def _opened(axes: tuple[Axis, Axis, Axis], longest: int) -> tuple[Axis, Axis, Axis]:
    """Close the ends of axes that some flight outlasts: beyond them something may change yet."""
    presses, holds, steers = axes
    steers = replace(steers, open_high=steers.open_high and steers.high > longest)
    return replace(presses, open_low=presses.open_low and (presses.low >= 0 or -presses.low > longest)), holds, steers


def _part(
    axes: tuple[Axis, Axis, Axis],
    values: list[np.ndarray],
    strides: list[int],
    pads: list[tuple[int, int]],
    ones: np.ndarray,
    bound: int,
    corner: list[int],
    cap: int,
) -> tuple[Axis, Axis, Axis]:
    """Return the part of the axes to fly completely: around all samples that succeed, or their largest box."""
    hits = np.argwhere(ones)
    around = []
    for axis, ticks, step, lows, highs in zip(axes, values, strides, hits.min(axis=0), hits.max(axis=0), strict=True):
        around.append(_cut(axis, int(ticks[lows]) - step + 1, int(ticks[highs]) + step - 1))
    wide = (around[0], around[1], around[2])
    if _cells(wide) <= WHOLE:
        return wide
    last = [first + max(1, bound // step) - 1 for first, step in zip(corner, strides, strict=True)]
    lows, highs = grown(np.pad(ones, pads, mode="edge"), corner, last)
    near = []
    for axis, ticks, step, pad, low, high in zip(axes, values, strides, pads, lows, highs, strict=True):
        low, high = (int(ticks[min(max(i - pad[0], 0), len(ticks) - 1)]) for i in (low, high))
        spare = max(0, high - low - cap) // 2
        near.append(_cut(axis, low + spare - step, high - spare + step))
    return near[0], near[1], near[2]


def _cut(axis: Axis, low: int, high: int) -> Axis:
    """Return a part of an axis, open only where it reaches the axis's own open end."""
    low, high = max(low, axis.low), min(high, axis.high)
    return Axis(low, high, axis.open_low and low == axis.low, axis.open_high and high == axis.high)


def _complete(task: Task, trial: _Trial, least_worth: int, cap: int, known: int) -> Found | None:
    """Fly every combination of a part of a plan's grid; return its largest window if it can be more than `known`."""
    if trial.bound > known and _cells(trial.part) > 2 * SAMPLES:
        trial = replace(_sample(task, trial.plan, least_worth, cap, trial.part), axes=trial.axes)
    if trial.bound <= known:
        return None
    part = trial.part
    grid, _, longest = flown(task, trial.plan, *_ticks(part))
    part = _opened(part, longest)
    pads = [padding(axis, cap) for axis in part]
    ones = np.pad((grid >= least_worth).astype(np.uint8), pads, mode="edge")
    size, *corner = map(int, largest_cube(ones, cap))
    if size == 0:
        return None
    low, high = grown(ones, corner, [first + size - 1 for first in corner])
    middle = []
    first = []
    for axis, pad, begin, end in zip(part, pads, low, high, strict=True):
        begin, end = begin - pad[0] + axis.low, end - pad[0] + axis.low
        middle.append(min(max((begin + end) // 2, axis.low), axis.high))
        first.append(min(max(middle[-1] - (size - 1) // 2, begin), end - size + 1))
    plan = trial.plan._replace(press=middle[0], hold=middle[1], steer_until=middle[2])
    return Found(plan, size, (first[0], first[1], first[2]), _opened(trial.axes, longest), least_worth)


def _ticks(axes: tuple[Axis, ...]) -> list[np.ndarray]:
    return [np.arange(axis.low, axis.high + 1, dtype=np.int64) for axis in axes]


def has_window(task: Task, plans: list[PlanTicks], wanted: int) -> bool:
    """As `reach.reachability.plan_search.has_window`."""
    for plan in plans:
        found = _complete(task, _sample(task, plan, SUCCEEDS, wanted), SUCCEEDS, wanted, wanted - 1)
        if found is not None and found.window_ticks >= wanted:
            return True
    return False
