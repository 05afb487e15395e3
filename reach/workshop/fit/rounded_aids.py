"""How long a run is remembered, and how late and early a press still works, from rounded positions."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from reach.workshop.fit.bands import Ref
from reach.workshop.fit.exact_ground import add_ticks_bounds
from reach.workshop.fit.linear_laws import possible
from reach.workshop.fit.outcome import Found, Quantity, px_interval
from reach.workshop.fit.rounded_ground import MIN_TICKS
from reach.workshop.fit.rounded_spans import LONGEST_MEMORY_TICKS, Gait, Span
from reach.workshop.fit.rounded_track import DOUBT_TICKS
from reach.workshop.fit.stretches import Stretch, Takeoff

Ages = dict[int, list[Ref]]


def fit_rounded_aids(stretches: Sequence[Stretch], spans: Sequence[Span], rounding: float, found: Found) -> None:
    """Add the counts of ticks that rounded positions bound."""
    _memory(spans, rounding, found)
    late: tuple[Ages, Ages] = ({}, {})
    early: tuple[Ages, Ages] = ({}, {})
    for stretch in stretches:
        for number, flight in enumerate(stretch.flights):
            following = stretch.flights[number + 1] if number + 1 < len(stretch.flights) else None
            jumps = following is not None and following.kind == Takeoff.JUMP
            end = flight.end
            if following is not None and jumps and following.fell_from == flight.begin:
                # The fall began in the last row that does not show it, or before: the press is at least so old.
                _add(late[0], following.begin - flight.begin, stretch, following.begin)
            if end is None or end + 2 >= stretch.rows or flight.kind == Takeoff.UNSEEN:
                continue
            pressed = [i for i in range(flight.begin + 1, end + 3) if stretch.press[i]]
            if flight.kind == Takeoff.WALK_OFF and pressed:
                # The fall may have begun up to DOUBT_TICKS before it shows: a press is at most so old.
                _add(late[1], pressed[0] - flight.begin + DOUBT_TICKS, stretch, pressed[0])
            if flight.kind != Takeoff.JUMP or not pressed:
                continue
            if following is not None and jumps and following.begin == end + 1 and pressed[-1] <= end:
                _add(early[0], end + 1 - pressed[-1], stretch, end + 1)
            elif pressed[-1] <= end and stretch.jump[pressed[-1] : end + 3].all() and _rests(stretch, end):
                # The landing is the row that shows it or the next; the first tick after it the second next at most.
                _add(early[1], end + 2 - pressed[-1], stretch, end + 2)
    add_ticks_bounds(found, "help.coyote_ticks", *late)
    add_ticks_bounds(found, "help.buffer_ticks", *early)


def _add(ages: Ages, age: int, stretch: Stretch, row: int) -> None:
    ages.setdefault(age, []).append(Ref(stretch.take, int(stretch.ticks[row])))


def _rests(stretch: Stretch, end: int) -> bool:
    """Whether the body stays where it landed."""
    after = stretch.y[end : end + DOUBT_TICKS]
    return len(after) == DOUBT_TICKS and bool((after == after[0]).all())


def _memory(spans: Sequence[Span], rounding: float, found: Found) -> None:
    """How long the top speed of the run is kept with run up: every length that the rows allow, in every take."""
    run, walk = (px_interval(found, f"ground.{gait}.top_speed") for gait in ("run", "walk"))
    coast = px_interval(found, "ground.coast_deceleration")
    if run is None or walk is None or coast is None or run[0] <= walk[1]:
        return
    lengths = set(range(LONGEST_MEMORY_TICKS + 1))
    refs: list[Ref] = []
    for before, span in pairwise(spans):
        follows = before.stretch is span.stretch and before.first + before.ticks == span.first
        if not follows or span.gait is not Gait.EITHER or before.gait is not Gait.RUN or not span.direction:
            continue
        if span.direction != before.direction or before.low[-1] < run[0] - 1e-6 or span.ticks < MIN_TICKS:
            continue
        fits = {memory for memory in lengths if _allows(span, memory, run, coast, walk[1], rounding)}
        if fits:
            lengths = fits
            refs.append(Ref(span.stretch.take, int(span.stretch.ticks[span.first + 1])))
    if refs and len(lengths) <= LONGEST_MEMORY_TICKS:
        high = float("inf") if LONGEST_MEMORY_TICKS in lengths else max(lengths)
        found.add("ground.run.memory_ticks", Quantity.TICKS, min(lengths), high, tuple(refs))


def _allows(
    span: Span, memory: int, run: tuple[float, float], coast: tuple[float, float], walk_high: float, rounding: float
) -> bool:
    """Whether a span's rows allow the run's top speed for `memory` ticks and then coasting, until near the walk's."""
    steps = int((run[0] - walk_high) / coast[1])
    last = min(span.ticks, memory + max(0, steps))
    if last < 1:
        return True
    ticks = np.arange(last + 1, dtype=np.float64)
    faded = np.maximum(ticks - memory, 0.0)
    # x0 + run*n - coast*m(m+1)/2, with m the ticks since the memory ended: linear in x0, run and coast.
    law = np.stack([np.ones_like(ticks), ticks, -faded * (faded + 1) / 2], axis=1)
    return possible(law, span.position[: last + 1], [(None, None), run, coast], rounding)
