"""Launches, gravities, the cut and the terminal speed, from exact positions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from reach.wording import count_words
from reach.workshop.fit.bands import Bands, Ref, Sample, find_bands
from reach.workshop.fit.exact_ground import VOTES_FOR_A_CLAIM, Vote, vote
from reach.workshop.fit.outcome import Found, Missing, Quantity
from reach.workshop.fit.stretches import Flight, Stretch, Takeoff

RELEASES = "Press jump and let go of it 3 ticks later, while the body still rises fast; twice."


class Release(NamedTuple):
    """A tick in which a held jump's button came up: the vertical moves before and in it, and the takeoff speed."""

    before: float
    after: float
    takeoff: float
    ref: Ref


def fit_flights(stretches: Sequence[Stretch], found: Found) -> None:
    """Add what the vertical rules show."""
    terminal = _terminal(stretches)
    if terminal is not None:
        found.add("fall.terminal_speed", Quantity.SPEED, terminal.value, terminal.value, terminal.refs)
    most = float("inf") if terminal is None else terminal.value
    launches, held, released, releases = [], [], [], []
    for stretch in stretches:
        for number, flight in enumerate(stretch.flights):
            if flight.speed is None:
                continue
            ref = Ref(stretch.take, int(stretch.ticks[flight.begin]))
            if flight.kind == Takeoff.JUMP and stretch.held[flight.begin] == 1:
                launches.append(Sample(flight.speed, -float(stretch.vy[flight.begin]), ref))
            held_here, released_here = [], []
            for i in _gravity_rows(stretch, number, flight):
                change = float(stretch.vy[i] - stretch.vy[i - 1])
                row = Sample(flight.speed, change, Ref(stretch.take, int(stretch.ticks[i])))
                if stretch.held[i] == 1:
                    held_here.append(row)
                elif stretch.held[i - 1] == 1 and stretch.vy[i - 1] < 0 and not stretch.jump[i]:
                    releases.append(Release(float(stretch.vy[i - 1]), float(stretch.vy[i]), flight.speed, row.ref))
                elif 0 < stretch.vy[i] < most or stretch.vy[i] <= 0:
                    released_here.append(row)
            held += _of_one_value(held_here)
            released += _of_one_value([row for row in released_here if row.value > 0])
    _jump_bands(found, find_bands(launches), find_bands(held), find_bands(released))
    _release(found, releases)
    _launch_tick(found, stretches)


def _of_one_value(rows: list[Sample]) -> list[Sample]:
    """The rows of a flight without those that a wrong position bent: its gravity is one, where most of them agree."""
    (value, count), *_ = Counter(row.value for row in rows).most_common(1) or [(0.0, 0)]
    return [row for row in rows if row.value == value] if 2 * count > len(rows) else rows


def _terminal(stretches: Sequence[Stretch]) -> Vote | None:
    """The falling speed that stays."""
    stays = []
    for stretch in stretches:
        for i in range(2, stretch.rows):
            if stretch.vy[i] == stretch.vy[i - 1] > 0 and stretch.rule[i] == 0 and stretch.ground[i] == 0:
                stays.append((float(stretch.vy[i]), Ref(stretch.take, int(stretch.ticks[i]))))
    return vote(stays)


def _gravity_rows(stretch: Stretch, number: int, flight: Flight) -> range:
    """Rows of a flight in which gravity alone changes the vertical move: after the takeoff, before the landing."""
    first = flight.begin + 1
    if flight.kind == Takeoff.SPRING:
        first += 1  # what a spring launches with is not seen before the first move
    last = (
        flight.end
        if flight.end is not None
        else (stretch.flights[number + 1].begin if number + 1 < len(stretch.flights) else stretch.rows)
    )
    if flight.kind == Takeoff.DROP:
        first += 1  # the drop itself moves by 1 spx without a speed
    return range(max(first, 2), last)


def _jump_bands(found: Found, launches: Bands, held: Bands, released: Bands) -> None:
    """One list of bands from three: a threshold seen in one splits all."""
    lists = {"launch_speed": launches, "gravity_held": held, "gravity": released}
    gaps = sorted(each.gap(index) for each in lists.values() for index in range(1, len(each.bands)))
    merged: list[tuple[float, float]] = []
    for low, high in gaps:
        if merged and low < merged[-1][1]:
            merged[-1] = (max(low, merged[-1][0]), min(high, merged[-1][1]))
        else:
            merged.append((low, high))
    found.counts["jump.bands"] = len(merged) + 1
    found.seen["jump.bands"] = max((band.most for each in lists.values() for band in each.bands), default=0.0)
    lows = [-1.0, *(low for low, _ in merged)]
    highs = [*(high for _, high in merged), float("inf")]
    for index in range(len(merged) + 1):
        path = f"jump.bands[{index}]"
        if index:
            low, high = merged[index - 1]
            found.add(f"{path}.from_takeoff_speed", Quantity.SPEED, low + 1, high, (), threshold=True)
        for name, bands in lists.items():
            # What was seen between the last takeoff surely below and the first surely above belongs to neither.
            reach = (merged[index - 1][1] if index else 0.0, merged[index][0] if index < len(merged) else float("inf"))
            for band in bands.bands:
                if (
                    band.most >= reach[0]
                    and band.least <= reach[1]
                    and band.least < highs[index]
                    and band.most > lows[index]
                ):
                    quantity = Quantity.SPEED if name == "launch_speed" else Quantity.RATE
                    found.add(f"{path}.{name}", quantity, band.value, band.value, band.refs)


