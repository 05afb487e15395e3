"""The search for the plan with the largest window: sample many plans, fly the promising ones completely."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from reach.kernels.boxes import grown, largest_cube, padded, sampled_bound
from reach.kernels.plan_tick import PASSES, SUCCEEDS
from reach.kernels.plans import DROP, JUMP, PlanTicks
from reach.reachability.plan_task import Axis, Task, close_plans, facings, starting_plans
from reach.timing import tick_weights

SAMPLES = 1600
"""About so many combinations of a plan are flown before it is known whether it is worth more."""

CLOSER_SAMPLES = 8 * SAMPLES
"""As many where no plan succeeded at first."""

SAMPLE_STEPS = (0.5, 1.4, 1.4)
"""How far apart samples are along the press, hold and steer axes, in proportion."""

WHOLE = 40_000
"""A part of a grid with so many combinations is flown completely at once."""

COMFORTABLE = 3
"""A window of the cap divided by this is large enough to stop looking for better plans, if it is all that is wanted."""

COMPLETED = 3
"""So many plans of a group are flown completely, the most promising ones."""

SPREADS = 4.5
"""A chance counts errors up to so many spreads; the rest, under 0.001 %, counts as failing."""

MOST_AIM_MOVES = 6
"""The aim is moved to the best one near it at most so many times,"""

LEAST_GAIN = 0.002
"""and no further where that gains less."""

CHANCE_TICKS = 40
"""A chance is summed over about so many ticks along each axis; where a spread spans more, over every so-manieth."""


@dataclass(frozen=True, eq=False)
class Found:
    """The best window found: the plan at the middle of its box, the box's first ticks, and what counts as success."""

    plan: PlanTicks
    window_ticks: int
    low: tuple[int, int, int]
    axes: tuple[Axis, Axis, Axis]
    least_worth: int


@dataclass(frozen=True, eq=False)
class _Trial:
    """A plan of which some combinations have been flown. `bound` limits its window, `part` is where that would be."""

    plan: PlanTicks
    axes: tuple[Axis, Axis, Axis]
    bound: int
    part: tuple[Axis, Axis, Axis]
    passes: bool


def find_window(task: Task, extra_x: tuple[int, ...], cap: int, wanted: int = 0) -> Found | None:
    """Return the largest window among the plans tried; None where none of them succeeds.

    Plans are tried in groups, the simplest first, until one has a comfortable window: a third of the cap, and what is
    wanted. Where the best has less than is wanted, plans are tried from spots close to each other: a few px of run-up
    can decide on a tick. Where no plan comes to rest on the target, landing on it counts as success.

    Parameters
    ----------
    task : Task
    extra_x : tuple of int
        More spots to start from, spx.
    cap : int
        Largest window measured, ticks.
    wanted : int
        The window that is large enough not to look closer, ticks.
    """
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


