"""What a fit hands out: estimates with the ticks they rest on, what is missing, and what the fit does not explain."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from reach.workshop.fit.bands import Ref


class Quantity(StrEnum):
    """What an estimate counts: speeds are in spx a tick, rates in spx a tick a tick."""

    SPEED = "speed"
    RATE = "rate"
    TICKS = "ticks"
    CHOICE = "choice"


@dataclass(frozen=True)
class Estimate:
    """One value of a profile.

    `path` is its place in a movement file. The true value lies from `low` to `high`, both included (`high` may be
    infinite); for a threshold `low` itself is ruled out by half a subpixel. `refs` are the ticks that show it. A choice
    (a yes or no) is 1 or 0.
    """

    path: str
    quantity: Quantity
    low: float
    high: float
    refs: tuple[Ref, ...]
    note: str = ""
    threshold: bool = False

    @property
    def exact(self) -> bool:
        """Whether only one compiled value is possible."""
        return self.low == self.high

    @property
    def bounded(self) -> bool:
        """Whether there is an upper end."""
        return bool(np.isfinite(self.high))

    @property
    def value(self) -> float:
        """The middle of the interval, its lower end where there is no upper one."""
        return (self.low + self.high) / 2 if self.bounded else self.low


@dataclass(frozen=True)
class Missing:
    """A value that the recording does not tell: why, and the take that would."""

    path: str
    why: str
    take: str


@dataclass(frozen=True)
class Residual:
    """A row that the fitted profile does not explain: how far (px) it lies from what the rules would make of it."""

    ref: Ref
    line: int
    axis: str
    off_px: float


@dataclass
class Found:
    """Estimates by path, while they are gathered; `counts` are the lengths of the lists of bands."""

    estimates: dict[str, Estimate] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    missing: dict[str, Missing] = field(default_factory=dict)

    def add(
        self,
        path: str,
        quantity: Quantity,
        low: float,
        high: float,
        refs: tuple[Ref, ...],
        note: str = "",
        threshold: bool = False,
    ) -> None:
        """Keep an estimate."""
        self.estimates[path] = Estimate(path, quantity, low, high, tuple(sorted(set(refs))), note, threshold)

    def value(self, path: str) -> float | None:
        """The middle of an estimate, None where there is none or it has no upper end."""
        estimate = self.estimates.get(path)
        return estimate.value if estimate is not None and estimate.bounded else None


@dataclass(frozen=True)
class Segment:
    """Ticks on end of one take in which one thing went on, from `first` to `last`, both included."""

    take: int
    first: int
    last: int
    kind: str


@dataclass(frozen=True)
class Replayed:
    """The fitted profile held against the recording: rows judged, contacts with walls and ceilings, and the rest."""

    judged: int
    contacts: int
    residuals: tuple[Residual, ...]
