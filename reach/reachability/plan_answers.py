"""Searches for plans, run side by side: what many of them ask is answered in one compiled call.

A search hears the same whoever else is answered with it, so what it finds depends on itself alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Generic, NamedTuple, TypeVar

import numpy as np

from reach.kernels.plan_choice import RESULT_ROWS
from reach.kernels.plan_requests import CHOICE, END_PLAN, FIRST_CELL, FIRST_PLAN, GRID, answer_requests
from reach.kernels.plan_tick import SUCCEEDS
from reach.kernels.plan_trial import SAMPLES, TRIAL_ROWS, Wish
from reach.kernels.plans import PlanTicks
from reach.reachability.plan_requests import Answer, Asking, Choice, Chosen, Flown, Request
from reach.reachability.plan_room import larger_room, plan_room
from reach.reachability.plan_task import MOST_FLIGHT_TICKS

MOST_CELLS = 1 << 18
"""A call flies no more combinations of ticks once it has flown so many: some tenths of a second."""

_ANY = Wish(cap=1, least=SUCCEEDS, samples=SAMPLES, at_once=1, enough=1)

T = TypeVar("T")


def alone(search: Asking[T]) -> T:
    """Return what one search finds."""
    return together([search], lambda: False)[0]


def together(searches: Iterable[Asking[T]], ended: Callable[[], bool]) -> dict[int, T]:
    """Return what searches find, by their number; without those that were not done when `ended` said so.

    Parameters
    ----------
    searches : iterable
        All with the same movement and on the same course.
    ended : callable
        Asked before every compiled call and before a search goes on.
    """
    found: dict[int, T] = {}

    def go_on(number: int, search: Asking[T], answer: Answer | None) -> list[_Waiting[T]]:
        try:
            return [_Waiting(number, search, search.send(answer))]
        except StopIteration as end:
            found[number] = end.value
            return []

    waiting: list[_Waiting[T]] = []
    for number, search in enumerate(searches):
        if ended():
            return found
        waiting += go_on(number, search, None)
    while waiting and not ended():
        # The first ones come first: when time is up, as many as can be are done.
        heard = answers(one.request for one in waiting)
        still: list[_Waiting[T]] = []
        for one, answer in zip(waiting, heard, strict=False):
            if ended():
                return found
            still += go_on(one.number, one.search, answer)
        waiting = still + waiting[len(heard) :]
    return found


@dataclass(frozen=True, eq=False)
class _Waiting(Generic[T]):
    """A search that waits for the answer to a request."""

    number: int
    search: Asking[T]
    request: Request


def answers(requests: Iterable[Request]) -> list[Answer]:
    """Return the answers to the first of some requests, one at least.

    One compiled call flies MOST_CELLS combinations, or little more; where it lacks room, another goes on from there.
    """
    asked = _first(requests)
    packed = _pack(asked)
    task = asked[0].task
    results = np.zeros((len(asked), RESULT_ROWS, 4), np.int64)
    numbers = np.zeros(len(asked), np.int64)
    room = plan_room(task.most_run_up, MOST_FLIGHT_TICKS)
    end, lacks = 0, True
    while lacks:
        end, lacks = answer_requests(
            end, MOST_CELLS, packed.rows, results, numbers, *packed[1:], task.scene.motion, task.scene.course, room
        )
        if lacks:
            room = larger_room(room)
    return [_read(one, n, packed, results, numbers) for n, one in enumerate(asked[:end])]


class _Packed(NamedTuple):
    """Requests as `answer_requests` takes them, with room for what it writes."""

    rows: np.ndarray
    trials: np.ndarray
    bounds: np.ndarray
    passing: np.ndarray
    plans: np.ndarray
    ticks: np.ndarray
    worths: np.ndarray
    spots: np.ndarray


def _first(requests: Iterable[Request]) -> list[Request]:
    """Return so many of the requests as one call is likely to answer."""
    asked: list[Request] = []
    cells = 0
    for one in requests:
        if asked and cells + one.cells > MOST_CELLS:
            break
        asked.append(one)
        cells += one.cells
    return asked


def _pack(asked: list[Request]) -> _Packed:
    rows: list[tuple[int, ...]] = []
    plans: list[PlanTicks] = []
    ticks = [np.zeros(0, np.int64)]
    tick_count = cells = most_plans = 0
    for one in asked:
        ground = one.task.ground
        scene = (ground.left, ground.right, ground.y), one.task.scene.goal
        first = len(plans)
        if isinstance(one, Choice):
            plans += one.plans
            most_plans = max(most_plans, len(one.plans))
            rows.append((CHOICE, first, len(plans), one.known, 0, 0, 0, 0, 0, *scene[0], *one.wish, *scene[1]))
        else:
            plans.append(one.plan)
            rows.append((GRID, first, len(plans), 0, tick_count, *one.shape, cells, *scene[0], *_ANY, *scene[1]))
            ticks += one.ticks
            tick_count += sum(one.shape)
            cells += one.cells
    return _Packed(
        np.array(rows, np.int64),
        np.empty((most_plans, TRIAL_ROWS, 4), np.int64),
        np.zeros(most_plans, np.int64),
        np.zeros(len(plans), np.uint8),
        np.array(plans, np.int64),
        np.concatenate(ticks),
        np.empty(cells, np.uint8),
        np.empty(cells, np.int64),
    )


def _read(one: Request, n: int, packed: _Packed, results: np.ndarray, numbers: np.ndarray) -> Answer:
    if isinstance(one, Choice):
        first, end = packed.rows[n, [FIRST_PLAN, END_PLAN]].tolist()
        return Chosen(int(numbers[n]), results[n], packed.passing[first:end])
    begin = int(packed.rows[n, FIRST_CELL])
    worths, spots = (cells[begin : begin + one.cells].reshape(one.shape) for cells in (packed.worths, packed.spots))
    return Flown(worths, spots, int(numbers[n]))