def _release(found: Found, releases: Sequence[Release]) -> None:
    """What the release of the button does to a rise: the rule, nothing but gravity or a cut, that explains the most.

    A release of a rise that is slower than the cut looks the same under both.
    """
    told = [(release, gravity) for release in releases if (gravity := gravity_at(found, release.takeoff, "gravity"))]
    cuts = Counter(
        gravity - release.after
        for release, gravity in told
        if release.after > release.before + gravity and gravity >= release.after
    )
    free = [release for release, gravity in told if release.after == release.before + gravity]
    best, cut = len(free), None
    for value in sorted(cuts):
        explained = sum(release.after == max(release.before, -value) + gravity for release, gravity in told)
        if explained > best:
            best, cut = explained, value
    if not told:
        return
    refs = tuple(release.ref for release, _ in told)
    if cut is not None and cuts[cut] >= VOTES_FOR_A_CLAIM and best * 2 > len(told):
        shown = tuple(release.ref for release, gravity in told if gravity - release.after == cut)
        found.add("jump.on_release.cut_speed", Quantity.SPEED, cut, cut, shown)
    elif cut is None and best * 2 > len(told):
        found.seen["jump.on_release"] = max(-release.before for release in free)
        found.add("jump.on_release", Quantity.CHOICE, 0, 0, tuple(release.ref for release in free))
    else:
        alike = f"{len(free)} of {count_words(len(refs), 'release')} {'are' if len(free) != 1 else 'is'}"
        why = f"in doubt: {alike} by gravity alone, and no cut explains the rest in two ticks or more"
        found.missing["jump.on_release"] = Missing("jump.on_release", why, RELEASES)


def gravity_at(found: Found, takeoff: float, name: str) -> float | None:
    """A value of the jump band that surely rules a takeoff speed; None where that is not known."""
    for index in range(found.counts.get("jump.bands", 0)):
        above = found.estimates.get(f"jump.bands[{index + 1}].from_takeoff_speed")
        own = found.estimates.get(f"jump.bands[{index}].from_takeoff_speed")
        if (own is None or takeoff >= own.high) and (above is None or takeoff < above.low):
            return found.value(f"jump.bands[{index}].{name}")
    return None


def _launch_tick(found: Found, stretches: Sequence[Stretch]) -> None:
    """Whether gravity acts in the tick of the takeoff: a jump whose button is up again at takeoff tells.

    Held takeoffs alone cannot: launching slower without it looks the same.
    """
    cut = found.value("jump.on_release.cut_speed")
    yes, no = [], []
    for stretch in stretches:
        for flight in stretch.flights:
            if flight.kind != Takeoff.JUMP or flight.speed is None or stretch.held[flight.begin] != 0:
                continue
            launch, held, released = (
                gravity_at(found, flight.speed, name) for name in ("launch_speed", "gravity_held", "gravity")
            )
            if launch is None or held is None or released is None:
                continue
            move = float(stretch.vy[flight.begin])
            ref = Ref(stretch.take, int(stretch.ticks[flight.begin]))
            plain, slow = -launch, -(launch + held)
            if cut is not None:
                plain, slow = max(plain, -cut), max(slow, -cut)
            if move == plain != slow + released:
                no.append(ref)
            elif move == slow + released != plain:
                yes.append(ref)
    if len(yes) != len(no):
        acts = int(len(yes) > len(no))
        found.add("jump.launch_tick_gravity", Quantity.CHOICE, acts, acts, tuple(yes if acts else no))


def settle_launches(found: Found, assumed: bool) -> None:
    """Count gravity in the tick of the takeoff into the launch speeds, where it acts (or is assumed to).

    What was seen is the first move of a rise: the launch speed less that gravity.
    """
    told = found.estimates.get("jump.launch_tick_gravity")
    if not (bool(told.low) if told is not None else assumed):
        return
    for index in range(found.counts.get("jump.bands", 0)):
        path = f"jump.bands[{index}].launch_speed"
        launch, gravity = found.estimates.get(path), found.estimates.get(f"jump.bands[{index}].gravity_held")
        if launch is None:
            continue
        if gravity is None:
            del found.estimates[path]
            continue
        low, high = launch.low + gravity.low, launch.high + gravity.high
        found.add(path, Quantity.SPEED, low, high, launch.refs)
