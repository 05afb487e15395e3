"""The search for the plan with the largest window: sample many plans, fly the promising ones completely."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from reach.kernels.plan_tick import PASSES, SUCCEEDS
from reach.kernels.plan_trial import SAMPLES, Wish
from reach.kernels.plans import DROP, JUMP, PlanTicks
from reach.reachability.plan_task import Axis, Task, close_plans, facings, starting_plans
from reach.reachability.plan_trials import best_of, worths
from reach.timing import tick_weights

CLOSER_SAMPLES = 8 * SAMPLES
"""So many combinations of a plan are flown where no plan succeeded at first."""

COMFORTABLE = 3
"""A window of the cap divided by this is large enough to stop looking for better plans, if it is all that is wanted."""

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
        best, _ = _choose(task, passing, None, Wish(cap, PASSES, SAMPLES, at_once=cap + 1, enough=cap))
    return best


def _search(
    task: Task, plans: list[PlanTicks], cap: int, best: Found | None, samples: int = SAMPLES
) -> tuple[Found | None, list[PlanTicks]]:
    """Return the best window of some plans and of `best`; and, where there is none, the plans that land on the target
    but never rest.
    """
    return _choose(task, plans, best, Wish(cap, SUCCEEDS, samples, at_once=cap, enough=cap))


def _look_closer(task: Task, best: Found, cap: int, wanted: int) -> Found | None:
    """Return the first window as large as wanted of plans that start on spots close to each other, or the best."""
    plans = close_plans(task, best.plan, wanted)
    return _choose(task, plans, best, Wish(cap, SUCCEEDS, SAMPLES, at_once=1, enough=wanted))[0]


def _choose(task: Task, plans: list[PlanTicks], best: Found | None, wish: Wish) -> tuple[Found | None, list[PlanTicks]]:
    known = _size(best)
    size, result, passing = best_of(task, plans, known, wish)
    if size > known:
        index = int(result[0, 0])
        press, hold, steer_until, _ = map(int, result[1])
        axes = [Axis(int(row[0]), int(row[1]), bool(row[2]), bool(row[3])) for row in result[3:]]
        first, second, third, _ = map(int, result[2])
        plan = plans[index]._replace(press=press, hold=hold, steer_until=steer_until)
        best = Found(plan, size, (first, second, third), (axes[0], axes[1], axes[2]), wish.least)
    return best, [] if best is not None else [plan for plan, passes in zip(plans, passing, strict=True) if passes]


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
    return best_of(task, plans, wanted - 1, Wish(wanted, SUCCEEDS, SAMPLES, at_once=1, enough=wanted))[0] >= wanted


def _size(found: Found | None) -> int:
    return 0 if found is None else found.window_ticks


def _cut(axis: Axis, low: int, high: int) -> Axis:
    """Return a part of an axis, open only where it reaches the axis's own open end."""
    low, high = max(low, axis.low), min(high, axis.high)
    return Axis(low, high, axis.open_low and low == axis.low, axis.open_high and high == axis.high)


def _ticks(axes: tuple[Axis, ...]) -> list[np.ndarray]:
    return [np.arange(axis.low, axis.high + 1, dtype=np.int64) for axis in axes]


def landing_room_spx(task: Task, found: Found) -> int:
    """Return the distance between the first and last spot at which the plans of a window's box land, spx."""
    box = [
        _cut(axis, min(low, axis.high), max(low + found.window_ticks - 1, axis.low))
        for axis, low in zip(found.axes, found.low, strict=True)
    ]
    _, spots, _ = worths(task, found.plan, *_ticks(tuple(box)))
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
        lambda presses, holds, steers: worths(task, found.plan, presses, holds, steers)[0] >= found.least_worth,
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
