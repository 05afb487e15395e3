"""Speeds and rates along the ground from rounded positions, as guaranteed intervals."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from reach.movement import SPX_PER_PX
from reach.workshop.fit.linear_laws import Interval, Piece, Solved, solve
from reach.workshop.fit.outcome import Found, Quantity, px_interval
from reach.workshop.fit.rounded_refine import refine
from reach.workshop.fit.rounded_spans import Course, Gait, Span
from reach.workshop.fit.rounded_track import DOUBT_TICKS

MIN_TICKS = 3
"""A piece of fewer ticks says next to nothing."""
POSITIVE: Interval = (0.0, np.inf)
NARROW = 3.0
"""An interval whose upper end is more than so many times its lower one says next to nothing."""


def fit_rounded_ground(spans: Sequence[Span], rounding: float, found: Found) -> None:
    """Add what the ground's rules show."""
    ground = [span for span in spans if span.rule == 1]
    _fit_ground_rates(ground, rounding, found)
    refine(spans, found)
    # With the speeds that follow from the rates, the rates come out narrower.
    found.rows.clear()
    found.wrong.clear()
    _fit_ground_rates(ground, rounding, found)
    refine(spans, found)


def _fit_ground_rates(ground: Sequence[Span], rounding: float, found: Found) -> None:
    coasts = [piece for span in ground if not span.direction and (piece := fading(span, "rate"))]
    _keep(found, "ground.coast_deceleration", coasts, rounding)
    coast = px_interval(found, "ground.coast_deceleration")
    mark_stopped(ground, 0.0 if coast is None else coast[0], rounding)
    brakes = [piece for span in ground if span.direction and (piece := braking(span, {"rate": 1.0}))]
    _keep(found, "ground.reverse_deceleration", brakes, rounding)
    for gait, name in ((Gait.WALK, "walk"), (Gait.RUN, "run")):
        own = [span for span in ground if span.direction and span.gait is gait and span.course is Course.GROWS]
        _fit_gait(own, f"ground.{name}", rounding, found)


def _keep(found: Found, path: str, pieces: Sequence[Piece], rounding: float) -> None:
    solved = solve(pieces, rounding, {"rate": POSITIVE})
    if solved is not None:
        keep(found, path, Quantity.RATE, solved, "rate")


def keep(found: Found, path: str, quantity: Quantity, solved: Solved, name: str, note: str = "") -> None:
    """Add a solved interval in spx, unless it has no upper end or says no more than that the value is positive."""
    low, high = solved.intervals[name]
    if np.isfinite(high) and high <= NARROW * low:
        found.add(path, quantity, low * SPX_PER_PX, high * SPX_PER_PX, solved.refs, note)
        keep_rows(found, path, solved)


def keep_rows(found: Found, path: str, solved: Solved) -> None:
    """Keep how far the rows lie from a solution."""
    axis = "y" if path.startswith(("jump", "fall")) else "x"
    rows, wrong = solved.offsets()
    found.rows += [(ref, axis, off) for ref, off in rows]
    found.wrong += [(ref, axis, off) for ref, off in wrong]


def fading(span: Span, name: str) -> Piece | None:
    """The ticks of a span without direction in which the body surely still moves."""
    moving = np.flatnonzero(span.low[1:] <= 0)
    last = int(moving[0]) if len(moving) else span.ticks
    return span.piece(0, last, {name: -1.0}) if last >= MIN_TICKS else None


def braking(span: Span, rate: dict[str, float]) -> Piece | None:
    """The ticks of a span at its beginning in which the body surely still moves against the pressed direction."""
    last = negative_ticks(span)
    return span.piece(0, last, rate) if last >= MIN_TICKS and span.course is not Course.SHRINKS else None


def negative_ticks(span: Span) -> int:
    """How many ticks at a span's beginning surely end with a speed against the pressed direction."""
    turned = np.flatnonzero(span.high[1:] >= 0)
    return int(turned[0]) if len(turned) else span.ticks


