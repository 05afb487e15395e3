"""Bands found in samples: which value holds at which speeds, with wrong samples outvoted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

NEW_BAND = 1.5
"""A further band must explain more samples than this that would else be wrong."""


class Ref(NamedTuple):
    """A tick of a recording: the number of its take, and its tick."""

    take: int
    tick: int


class Sample(NamedTuple):
    """One tick that shows a value at a speed (spx a tick); `other` is a second speed, where there are two keys."""

    speed: float
    value: float
    ref: Ref
    other: float = 0.0


@dataclass(frozen=True)
class Band:
    """A value and the samples that show it, with the least and greatest speed at which it was seen."""

    value: float
    least: float
    most: float
    refs: tuple[Ref, ...]
    least_other: float = 0.0


@dataclass(frozen=True)
class Bands:
    """`bands` ascend by speed; `odd` are the samples that fit none of them."""

    bands: tuple[Band, ...]
    odd: tuple[Sample, ...]

    def gap(self, index: int) -> tuple[float, float]:
        """The threshold below band `index`: more than the first, at most the second."""
        return self.bands[index - 1].most, self.bands[index].least


def find_bands(samples: Sequence[Sample]) -> Bands:
    """Return the fewest bands along the speed that explain nearly all samples.

    Notes
    -----
    The cheapest path (Viterbi, 1967) through the samples by speed: a wrong sample costs 1, a further band NEW_BAND.
    """
    ordered = sorted(samples, key=lambda sample: (sample.speed, sample.ref))
    counted = Counter(sample.value for sample in ordered)
    values = sorted(value for value, count in counted.items() if count > 1) or sorted(counted)
    if not ordered or (len(counted) > 1 and max(counted.values()) == 1):
        return Bands((), tuple(ordered))
    cost = [0.0] * len(values)
    came: list[list[int]] = []
    for sample in ordered:
        cheapest = min(range(len(values)), key=cost.__getitem__)
        chosen, grown = [], []
        for number, value in enumerate(values):
            stay = cost[number] <= cost[cheapest] + NEW_BAND
            chosen.append(number if stay else cheapest)
            grown.append((cost[number] if stay else cost[cheapest] + NEW_BAND) + (value != sample.value))
        came.append(chosen)
        cost = grown
    number = min(range(len(values)), key=cost.__getitem__)
    path = []
    for chosen in reversed(came):
        path.append(number)
        number = chosen[number]
    path.reverse()
    runs: list[tuple[float, list[Sample]]] = []
    odd = []
    for sample, number in zip(ordered, path, strict=True):
        if sample.value != values[number]:
            odd.append(sample)
            continue
        if not runs or runs[-1][0] != sample.value:
            runs.append((sample.value, []))
        runs[-1][1].append(sample)
    while clash := next((n for n in range(1, len(runs)) if runs[n][1][0].speed <= runs[n - 1][1][-1].speed), 0):
        # Two values at one speed contradict each other: the one that fewer ticks show is odd.
        weaker = clash if len(runs[clash][1]) < len(runs[clash - 1][1]) else clash - 1
        odd += runs.pop(weaker)[1]
        if 0 < weaker < len(runs) and runs[weaker - 1][0] == runs[weaker][0]:
            runs[weaker - 1][1].extend(runs.pop(weaker)[1])
    return Bands(tuple(_band(value, members) for value, members in runs), tuple(odd))


def find_pair_bands(samples: Sequence[Sample]) -> Bands:
    """Return bands by two keys, (speed, other): the last one with both thresholds at or below a sample rules it.

    Each distinct value is one band, from the least speeds at which it was seen. Values seen once, and samples that the
    bands so found would rule otherwise, are odd.
    """
    counted = Counter(sample.value for sample in samples)
    kept = [sample for sample in samples if counted[sample.value] > 1 or len(counted) == 1]
    odd = [sample for sample in samples if counted[sample.value] == 1 and len(counted) > 1]
    members: dict[float, list[Sample]] = {}
    for sample in sorted(kept, key=lambda sample: sample.ref):
        members.setdefault(sample.value, []).append(sample)
    bands = sorted(
        (_band(value, own) for value, own in members.items()), key=lambda band: (band.least, band.least_other)
    )
    for sample in kept:
        ruling = [band for band in bands if band.least <= sample.speed and band.least_other <= sample.other]
        if ruling[-1].value != sample.value:
            odd.append(sample)
    return Bands(tuple(bands), tuple(odd))


def pair_gap(bands: Bands, samples: Sequence[Sample], index: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """The thresholds (by speed, by the other key) below band `index`: each more than the first, at most the second.

    A threshold is more than a speed when a sample of an earlier band there passes the other threshold for sure.
    """
    band = bands.bands[index]
    earlier = {each.value for each in bands.bands[:index]}
    others = [sample for sample in samples if sample.value in earlier]
    by_speed = max((s.speed for s in others if s.other >= band.least_other), default=-1.0)
    by_other = max((s.other for s in others if s.speed >= band.least), default=-1.0)
    # A contradiction leaves the least threshold that the band's own samples allow.
    return (min(by_speed, band.least - 1), band.least), (min(by_other, band.least_other - 1), band.least_other)


def _band(value: float, members: Sequence[Sample]) -> Band:
    refs = tuple(sorted(sample.ref for sample in members))
    least_other = min(sample.other for sample in members)
    return Band(value, min(s.speed for s in members), max(s.speed for s in members), refs, least_other)
