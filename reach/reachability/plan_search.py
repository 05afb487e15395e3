"""The search for the plan with the largest window: sample many plans, fly the promising ones completely."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from reach.kernels.plan_tick import PASSES, SUCCEEDS
from reach.kernels.plan_trial import SAMPLES, Wish
from reach.kernels.plans import DROP, JUMP, PlanTicks
from reach.reachability.chance import Aiming
from reach.reachability.plan_requests import Asking, best_of, worths
from reach.reachability.plan_task import Axis, Task, close_plans, facings, starting_plans

CLOSER_SAMPLES = 8 * SAMPLES
"""So many combinations of a plan are flown where no plan succeeded at first."""

COMFORTABLE = 3
"""A window of the cap divided by this is large enough to stop looking for better plans, if it is all that is wanted."""


@dataclass(frozen=True, eq=False)
class Found:
    """The best window found: the plan at the middle of its box, the box's first ticks, and what counts as success."""

    plan: PlanTicks
    window_ticks: int
    low: tuple[int, int, int]
    axes: tuple[Axis, Axis, Axis]
    least_worth: int


def find_window(task: Task, extra_x: tuple[int, ...], cap: int, wanted: int = 0) -> Asking[Found | None]:
    """Ask for the largest window among the plans tried; None where none of them succeeds.

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
    best, passing = yield from _search(task, plain, cap, None)
    if _size(best) < comfortable:
        best, more = yield from _search(task, back, cap, best)
        passing += more
    if best is None and not passing:
        best, passing = yield from _search(task, [*plain, *back], cap, None, CLOSER_SAMPLES)
    if best is None:
        turned = [plan._replace(end=end) for plan, end in product(starting_plans(task, away, extra_x), (-1, 0))]
        if task.action in (JUMP, DROP):
            turned += [plan._replace(steer_from=ticks) for plan, ticks in product(plain, (4, 10))]
        best, more = yield from _search(task, turned, cap, None)
        passing += more
    elif best.window_ticks < comfortable:
        best, _ = yield from _search(task, beside(task, best.plan), cap, best)
    if best is not None and best.window_ticks < wanted:
        best = yield from _look_closer(task, best, cap, wanted)
    if best is None:
        best, _ = yield from _choose(task, passing, None, Wish(cap, PASSES, SAMPLES, at_once=cap + 1, enough=cap))
    return best


def _search(
    task: Task, plans: list[PlanTicks], cap: int, best: Found | None, samples: int = SAMPLES
) -> Asking[tuple[Found | None, list[PlanTicks]]]:
    """Ask for the best window of some plans and of `best`; and, where there is none, the plans that land on the target
    but never rest.
    """
    return (yield from _choose(task, plans, best, Wish(cap, SUCCEEDS, samples, at_once=cap, enough=cap)))


def _look_closer(task: Task, best: Found, cap: int, wanted: int) -> Asking[Found | None]:
    """Ask for the first window as large as wanted of plans that start on spots close to each other, or the best."""
    plans = close_plans(task, best.plan, wanted)
    better, _ = yield from _choose(task, plans, best, Wish(cap, SUCCEEDS, SAMPLES, at_once=1, enough=wanted))
    return better


def _choose(
    task: Task, plans: list[PlanTicks], best: Found | None, wish: Wish
) -> Asking[tuple[Found | None, list[PlanTicks]]]:
    known = _size(best)
    size, result, passing = yield from best_of(task, plans, known, wish)
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


def has_window(task: Task, plans: list[PlanTicks], wanted: int) -> Asking[bool]:
    """Ask whether one of a few plans (their ticks do not matter) has a window of so many ticks, all of it flown."""
    wish = Wish(wanted, SUCCEEDS, SAMPLES, at_once=1, enough=wanted)
    size, _, _ = yield from best_of(task, plans, wanted - 1, wish)
    return size >= wanted


def _size(found: Found | None) -> int:
    return 0 if found is None else found.window_ticks


def _cut(axis: Axis, low: int, high: int) -> Axis:
    """Return a part of an axis, open only where it reaches the axis's own open end."""
    low, high = max(low, axis.low), min(high, axis.high)
    return Axis(low, high, axis.open_low and low == axis.low, axis.open_high and high == axis.high)


def _ticks(axes: tuple[Axis, ...]) -> list[np.ndarray]:
    return [np.arange(axis.low, axis.high + 1, dtype=np.int64) for axis in axes]


def landing_room_spx(task: Task, found: Found) -> Asking[int]:
    """Ask for the distance between the first and last spot at which the plans of a window's box land, spx."""
    box = [
        _cut(axis, min(low, axis.high), max(low + found.window_ticks - 1, axis.low))
        for axis, low in zip(found.axes, found.low, strict=True)
    ]
    _, spots, _ = yield from worths(task, found.plan, *_ticks(tuple(box)))
    return int(spots.max() - spots.min())


def best_chance(task: Task, found: Found, tick_ms: float, spread_ms: float) -> Asking[tuple[float, int]]:
    """Ask for the chance that a try of a window's plan succeeds, aimed as well as can be, and the step of the sum,
    ticks: as of `chance.Aiming`, from the middle of the box.
    """
    centre = (found.plan.press, found.plan.hold, found.plan.steer_until)
    aiming = Aiming(found.axes, centre, tick_ms, spread_ms)
    while not aiming.done:
        grid, _, _ = yield from worths(task, found.plan, *aiming.ticks)
        aiming.take(grid >= found.least_worth)
    return aiming.chance, aiming.step_ticks
