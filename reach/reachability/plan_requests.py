"""What a search for plans asks, step by step, so that many searches can be answered together.

A search is a generator that yields requests and is sent their answers; `plan_answers` runs it, alone or with others.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from typing import Any, NamedTuple, TypeVar

import numpy as np

from reach.kernels.plan_choice import RESULT_ROWS
from reach.kernels.plan_trial import Wish
from reach.kernels.plans import PlanTicks
from reach.reachability.plan_task import Task


@dataclass(frozen=True, eq=False)
class Choice:
    """Which of some plans, one at least, has the largest window that is larger than `known`."""

    task: Task
    plans: list[PlanTicks]
    known: int
    wish: Wish

    @property
    def cells(self) -> int:
        """About how many combinations are flown."""
        return len(self.plans) * self.wish.samples


@dataclass(frozen=True, eq=False)
class Grid:
    """What every combination of ticks of a plan is worth: int64 [n] presses, holds and steers."""

    task: Task
    plan: PlanTicks
    ticks: tuple[np.ndarray, np.ndarray, np.ndarray]

    @property
    def shape(self) -> tuple[int, int, int]:
        """Numbers of presses, holds and steers."""
        presses, holds, steers = self.ticks
        return len(presses), len(holds), len(steers)

    @property
    def cells(self) -> int:
        """How many combinations are flown."""
        presses, holds, steers = self.shape
        return presses * holds * steers


class Chosen(NamedTuple):
    """The size of the window found, or `known`; int64 [6, 4] and uint8 [plans], what `choose` writes."""

    size: int
    result: np.ndarray
    passing: np.ndarray


class Flown(NamedTuple):
    """A grid's `worths`, uint8 [presses, holds, steers], FAILS, PASSES or SUCCEEDS; `spots`, int64 of the same shape,
    x where a flight that does not fail ended, spx; and the longest flight's ticks: steering past it changes nothing.
    """

    worths: np.ndarray
    spots: np.ndarray
    longest: int


Request = Choice | Grid
Answer = Chosen | Flown

T = TypeVar("T")

Asking = Generator[Request, Any, T]
"""A search that returns T."""


def best_of(task: Task, plans: list[PlanTicks], known: int, wish: Wish) -> Asking[Chosen]:
    """Ask for the largest window of some plans that is larger than `known`."""
    if not plans:
        return Chosen(known, np.zeros((RESULT_ROWS, 4), np.int64), np.zeros(0, np.uint8))
    chosen: Chosen = yield Choice(task, plans, known, wish)
    return chosen


def worths(task: Task, plan: PlanTicks, presses: np.ndarray, holds: np.ndarray, steers: np.ndarray) -> Asking[Flown]:
    """Ask for what every combination of ticks of a plan is worth. Approximation: exact.

    Parameters
    ----------
    task : Task
    plan : PlanTicks
        Its press, hold and steer_until are replaced by those of the axes.
    presses, holds, steers : int64 [n]
        Ascending; a walk has one press and one hold, which are not used.
    """
    flown: Flown = yield Grid(task, plan, (presses, holds, steers))
    return flown
