"""Speeds and rates in the air, from exact positions: bands by current speed and by takeoff speed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from reach.workshop.fit.bands import Bands, Ref, Sample, find_bands, find_pair_bands, pair_gap
from reach.workshop.fit.exact_ground import vote
from reach.workshop.fit.outcome import Found, Quantity
from reach.workshop.fit.stretches import Stretch


class AirTick(NamedTuple):
    """A tick under the air's rule: speeds along the pressed direction, along the motion where none is pressed."""

    ref: Ref
    before: float
    after: float
    pressed: bool
    takeoff: float
    flight: tuple[int, int]


def air_ticks(number: int, stretch: Stretch) -> list[AirTick]:
    """The ticks of a stretch that the air's rule decides; `number` tells flights of several stretches apart."""
    ticks = []
    for i in range(2, stretch.rows):
        if stretch.rule[i] != 0:
            continue
        before, after, direction = stretch.vx[i - 1], stretch.vx[i], int(stretch.direction[i])
        sign = direction or (1 if before >= 0 else -1)
        ref = Ref(stretch.take, int(stretch.ticks[i]))
        flight = (number, int(stretch.flight[i]))
        takeoff = float(stretch.takeoff[i])
        ticks.append(AirTick(ref, float(sign * before), float(sign * after), direction != 0, takeoff, flight))
    return ticks


def fit_air(stretches: Sequence[Stretch], found: Found) -> None:
    """Add what the air's rules show."""
    ticks = [tick for number, stretch in enumerate(stretches) for tick in air_ticks(number, stretch)]
    drifting = [t for t in ticks if not t.pressed and t.before > 0 and t.after > 0]
    drag = vote([(t.before - t.after, t.ref) for t in drifting])
    if drag is not None and drag.value >= 0:
        found.add("air.drag", Quantity.RATE, drag.value, drag.value, drag.refs)
    speeding = [t for t in ticks if t.pressed and t.before >= 0]
    _accelerations(found, speeding)
    braking = [t for t in ticks if t.pressed and t.before < 0 and t.after < 0 and t.takeoff >= 0]
    samples = [Sample(-t.before, t.after - t.before, t.ref, t.takeoff) for t in braking if t.after > t.before]
    add_pair_bands(found, find_pair_bands(samples), samples)
    _top_speeds(found, speeding, None if drag is None else drag.value)


def _accelerations(found: Found, speeding: Sequence[AirTick]) -> None:
    """Steps up that the flight's top speed surely did not shorten: a greater speed was reached in the same flight."""
    reached: dict[tuple[int, int], float] = {}
    for tick in speeding:
        if tick.after > tick.before:
            reached[tick.flight] = max(reached.get(tick.flight, 0.0), tick.after)
    samples = [
        Sample(t.before, t.after - t.before, t.ref) for t in speeding if t.before < t.after < reached.get(t.flight, 0.0)
    ]
    add_bands(found, "air.acceleration", "from_speed", "value", Quantity.RATE, find_bands(samples))


def _top_speeds(found: Found, speeding: Sequence[AirTick], drag: float | None) -> None:
    """The speed that a flight stays at under the pressed direction, once it had grown or faded to it."""
    flights: dict[tuple[int, int], list[AirTick]] = {}
    for tick in speeding:
        if tick.takeoff >= 0:
            flights.setdefault(tick.flight, []).append(tick)
    samples = [
        Sample(second.takeoff, second.after, second.ref)
        for ticks in flights.values()
        for first, second in _on_end(ticks)
        if second.after == second.before > 0 and (first.after != first.before or (drag or 0) > 0)
    ]
    values = {band.value for band in find_bands(samples).bands}
    for ticks in flights.values():
        samples += _narrowed(ticks, values)
    add_bands(found, "air.top_speed", "from_takeoff_speed", "value", Quantity.SPEED, find_bands(samples))


def _on_end(ticks: Sequence[AirTick]) -> Iterator[tuple[AirTick, AirTick]]:
    """Pairs of ticks in direct succession."""
    for first, second in pairwise(ticks):
        if second.ref.tick == first.ref.tick + 1 and first.after == second.before:
            yield first, second


def _narrowed(ticks: Sequence[AirTick], values: set[float]) -> list[Sample]:
    """The only known top speed that a flight allows: none that it grew past, none that it did not grow to."""
    grown = max((tick.after for tick in ticks if tick.after > tick.before), default=0.0)
    stayed = min((tick.after for tick in ticks if tick.after == tick.before > 0), default=float("inf"))
    possible = [value for value in values if grown <= value <= stayed]
    if len(possible) == 1 and len(values) > 1:
        return [Sample(ticks[0].takeoff, possible[0], ticks[0].ref)]
    return []


def add_bands(found: Found, path: str, key: str, name: str, quantity: Quantity, bands: Bands) -> None:
    """Add a list of bands by one speed."""
    found.counts[path] = len(bands.bands)
    found.seen[path] = max((band.most for band in bands.bands), default=0.0)
    for index, band in enumerate(bands.bands):
        found.add(f"{path}[{index}].{name}", quantity, band.value, band.value, band.refs)
        if index:
            low, high = bands.gap(index)
            refs = (*bands.bands[index - 1].refs[-1:], *band.refs[:1])
            found.add(f"{path}[{index}].{key}", Quantity.SPEED, low + 1, high, refs, threshold=True)


def add_pair_bands(found: Found, bands: Bands, samples: Sequence[Sample]) -> None:
    """Add the list of bands by speed and takeoff speed."""
    path = "air.reverse_deceleration"
    found.seen[path] = max((max(sample.speed, sample.other) for sample in samples), default=0.0)
    found.counts[path] = len(bands.bands)
    for index, band in enumerate(bands.bands):
        found.add(f"{path}[{index}].value", Quantity.RATE, band.value, band.value, band.refs)
        if index:
            gaps = pair_gap(bands, samples, index)
            for key, (low, high) in zip(("from_speed", "from_takeoff_speed"), gaps, strict=True):
                found.add(f"{path}[{index}].{key}", Quantity.SPEED, low + 1, high, band.refs[:1], threshold=True)
