"""Speeds and rates in the air from rounded positions, as guaranteed intervals."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from reach.movement import SPX_PER_PX
from reach.workshop.fit.linear_laws import Interval, Piece, Solved, solve, solve_all
from reach.workshop.fit.outcome import Found, Missing, Quantity, px_interval
from reach.workshop.fit.rounded_ground import (
    MIN_TICKS,
    POSITIVE,
    braking,
    fading,
    first_forward,
    growing_piece,
    keep,
    keep_rows,
    negative_ticks,
    topped_piece,
)
from reach.workshop.fit.rounded_spans import Course, Span
from reach.workshop.fit.stretches import Stretch

HIDDEN = "no one value explains all ticks, and rounding hides where two part"
BANDS_TOLD = "Tell the bands with --start, or record with exact positions."
ONE_BAND = "if it is one band, else a mean of several"
"""Where one value explains rows of several bands, one between theirs does too: that bends away from the rows less."""
STEPS = 16
"""So many thresholds are tried between the slowest and the fastest speed."""
Shape = Mapping[str, Sequence[tuple[float, ...]]]
"""Known thresholds (px a tick) by the path of a list."""


def fit_rounded_air(
    spans: Sequence[Span], takeoffs: Mapping[int, Interval], rounding: float, found: Found, shape: Shape
) -> None:
    """Add what the air's rules show.

    Parameters
    ----------
    spans : sequence of Span
    takeoffs : mapping
        The takeoff speed of each span that has one, px a tick, by the span's id.
    rounding : float
        px.
    found : Found
    shape : mapping
        Thresholds of the lists of bands that are known.
    """
    air = [span for span in spans if span.rule == 0]
    drift = [piece for span in air if not span.direction and (piece := fading(span, "rate"))]
    drag = solve(drift, rounding, {"rate": POSITIVE})
    if drag is not None and np.isfinite(drag.intervals["rate"][1]):
        low, high = drag.intervals["rate"]
        found.add("air.drag", Quantity.RATE, low * SPX_PER_PX, high * SPX_PER_PX, drag.refs)
        keep_rows(found, "air.drag", drag)
    growing = [span for span in air if span.direction and span.course is Course.GROWS]
    _by_speed(growing, rounding, found, shape.get("air.acceleration"))
    _braking(growing, takeoffs, rounding, found, shape.get("air.reverse_deceleration"))
    _top_speeds(growing, takeoffs, rounding, found, shape.get("air.top_speed"))


def _own_top(span: Span) -> float:
    """A speed that the span surely reaches, so that its top speed is no less."""
    return float(span.low[1:].max())


def _by_speed(spans: Sequence[Span], rounding: float, found: Found, edges: Sequence[tuple[float, ...]] | None) -> None:
    """Acceleration in bands of the current speed: one where that explains all, else two, split where it can be."""
    path = "air.acceleration"
    if edges is not None and len(edges) > 1:
        thresholds = [edge[0] for edge in edges]
        _add_split(path, _split_at(spans, thresholds), rounding, found)
        return
    pieces = [piece for span in spans if (piece := growing_piece(span, _own_top(span), {"rate": 1.0}))]
    whole = solve_all(pieces, rounding, {"rate": POSITIVE})
    if whole is not None:
        found.counts[path] = 1
        keep(found, f"{path}[0].value", Quantity.RATE, whole, "rate", ONE_BAND)
        return
    fastest = max((_own_top(span) for span in spans), default=0.0)
    _best_split(path, spans, fastest, rounding, found)


def _best_split(path: str, spans: Sequence[Span], fastest: float, rounding: float, found: Found) -> None:
    """Try thresholds: what holds for every one that explains all rows is what the recording tells."""
    fitting: list[tuple[float, list[Solved | None]]] = []
    for step in range(1, STEPS):
        threshold = fastest * step / STEPS
        pieces = _split_at(spans, [0.0, threshold])
        solved = [solve(own, rounding, {"rate": POSITIVE}) for own in pieces]
        if all(each is not None or not own for each, own in zip(solved, pieces, strict=True)):
            fitting.append((threshold, solved))
    if not fitting:
        return
    found.counts[path] = 2
    for index in range(2):
        found.missing[f"{path}[{index}].value"] = Missing(f"{path}[{index}].value", HIDDEN, BANDS_TOLD)
        own_bands = [solved[index] for _, solved in fitting]
        sure = [each for each in own_bands if each is not None]
        if len(sure) < len(own_bands):
            continue  # with some of the possible thresholds nothing is left that shows this band
        intervals = [each.intervals["rate"] for each in sure]
        union = (min(low for low, _ in intervals), max(high for _, high in intervals))
        keep(found, f"{path}[{index}].value", Quantity.RATE, replace(sure[0], intervals={"rate": union}), "rate")
    width = fastest / STEPS
    low, high = fitting[0][0] - width, fitting[-1][0] + width
    if low > 0 or high < fastest:
        found.add(f"{path}[1].from_speed", Quantity.SPEED, low * SPX_PER_PX, high * SPX_PER_PX, (), threshold=True)


def _split_at(spans: Sequence[Span], thresholds: Sequence[float]) -> list[list[Piece]]:
    """The unclamped ticks of growing spans, by the band that surely rules them."""
    ends = [*thresholds[1:], np.inf]
    split: list[list[Piece]] = []
    for low, high in zip(thresholds, ends, strict=True):
        own = []
        for span in spans:
            top = _own_top(span)
            rows = np.arange(1, span.ticks + 1)
            before_low = np.concatenate([[span.before[0]], span.low[1:-1]])
            before_high = np.concatenate([[span.before[1]], span.high[1:-1]])
            good = (
                (before_low >= max(low, 0.0))
                & (before_high < high)
                & (span.high[1:] < top)
                & (rows > first_forward(span))
            )
            piece = _longest(span, good, {"rate": 1.0})
            if piece is not None:
                own.append(piece)
        split.append(own)
    return split


def _longest(span: Span, good: np.ndarray, rate: dict[str, float]) -> Piece | None:
    """The longest run of good ticks of a span as a piece; `good` has one entry a tick."""
    best: tuple[int, int] = (0, 0)
    begin: int | None = None
    for tick, fine in enumerate([*good.tolist(), False]):
        if fine and begin is None:
            begin = tick
        elif not fine and begin is not None:
            best = max(best, (tick - begin, begin), key=lambda run: run[0])
            begin = None
    length, start = best
    return span.piece(start, start + length, rate) if length >= MIN_TICKS else None


def _add_split(
    path: str,
    pieces: Sequence[Sequence[Piece]],
    rounding: float,
    found: Found,
) -> None:
    found.counts[path] = len(pieces)
    for index, own in enumerate(pieces):
        solved = solve(own, rounding, {"rate": POSITIVE})
        if solved is not None:
            keep(found, f"{path}[{index}].value", Quantity.RATE, solved, "rate")


def _braking(
    spans: Sequence[Span],
    takeoffs: Mapping[int, Interval],
    rounding: float,
    found: Found,
    edges: Sequence[tuple[float, ...]] | None,
) -> None:
    """Reverse deceleration: one band, or the known ones."""
    path = "air.reverse_deceleration"
    if edges is None or len(edges) == 1:
        own = [piece for span in spans if (piece := braking(span, {"rate": 1.0}))]
        solved = solve_all(own, rounding, {"rate": POSITIVE})
        if solved is None:
            if own:
                found.missing[f"{path}[0].value"] = Missing(f"{path}[0].value", HIDDEN, BANDS_TOLD)
            return
        found.counts[path] = 1
        keep(found, f"{path}[0].value", Quantity.RATE, solved, "rate", "" if edges else ONE_BAND)
        return
    pieces: list[list[Piece]] = [[] for _ in edges]
    for span in spans:
        takeoff = takeoffs.get(id(span))
        if takeoff is None:
            continue
        last = negative_ticks(span)
        rows = np.arange(1, span.ticks + 1)
        fastest = -np.concatenate([[span.before[0]], span.low[1:-1]])
        slowest = -np.concatenate([[span.before[1]], span.high[1:-1]])
        ruling_low = _ruling(edges, slowest, takeoff[0])
        ruling_high = _ruling(edges, fastest, takeoff[1])
        for index in range(len(edges)):
            piece = _longest(span, (ruling_low == index) & (ruling_high == index) & (rows <= last), {"rate": 1.0})
            if piece is not None:
                pieces[index].append(piece)
    _add_split(path, pieces, rounding, found)


def _ruling(edges: Sequence[tuple[float, ...]], speeds: np.ndarray, takeoff: float) -> np.ndarray:
    """The number of the last band whose thresholds are at most the speed and the takeoff speed."""
    ruling = np.zeros(len(speeds), np.int64)
    for index, (from_speed, from_takeoff) in enumerate(edges):
        ruling[(speeds >= from_speed) & (takeoff >= from_takeoff)] = index
    return ruling


def _top_speeds(
    spans: Sequence[Span],
    takeoffs: Mapping[int, Interval],
    rounding: float,
    found: Found,
    edges: Sequence[tuple[float, ...]] | None,
) -> None:
    """Top speeds by takeoff speed, from the flights that surely grew to theirs."""
    path = "air.top_speed"
    count = found.counts.get("air.acceleration", 0)
    rates = [px_interval(found, f"air.acceleration[{index}].value") for index in range(count)]
    if not rates or None in rates:
        return  # without the slowest rate, a slow growth cannot be told from a speed that stays
    slowest = min(rate[0] for rate in rates if rate is not None)
    tops: list[tuple[Interval, Piece, float]] = []
    for span in spans:
        takeoff = takeoffs.get(id(span))
        piece = topped_piece(span, slowest, "top")
        if takeoff is not None and piece is not None:
            tops.append((takeoff, piece, _own_top(span)))
    tops.sort(key=lambda top: sum(top[0]))
    groups: list[list[tuple[Interval, Piece, float]]] = []
    if edges is not None and len(edges) > 1:
        starts = [edge[0] for edge in edges]
        for low, high in zip(starts, [*starts[1:], np.inf], strict=True):
            groups.append([top for top in tops if top[0][0] >= low and top[0][1] < high])
    else:
        for top in tops:
            joined = [*groups[-1], top] if groups else [top]
            if groups and _solve_tops(joined, rounding) is None:
                groups.append([top])
            elif groups:
                groups[-1] = joined
            else:
                groups.append(joined)
    found.counts[path] = max(1, len(groups))
    for index, group in enumerate(groups):
        solved = _solve_tops(group, rounding)
        if solved is not None:
            keep(found, f"{path}[{index}].value", Quantity.SPEED, solved, "top")
        if index and group and groups[index - 1]:
            low = max(top[0][0] for top in groups[index - 1])
            high = min(top[0][1] for top in group)
            found.add(
                f"{path}[{index}].from_takeoff_speed",
                Quantity.SPEED,
                low * SPX_PER_PX,
                high * SPX_PER_PX,
                (),
                threshold=True,
            )


def _solve_tops(group: Sequence[tuple[Interval, Piece, float]], rounding: float) -> Solved | None:
    least = max((top for _, _, top in group), default=0.0)
    return solve([piece for _, piece, _ in group], rounding, {"top": (least, np.inf)})


def takeoffs_of(spans: Sequence[Span], speed_of: Callable[[Stretch, int], Interval | None]) -> dict[int, Interval]:
    """The takeoff speed of the flight that each span is in, by the span's id, where it is known."""
    found = {}
    for span in spans:
        if span.rule == 0 and span.flight >= 0:
            speed = speed_of(span.stretch, span.flight)
            if speed is not None:
                found[id(span)] = speed
    return found
