"""Ground, flights and bounds of speeds from rounded positions; what rounding leaves in doubt is UNKNOWN.

Two rows differ from the true distance by at most the rounding P. While a speed only grows, its value in a tick is at
least every earlier mean speed less P, and at most every later one plus P: bounds that hold whatever the rates are.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from reach.workshop.fit.stretches import UNKNOWN, Flight, Stretch, Takeoff

LONG_REST_TICKS = 24
"""Unchanged for so long is ground: gravity would have to be under P/72 a tick a tick to hang in the air for that."""
DOUBT_TICKS = 12
"""So long before a fall shows may it have begun (gravity over P/72 a tick a tick)."""
WINDOW = 40


def growing_bounds(position: np.ndarray, rounding: float) -> tuple[np.ndarray, np.ndarray]:
    """Bounds of the move in each tick, where moves never shrink from tick to tick.

    Parameters
    ----------
    position : float64 [rows]
    rounding : float
        In the same unit.

    Returns
    -------
    low, high : float64 [rows]
        Of the move into each row; row 0 has none (infinite bounds).
    """
    rows = len(position)
    low, high = np.full(rows, -np.inf), np.full(rows, np.inf)
    for span in range(1, min(WINDOW, rows - 1) + 1):
        mean = (position[span:] - position[:-span]) / span
        error = rounding / span
        # The mean move over ticks j+1 .. j+span is at most the last of them, and at least the first.
        low[span:] = np.maximum(low[span:], mean - error)
        high[1 : rows - span + 1] = np.minimum(high[1 : rows - span + 1], mean + error)
    np.maximum.accumulate(low, out=low)
    high[:] = np.minimum.accumulate(high[::-1])[::-1]
    return low, high


def label_rounded(stretch: Stretch, rounding: float) -> None:
    """Fill in ground, rules and flights of a stretch with rounded positions (spx)."""
    y = stretch.y.astype(np.float64)
    rows = stretch.rows
    move = np.diff(y, prepend=y[:1])
    stretch.ground = np.full(rows, UNKNOWN, np.int64)
    rests = _rests(y, move, rounding)
    flights: list[Flight] = []
    for first, last, doubt in rests:
        stretch.ground[first + doubt : last + 1] = 1
    for number, (first, last, _) in enumerate(rests):
        end = rests[number + 1][0] if number + 1 < len(rests) else rows
        if number == 0 and first > 0:
            stretch.ground[1:first] = 0
            flights.append(Flight(0, Takeoff.UNSEEN, None, first))
        if last + 1 >= rows:
            continue
        landed = end if end < rows else None
        if move[last + 1] < 0:
            pressed = bool(stretch.press[last + 1])
            waited = np.flatnonzero(stretch.press[max(0, first - 30) : last + 2])
            sure = move[last + 1] <= -2 * rounding or pressed
            kind = Takeoff.JUMP if sure and (pressed or (len(waited) and last - first <= 1)) else Takeoff.SPRING
            press = last + 1 if pressed else (max(0, first - 30) + int(waited[-1]) if len(waited) else None)
            flights.append(Flight(last + 1, kind, None, landed, press if kind == Takeoff.JUMP else None))
            stretch.ground[last + 1 : end] = 0
        else:
            begins = max(first, last - DOUBT_TICKS)
            stretch.ground[begins : last + 1] = UNKNOWN
            stretch.ground[last + 1 : end] = 0
            rise = _late_jump(stretch, move, last + 2, end, rounding)
            flights.append(Flight(last, Takeoff.WALK_OFF, None, landed if rise is None else None))
            if rise is not None:
                flights.append(Flight(rise, Takeoff.JUMP, None, landed, rise, fell_from=last))
    if not rests:
        stretch.ground[:] = UNKNOWN
        if (np.abs(move[1:]) > rounding).any():
            flights.append(Flight(0, Takeoff.UNSEEN, None, None))
            stretch.ground[1:] = 0
    _doubt_short_rests(stretch, move)
    stretch.rule = np.concatenate([[UNKNOWN], stretch.ground[:-1]])
    stretch.flights = flights
    stretch.flight = np.full(rows, UNKNOWN, np.int64)
    for number, flight in enumerate(flights):
        followed = number + 1 < len(flights) and flights[number + 1].fell_from == flight.begin
        last = flights[number + 1].begin if followed else flight.end if flight.end is not None else rows - 1
        stretch.flight[flight.begin + 1 : last + 1] = number
    stretch.takeoff = np.full(rows, UNKNOWN, np.float64)
    stretch.held = np.zeros(rows, np.int64)


def _doubt_short_rests(stretch: Stretch, move: np.ndarray) -> None:
    """Take back that the body is in the air where it may rest: unchanged since the first row, or for DOUBT_TICKS."""
    changes = np.flatnonzero(move[1:] != 0) + 1
    for first, after in pairwise([0, *changes.tolist(), stretch.rows]):
        rows = slice(first, after)
        if (first == 0 or after - first > DOUBT_TICKS) and (stretch.ground[rows] != 1).all():
            stretch.ground[rows] = UNKNOWN


def _late_jump(stretch: Stretch, move: np.ndarray, begin: int, end: int, rounding: float) -> int | None:
    """The row in which a press after a walk-off began a rise, None where nothing rose."""
    rises = (move[begin:end] <= -2 * rounding) & (stretch.press[begin:end] == 1)
    return begin + int(np.argmax(rises)) if rises.any() else None


def _rests(y: np.ndarray, move: np.ndarray, rounding: float) -> list[tuple[int, int, int]]:
    """Rows (first, last) in which the body surely rests on one ground, with the doubtful rows at its beginning.

    A rest is unchanged for long, or begins with a contact: the fall before was faster than the rest allows.
    """
    rows = len(y)
    changes = np.flatnonzero(move[1:] != 0) + 1
    firsts = [0, *changes.tolist()]
    lasts = [*(change - 1 for change in changes.tolist()), rows - 1]
    start = 0
    rests: list[tuple[int, int, int]] = []
    for first, last in zip(firsts, lasts, strict=True):
        length = last - first
        after = move[last + 1] if last + 1 < rows else 0.0
        if first and move[first] < 0:
            start = first
        speed = _falling_speed(y, start, first - 1, rounding)
        allowed = rounding / length if length else (after + rounding if last + 1 < rows else np.inf)
        contact = speed > max(allowed, 0.0) and (length > 0 or after <= -2 * rounding)
        if contact:
            start = first
            doubt = int(np.ceil(rounding / speed))
            rests.append((first, last, min(doubt, length)))
        elif length >= LONG_REST_TICKS:
            rests.append((first, last, 0 if first == 0 else DOUBT_TICKS))
        elif first == 0 and length >= 2 and after <= -2 * rounding and length >= DOUBT_TICKS:
            rests.append((first, last, 0))
    return rests


def _falling_speed(y: np.ndarray, start: int, row: int, rounding: float) -> float:
    """At least so fast is the fall in a row: by mean moves since `start`, after which nothing rose or rested."""
    begin = max(start, row - WINDOW)
    if row <= begin:
        return -np.inf
    means = (y[row] - y[begin:row] - rounding) / np.arange(row - begin, 0, -1)
    return float(means.max())
