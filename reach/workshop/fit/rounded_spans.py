"""Spans of ticks under one rule and one direction, with bounds of the speed in every tick, from rounded positions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum, auto

import numpy as np

from reach.movement import SPX_PER_PX
from reach.workshop.fit.bands import Ref
from reach.workshop.fit.exact_ground import NEVER, run_ages
from reach.workshop.fit.linear_laws import Interval, Piece
from reach.workshop.fit.rounded_track import growing_bounds
from reach.workshop.fit.stretches import UNKNOWN, Stretch

LONGEST_MEMORY_TICKS = 40
"""A run is taken for forgotten so many ticks on the ground after its button came up."""
UNBOUNDED: Interval = (-np.inf, np.inf)


class Gait(Enum):
    """Which of the ground's gaits a tick is in."""

    WALK = auto()
    RUN = auto()
    EITHER = auto()
    NONE = auto()


class Course(Enum):
    """What the speed along a span does, as far as rounding lets it be seen."""

    GROWS = auto()
    SHRINKS = auto()
    STEADY = auto()


@dataclass(eq=False)
class Span:
    """Ticks on end with one rule (1 ground, 0 air), one direction and one gait.

    Row 0 of the arrays is the row before the first tick. `position` (px) and `low`, `high` (bounds of the move into
    each row, px) count along the pressed direction, along the motion where none is pressed: `sign` tells that.
    `before` bounds the move into row 0, `stopped` tells whether that is surely 0.
    """

    stretch: Stretch
    first: int
    rule: int
    direction: int
    gait: Gait
    sign: int
    course: Course
    position: np.ndarray
    low: np.ndarray
    high: np.ndarray
    before: Interval = UNBOUNDED
    age: int = 0

    @property
    def ticks(self) -> int:
        """How many ticks the span has."""
        return len(self.position) - 1

    @property
    def flight(self) -> int:
        """The number of the stretch's flight that it belongs to, UNKNOWN for none."""
        return int(self.stretch.flight[self.first + 1])

    def piece(self, begin: int, end: int, rate: dict[str, float], first_move: dict[str, float] | None = None) -> Piece:
        """The rows `begin` to `end`, both included, as a piece whose first tick is `begin` + 1."""
        rows = np.arange(begin, end + 1)
        refs = tuple(Ref(self.stretch.take, int(self.stretch.ticks[self.first + row])) for row in range(begin, end + 1))
        before = self.before if begin == 0 else (float(self.low[begin]), float(self.high[begin]))
        return Piece(self.position[rows], (rows - begin).astype(np.float64), refs, rate, first_move, before)


def spans_of(stretch: Stretch, rounding_px: float) -> list[Span]:
    """The spans of a stretch, in order; those whose moves neither only grow nor only shrink are left out."""
    x = stretch.x.astype(np.float64) / SPX_PER_PX
    gaits = _gaits(stretch)
    spans: list[Span] = []
    for begin, end in _runs(stretch, gaits):
        span = _span(stretch, x, begin, end, gaits[begin], rounding_px)
        if span is None:
            continue
        if spans and spans[-1].first + spans[-1].ticks == span.first:
            last = spans[-1]
            low, high = float(last.low[-1]), float(last.high[-1])
            span.before = (low, high) if last.sign == span.sign else (-high, -low)
        spans.append(span)
    return spans


def _runs(stretch: Stretch, gaits: Sequence[Gait]) -> Iterator[tuple[int, int]]:
    """First and last tick (row) of each run under the same rule, direction and gait."""
    begin = None
    for i in range(1, stretch.rows + 1):
        same = (
            i < stretch.rows
            and begin is not None
            and stretch.rule[i] == stretch.rule[begin]
            and stretch.direction[i] == stretch.direction[begin]
            and gaits[i] == gaits[begin]
            and stretch.flight[i] == stretch.flight[begin]
        )
        if not same:
            if begin is not None:
                yield begin, i - 1
            begin = i if i < stretch.rows and stretch.rule[i] != UNKNOWN else None


def _gaits(stretch: Stretch) -> list[Gait]:
    """The gait of each row's tick; EITHER where the run may still be remembered."""
    ages = run_ages(stretch)
    ever_runs = bool(stretch.run.any())
    gaits = []
    for i, age in enumerate(ages):
        if stretch.rule[i] != 1:
            gaits.append(Gait.NONE)
        elif age == 0:
            gaits.append(Gait.RUN)
        elif age == UNKNOWN:
            gaits.append(Gait.WALK if i > LONGEST_MEMORY_TICKS or not ever_runs else Gait.EITHER)
        else:
            gaits.append(Gait.WALK if age == NEVER or age > LONGEST_MEMORY_TICKS else Gait.EITHER)
    return gaits


def _span(stretch: Stretch, x: np.ndarray, begin: int, end: int, gait: Gait, rounding: float) -> Span | None:
    direction = int(stretch.direction[begin])
    rows = x[begin - 1 : end + 1]
    sign = direction or (1 if rows[-1] >= rows[0] else -1)
    position = sign * rows
    course = _course(position, rounding) if direction else Course.SHRINKS
    if course is Course.SHRINKS:
        low, high = shrinking_bounds(position, rounding)
    else:
        low, high = growing_bounds(position, rounding)
        if course is Course.STEADY:
            other = shrinking_bounds(position, rounding)
            low, high = np.minimum(low, other[0]), np.maximum(high, other[1])
    if (low > high + 1e-9)[1:].any():
        return None
    return Span(stretch, begin - 1, int(stretch.rule[begin]), direction, gait, sign, course, position, low, high)


def shrinking_bounds(position: np.ndarray, rounding: float) -> tuple[np.ndarray, np.ndarray]:
    """As `growing_bounds`, where moves never grow from tick to tick."""
    low, high = growing_bounds(-position[::-1], rounding)
    return np.concatenate([[-np.inf], low[:0:-1]]), np.concatenate([[np.inf], high[:0:-1]])


def _course(position: np.ndarray, rounding: float) -> Course:
    """Whether the speed surely grew or shrank over a span: by the means of its halves, good to P over their ticks."""
    half = (len(position) - 1) // 2
    if half == 0:
        return Course.STEADY
    first = (position[half] - position[0]) / half
    second = (position[-1] - position[-1 - half]) / half
    room = 2 * rounding / half
    if second - first > room:
        return Course.GROWS
    return Course.SHRINKS if first - second > room else Course.STEADY