def beside(task: Task, plan: PlanTicks) -> list[PlanTicks]:
    """Return plans like one that leaves little: started a little sooner or later, or steering a little later."""
    motion = task.scene.motion
    stride = motion.run_cap if plan.run else motion.walk_cap
    shifts = (-stride // 2, -stride // 4, stride // 4, stride // 2, -8 * stride, 8 * stride)
    spots = dict.fromkeys(min(max(plan.x + shift, task.ground.left), task.ground.right) for shift in shifts)
    plans = [plan._replace(x=x) for x in spots if x != plan.x]
    return plans + [plan._replace(steer_from=ticks) for ticks in (3, 8) if task.action in (JUMP, DROP)]


def has_window(task: Task, plans: list[PlanTicks], wanted: int) -> bool:
    """Tell whether one of a few plans (their ticks do not matter) has a window of so many ticks, all of it flown."""
    for plan in plans:
        trial = _sample(task, plan, SUCCEEDS, wanted)
        found = _complete(task, trial, SUCCEEDS, wanted, wanted - 1)
        if found is not None and found.window_ticks >= wanted:
            return True
    return False


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
    axes = task.axes(plan) if axes is None else axes
    cells = _cells(axes)
    stride = max(1.0, (cells / samples) ** (1 / 3))
    values = []
    strides = []
    for axis, factor in zip(axes, SAMPLE_STEPS, strict=True):
        step = min(max(1, math.ceil(factor * stride)), max(1, axis.size // 3))
        ticks = np.arange(axis.low, axis.high + 1, step, dtype=np.int64)
        values.append(np.append(ticks, axis.high) if ticks[-1] != axis.high else ticks)
        strides.append(step)
    worths, _, longest = task.worths(plan, *values)
    axes = _opened(axes, longest)
    ones = (worths >= least_worth).astype(np.uint8)
    pads = [axis.padding(-(-cap // step)) for axis, step in zip(axes, strides, strict=True)]
    bound, corner = 0, [0, 0, 0]
    if ones.any():
        bound, *corner = map(int, sampled_bound(padded(ones, pads), np.array(strides, np.int64), cap))
    part = axes
    if bound and cells > WHOLE:
        part = _part(axes, values, strides, pads, ones, bound, corner, cap)
    return _Trial(plan, axes, bound, part, bool((worths >= PASSES).any()))


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
    lows, highs = grown(padded(ones, pads), corner, last)
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
    worths, _, longest = task.worths(trial.plan, *_ticks(part))
    part = _opened(part, longest)
    pads = [axis.padding(cap) for axis in part]
    ones = padded((worths >= least_worth).astype(np.uint8), pads)
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


def landing_room_spx(task: Task, found: Found) -> int:
    """Return the distance between the first and last spot at which the plans of a window's box land, spx."""
    box = [
        _cut(axis, min(low, axis.high), max(low + found.window_ticks - 1, axis.low))
        for axis, low in zip(found.axes, found.low, strict=True)
    ]
    _, spots, _ = task.worths(found.plan, *_ticks(tuple(box)))
    return int(spots.max() - spots.min())


def best_chance(task: Task, found: Found, tick_ms: float, spread_ms: float) -> tuple[float, int]:
    """Return the chance that a try of a window's plan succeeds, aimed as well as can be, and the step of the sum,
    ticks.

    The sum, over all combinations of press, hold and steering ticks, of success times the probability that a player
    with this spread hits them; the three errors are independent. Aims are whole and half ticks around the middle of
    the box.
    """
    centre = (found.plan.press, found.plan.hold, found.plan.steer_until)
    return chance_around(
        lambda presses, holds, steers: task.worths(found.plan, presses, holds, steers)[0] >= found.least_worth,
        found.axes,
        centre,
        tick_ms,
        spread_ms,
    )


def chance_around(
    succeeds: Callable[[np.ndarray, np.ndarray, np.ndarray], np.ndarray],
    axes: Sequence[Axis],
    centre: Sequence[int],
    tick_ms: float,
    spread_ms: float,
) -> tuple[float, int]:
    """Return the best chance for aims near `centre`, and the step of the sum, ticks.

    `succeeds` tells for arrays of press, hold and steering ticks which of their combinations succeed.
    """
    reach = math.ceil(SPREADS * spread_ms / tick_ms)
    step = max(1, (2 * reach) // CHANCE_TICKS)
    best = 0.0
    middle = tuple(centre)
    for _ in range(MOST_AIM_MOVES):
        aims = [_aims(axis, at, reach, step) for axis, at in zip(axes, middle, strict=True)]
        ticks, weights = zip(
            *(_weights(axis, at, reach, step, tick_ms, spread_ms) for axis, at in zip(axes, aims, strict=True)),
            strict=True,
        )
        chances = np.asarray(succeeds(*ticks), dtype=np.float64)
        for axis, weight in enumerate(weights):
            chances = np.moveaxis(np.tensordot(weight, chances, axes=(1, axis)), 0, axis)
        at_best = np.unravel_index(int(chances.argmax()), chances.shape)
        gained = float(chances[at_best]) - best
        best = max(best, float(chances[at_best]))
        aimed = tuple(math.floor(axis_aims[i]) for axis_aims, i in zip(aims, at_best, strict=True))
        if gained < LEAST_GAIN or aimed == middle:
            break
        middle = aimed
    return best, step


def _aims(axis: Axis, middle: int, reach: int, step: int) -> list[float]:
    """Return aims around a tick, half a step apart; and one deep inside an open end that is near."""
    aims = [middle + step * half / 2 for half in range(-4, 5)]
    if axis.open_high and axis.high - middle <= reach:
        aims.append(axis.high + reach)
    if axis.open_low and middle - axis.low <= reach:
        aims.append(axis.low - reach)
    return aims


def _weights(
    axis: Axis, aims: list[float], reach: int, step: int, tick_ms: float, spread_ms: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return every `step`-th tick within reach of the aims, and for each aim the chances of the ticks it stands for."""
    low = max(axis.low, min(math.floor(min(aims)) - reach, axis.high))
    high = min(axis.high, max(math.ceil(max(aims)) + reach, axis.low))
    ticks = np.arange(low, high + 1, step, dtype=np.int64)
    ends = {"open_low": axis.open_low and low == axis.low, "open_high": axis.open_high and high == axis.high}
    stands_for = (ticks + (step - 1) / 2) / step
    rows = [tick_weights(stands_for, aim / step, step * tick_ms, spread_ms, **ends) for aim in aims]
    return ticks, np.array(rows)