def mark_stopped(spans: Sequence[Span], coast_low: float, rounding: float) -> None:
    """Tell the span after a rest that its speed before is surely 0.

    A body that coasts at no less than `coast_low` has stopped once its speed has had the time to fade.
    """
    ends: dict[tuple[int, int], bool] = {}
    for span in spans:
        if not span.direction and coast_low > 0:
            row = np.arange(len(span.high))
            speed = np.maximum(span.high, -span.low)
            speed[0] = np.inf
            left = speed - coast_low * (span.ticks - row)
            ends[id(span.stretch), span.first + span.ticks] = bool((left[1:] <= 0).any())
    for span in spans:
        if ends.get((id(span.stretch), span.first)):
            span.before = (0.0, 0.0)


def first_forward(span: Span) -> int:
    """The first row after which the body surely does not move against the pressed direction."""
    if span.before[0] >= 0:
        return 0
    forward = np.flatnonzero(span.low[1:] >= 0)
    return int(forward[0]) + 1 if len(forward) else span.ticks + 1


def growing_piece(span: Span, top_low: float, rate: dict[str, float]) -> Piece | None:
    """The ticks that are surely neither braking nor shortened by a top speed of at least `top_low` px a tick."""
    begin = first_forward(span)
    capped = np.flatnonzero(span.high[1:] >= top_low)
    last = int(capped[0]) if len(capped) else span.ticks
    return span.piece(begin, last, rate) if last - begin >= MIN_TICKS else None


def topped_row(span: Span, rate_low: float) -> int | None:
    """The first row by which the speed surely stopped growing at `rate_low` px a tick a tick or more."""
    begin = first_forward(span)
    best = -np.inf
    for row in range(max(begin, 1), span.ticks + 1):
        best = max(best + rate_low, float(span.low[row]) if row >= begin else -np.inf)
        if best > span.high[row] + 1e-9:
            return row
    return None


def topped_piece(span: Span, rate_low: float, name: str) -> Piece | None:
    """The ticks surely at the top speed."""
    row = topped_row(span, rate_low)
    if row is None or span.ticks - row < MIN_TICKS:
        return None
    return span.piece(row, span.ticks, {}, {name: 1.0})


def solve_gait(
    spans: Sequence[Span], rounding: float, rate_of: Callable[[Span], dict[str, float]]
) -> tuple[Solved | None, Solved | None]:
    """The rates and the top speed of spans that share them; each sharpens the other."""
    # Just before a late jump the body may have been off an edge already, where a fall does not show yet.
    top_low = max((float(span.low[max(0, span.ticks - DOUBT_TICKS)]) for span in spans), default=0.0)
    top_low = max(top_low, 0.0)
    rates = top = None
    for _ in range(2):
        pieces = [piece for span in spans if (piece := growing_piece(span, top_low, rate_of(span)))]
        names = {name: POSITIVE for piece in pieces for name in piece.rate}
        rates = solve(pieces, rounding, names)
        if rates is None:
            break
        low = min(interval[0] for interval in rates.intervals.values())
        tops = [piece for span in spans if low > 0 and (piece := topped_piece(span, low, "top"))]
        # A speed that was surely reached is a lower bound of the top speed too.
        top = solve(tops, rounding, {"top": (top_low, np.inf)})
        if top is None:
            break
        top_low = max(top_low, top.intervals["top"][0])
    return rates, top


def _fit_gait(spans: Sequence[Span], path: str, rounding: float, found: Found) -> None:
    rates, top = solve_gait(spans, rounding, lambda span: {"rate": 1.0})
    for solved, name, key, quantity in (
        (rates, "rate", "acceleration", Quantity.RATE),
        (top, "top", "top_speed", Quantity.SPEED),
    ):
        if solved is not None:
            keep(found, f"{path}.{key}", quantity, solved, name)
