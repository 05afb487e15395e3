"""The segments of a recording: what the body did in which ticks, along the ground and off it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from reach.workshop.fit.exact_ground import run_ages
from reach.workshop.fit.outcome import Found, Segment
from reach.workshop.fit.rounded_spans import Course, Gait, Span
from reach.workshop.fit.stretches import UNKNOWN, Stretch, Takeoff

WITHOUT_PRESS = "rise without a press"
"""A spring's launch, or a jump whose button is not in the recording."""
KINDS = (
    "standing",
    "walk attack",
    "walk sustain",
    "run attack",
    "run sustain",
    "run memory",
    "coast",
    "reverse",
    "rise held",
    "rise released",
    WITHOUT_PRESS,
    "fall",
    "terminal fall",
    "landing",
    "walk-off",
    "drop through",
    "air acceleration",
    "air sustain",
    "air reverse",
    "air drift",
)


def segments(stretches: Sequence[Stretch], found: Found) -> list[Segment]:
    """Return the segments of all stretches, by take and first tick."""
    made: list[Segment] = []
    for stretch in stretches:
        made += _runs(stretch, _along(stretch, found))
        made += _runs(stretch, _off_ground(stretch))
    return sorted(made, key=lambda segment: (segment.take, segment.first, segment.last, segment.kind))


def _runs(stretch: Stretch, kinds: Iterable[str | None]) -> list[Segment]:
    made: list[Segment] = []
    last: str | None = None
    for tick, kind in zip(stretch.ticks.tolist(), kinds, strict=True):
        if kind is not None:
            if kind == last:
                made[-1] = Segment(stretch.take, made[-1].first, tick, kind)
            else:
                made.append(Segment(stretch.take, tick, tick, kind))
        last = kind
    return made


def _along(stretch: Stretch, found: Found) -> list[str | None]:
    """The kind of each row, by what its buttons did to the speed along the ground."""
    ages = run_ages(stretch)
    memory = found.estimates.get("ground.run.memory_ticks")
    kinds: list[str | None] = [None, None]
    for i in range(2, stretch.rows):
        before, after, direction = stretch.vx[i - 1], stretch.vx[i], stretch.direction[i]
        grows = abs(after) > abs(before)
        if stretch.rule[i] == UNKNOWN:
            kinds.append(None)
        elif direction and direction * before < 0:
            kinds.append("reverse" if stretch.rule[i] else "air reverse")
        elif stretch.rule[i] == 0:
            kinds.append(("air acceleration" if grows else "air sustain") if direction else "air drift")
        elif not direction:
            kinds.append("standing" if before == 0 and after == 0 else "coast")
        elif memory is not None and 0 < ages[i] <= memory.low:
            kinds.append("run memory")
        else:
            gait = "run" if ages[i] == 0 and found.counts.get("ground.run") else "walk"
            kinds.append(f"{gait} {'attack' if grows else 'sustain'}")
    return kinds


def _off_ground(stretch: Stretch) -> list[str | None]:
    """The kind of each row by its vertical move; None on the ground."""
    kinds: list[str | None] = [None]
    begins = {flight.begin: flight for flight in stretch.flights}
    unasked = {number for number, flight in enumerate(stretch.flights) if flight.kind == Takeoff.SPRING}
    for i in range(1, stretch.rows):
        flight = begins.get(i)
        if flight is not None and flight.kind == Takeoff.WALK_OFF:
            kinds.append("walk-off")
        elif flight is not None and flight.kind == Takeoff.DROP:
            kinds.append("drop through")
        elif stretch.rule[i] == 0 and stretch.ground[i] == 1:
            kinds.append("landing")
        elif stretch.ground[i] != 0:
            kinds.append(None)
        elif stretch.vy[i] < 0:
            released = WITHOUT_PRESS if stretch.flight[i] in unasked else "rise released"
            kinds.append("rise held" if stretch.held[i] == 1 else released)
        else:
            kinds.append("terminal fall" if stretch.vy[i] == stretch.vy[i - 1] > 0 else "fall")
    return kinds


def rounded_segments(stretches: Sequence[Stretch], spans: Sequence[Span]) -> list[Segment]:
    """Return the segments of a recording with rounded positions, as far as rounding lets them be told apart."""
    made: list[Segment] = []
    for span in spans:
        ticks = span.stretch.ticks
        first, last = int(ticks[span.first + 1]), int(ticks[span.first + span.ticks])
        made.append(Segment(span.stretch.take, first, last, _kind(span)))
    for stretch in stretches:
        for flight in stretch.flights:
            if flight.kind == Takeoff.UNSEEN:
                continue
            end = flight.end if flight.end is not None else stretch.rows - 1
            top = flight.begin + int(np.argmin(stretch.y[flight.begin : end + 1]))
            if top > flight.begin:
                held = "held" if stretch.jump[flight.begin : top].all() else "released"
                kind = WITHOUT_PRESS if flight.kind == Takeoff.SPRING else f"rise {held}"
                made.append(Segment(stretch.take, int(stretch.ticks[flight.begin]), int(stretch.ticks[top]), kind))
            if end > top:
                made.append(Segment(stretch.take, int(stretch.ticks[top + 1]), int(stretch.ticks[end]), "fall"))
    return sorted(made, key=lambda segment: (segment.take, segment.first, segment.last, segment.kind))


def _kind(span: Span) -> str:
    grows = span.course is Course.GROWS
    if not span.direction:
        still = span.position[0] == span.position[-1]
        return "air drift" if span.rule == 0 else "standing" if still else "coast"
    if span.high[1] < 0 and span.course is not Course.SHRINKS:
        return "reverse" if span.rule else "air reverse"
    if span.rule == 0:
        return "air acceleration" if grows else "air sustain"
    if span.gait is Gait.EITHER:
        return "run memory"
    return f"{'run' if span.gait is Gait.RUN else 'walk'} {'attack' if grows else 'sustain'}"
