"""Figures: the median of several runs with the least and the greatest, in seconds of processor time."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

T = TypeVar("T")


@dataclass(frozen=True)
class Figure:
    """What one thing took in each run."""

    values: tuple[float, ...]

    @property
    def median(self) -> float:
        """The median of all runs."""
        return statistics.median(self.values)

    def __str__(self) -> str:
        """The median, and in brackets the least and the greatest."""
        return f"{self.median:.3g} ({min(self.values):.3g} .. {max(self.values):.3g})"


def figure(values: Sequence[float]) -> Figure:
    """A figure of these runs."""
    return Figure(tuple(values))


def timed(work: Callable[[], T], runs: int) -> tuple[Figure, T]:
    """Do something several times; returns what it took and what the last run gave."""
    values = []
    for _ in range(runs):
        began = time.process_time()
        result = work()
        values.append(time.process_time() - began)
    return figure(values), result
