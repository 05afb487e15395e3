"""The best of many plans: each on trial, the most promising ones flown completely."""

from typing import NamedTuple

import numpy as np

from reach.kernels.compiling import compiled, inlined
from reach.kernels.plan_axes import launch_at, most_run_up, natural_ticks, write_axes
from reach.kernels.plan_trial import LACKS, OnTrial, complete, sample
from reach.kernels.plans import SPRING, WALK, PlanTicks, Source, run_up

COMPLETED = 3
"""So many plans of a group are flown completely, the most promising ones."""

RESULT_ROWS = 6
"""A result is an int64 [6, 4] array: the index of the plan, then what `complete` writes."""


class Ledge(NamedTuple):
    """Where plans start: a body's left edge from `left` to `right`, its top at `y`, spx."""

    left: int
    right: int
    y: int


@inlined
def row_plan(row):
    """The plan in an int64 [10] row."""
    return PlanTicks(row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7], row[8], row[9])


@compiled
def put_on_trial(row, ledge, scene, room):
    """A plan with its run-up flown."""
    plan = row_plan(row)
    launch = launch_at(plan.x, ledge.y, scene) if plan.action == SPRING else -1
    source = Source(ledge.left, ledge.right, launch)
    last = 0
    if plan.action != WALK:
        last = run_up(plan, source, scene, room.run_ups[: most_run_up(plan.run, scene.motion) + 1])
    return OnTrial(plan, source, last)


@compiled
def choose(result, trials, bounds, passing, plans, ledge, known, wish, scene, room):
    """The size of the largest window of some plans, where it is larger than `known`; else `known`.

    Approximation: under.

    Parameters
    ----------
    result : int64 [6, 4]
        Receives what was found, where something was.
    trials : int64 [plans, 9, 4]
        Room.
    bounds : int64 [plans]
        Room.
    passing : uint8 [plans]
        Receives 1 where a plan passes the goal and never succeeds, as long as nothing is known.
    plans : int64 [plans, 10]
    ledge : Ledge
    known : int64
    wish : Wish
    scene : Scene
    room : Room

    Returns
    -------
    int64
        LACKS where there was not room enough: the call has to be made again with what `room.lack` says.
    """
    drop = scene.goal.lowest - ledge.y
    launch = np.int64(-1)
    natural = natural_ticks(scene.motion, launch, drop)
    for step in range(plans.shape[0] + COMPLETED):
        n = step
        if step >= plans.shape[0]:
            n = 0
            for other in range(1, plans.shape[0]):
                if bounds[other] > bounds[n]:
                    n = other
            if bounds[n] <= known:
                break
        on_trial = put_on_trial(plans[n], ledge, scene, room)
        if step < plans.shape[0]:
            if on_trial.source.launch != launch:
                launch = on_trial.source.launch
                natural = natural_ticks(scene.motion, launch, drop)
            write_axes(trials[n], on_trial.plan, natural, on_trial.last, room.trunk.shape[0], scene.motion)
            bounds[n], passes = sample(trials[n], np.int64(0), on_trial, known, wish.samples, wish, scene, room)
            if bounds[n] == LACKS:
                return LACKS
            passing[n] = passes and bounds[n] == 0
            if bounds[n] < wish.at_once:
                continue
        size = complete(result[1:], trials[n], bounds[n], on_trial, known, wish, scene, room)
        bounds[n] = 0
        if size == LACKS:
            return LACKS
        if size > known:
            known = size
            result[0, 0] = n
        if step < plans.shape[0] and known >= wish.enough:
            break
    return known
