"""Plans tried in bulk: the best of many, and grids of one, with all the room that the kernel takes."""

from __future__ import annotations

import numpy as np

from reach.kernels.plan_choice import CHOICE, GRID, RESULT_ROWS, Ledge, try_plans
from reach.kernels.plan_tick import SUCCEEDS
from reach.kernels.plan_trial import LACKS, SAMPLES, TRIAL_ROWS, Room, Wish
from reach.kernels.plans import PlanTicks
from reach.reachability.plan_room import larger_room, plan_room
from reach.reachability.plan_task import MOST_FLIGHT_TICKS, Task

_ANY = Wish(cap=1, least=SUCCEEDS, samples=SAMPLES, at_once=1, enough=1)


def best_of(task: Task, plans: list[PlanTicks], known: int, wish: Wish) -> tuple[int, np.ndarray, np.ndarray]:
    """Return the size of the largest window of some plans that is larger than `known`, or `known`.

    Returns
    -------
    int, int64 [6, 4], uint8 [plans]
        The size, and what `choose` writes into `result` and `passing`.
    """
    if not plans:
        return known, np.zeros((RESULT_ROWS, 4), np.int64), np.zeros(0, np.uint8)
    room = plan_room(task.most_run_up, MOST_FLIGHT_TICKS)
    while True:
        result = np.zeros((RESULT_ROWS, 4), np.int64)
        size, passing = _try(CHOICE, task, plans, known, wish, result, room)
        if size != LACKS:
            return size, result, passing
        room = larger_room(room)


def worths(
    task: Task, plan: PlanTicks, presses: np.ndarray, holds: np.ndarray, steers: np.ndarray
) -> tuple[np.ndarray, np.ndarray, int]:
    """Return what every combination of ticks of a plan is worth. Approximation: exact.

    Parameters
    ----------
    task : Task
    plan : PlanTicks
        Its press, hold and steer_until are replaced by those of the axes.
    presses, holds, steers : int64 [n]
        Ascending; a walk has one press and one hold, which are not used.

    Returns
    -------
    uint8 [presses, holds, steers]
        FAILS, PASSES or SUCCEEDS.
    int64 [presses, holds, steers]
        x where a flight that does not fail ended, spx.
    longest : int
        The longest flight's ticks: steering past it changes nothing.
    """
    axes = (presses, holds, steers)
    shape = tuple(map(len, axes))
    cells = int(np.prod(shape))
    room = plan_room(task.most_run_up, MOST_FLIGHT_TICKS)
    if max(shape) > room.ticks.shape[1] or cells > len(room.worths):
        room.lack[:] = max(shape), cells
        room = larger_room(room)
    for row, ticks in zip(room.ticks, axes, strict=True):
        row[: len(ticks)] = ticks
    result = np.array([[*shape, 0]], np.int64)
    longest, _ = _try(GRID, task, [plan], 0, _ANY, result, room)
    return room.worths[:cells].reshape(shape).copy(), room.spots[:cells].reshape(shape).copy(), longest


def _try(
    asked: int, task: Task, plans: list[PlanTicks], known: int, wish: Wish, result: np.ndarray, room: Room
) -> tuple[int, np.ndarray]:
    passing = np.zeros(len(plans), np.uint8)
    answer: int = try_plans(
        asked,
        result,
        np.empty((len(plans), TRIAL_ROWS, 4), np.int64),
        np.zeros(len(plans), np.int64),
        passing,
        np.array(plans, np.int64),
        Ledge(task.ground.left, task.ground.right, task.ground.y),
        known,
        wish,
        task.scene,
        room,
    )
    return answer, passing
