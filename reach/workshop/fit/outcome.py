"""What a fit hands out: estimates with the ticks they rest on, what is missing, and what the fit does not explain."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from reach.movement import SPX_PER_PX
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
    (a yes or no) is 1 or 0. `note` tells on what condition the interval holds.
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
    """Estimates by path, while they are gathered; `counts` are the lengths of the lists.

    `rows` are rounded rows with their axis and how far (px) they lie from the fit, `wrong` those left out of it. `seen`
    is the greatest speed (spx a tick) at which a list of bands was seen, and the fastest rise that a release did not
    cut.
    """

    estimates: dict[str, Estimate] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    missing: dict[str, Missing] = field(default_factory=dict)
    rows: list[tuple[Ref, str, float]] = field(default_factory=list)
    wrong: list[tuple[Ref, str, float]] = field(default_factory=list)
    seen: dict[str, float] = field(default_factory=dict)

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
    """The fitted profile held against the recording: rows judged, contacts with walls and ceilings, and the rest.

    `rows` are the rows judged with their axis and how far off they are, px.
    """

    judged: int
    contacts: int
    residuals: tuple[Residual, ...]
    rows: tuple[tuple[Ref, str, float], ...] = ()


def px_interval(found: Found, path: str) -> tuple[float, float] | None:
    """An estimate's interval in px a tick (a tick), None where there is no estimate."""
    estimate = found.estimates.get(path)
    return None if estimate is None else (estimate.low / SPX_PER_PX, estimate.high / SPX_PER_PX)
