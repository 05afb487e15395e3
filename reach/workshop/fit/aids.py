"""Help with timing: late presses (coyote), early presses (buffer) and dropping through."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy

from reach.kernels.next_speeds import FLYING, RUNNING, WALKING
from reach.kernels.params import Motion
from reach.workshop.fit.bands import Ref
from reach.workshop.fit.exact_ground import add_ticks_bounds
from reach.workshop.fit.outcome import Found, Quantity
from reach.workshop.fit.replay import rules_of
from reach.workshop.fit.stretches import Flight, Stretch, Takeoff


def fit_aids(stretches: Sequence[Stretch], found: Found) -> None:
    """Add how late and how early a press still works, and whether the body drops through."""
    late: tuple[dict[int, list[Ref]], dict[int, list[Ref]]] = ({}, {})
    early: tuple[dict[int, list[Ref]], dict[int, list[Ref]]] = ({}, {})
    drops = []
    for stretch in stretches:
        for number, flight in enumerate(stretch.flights):
            following = stretch.flights[number + 1] if number + 1 < len(stretch.flights) else None
            if flight.kind == Takeoff.DROP:
                drops.append(Ref(stretch.take, int(stretch.ticks[flight.begin])))
            if flight.kind == Takeoff.WALK_OFF:
                _late(stretch, flight, following, late)
            _early(stretch, flight, following, early)
    add_ticks_bounds(found, "help.coyote_ticks", *late)
    add_ticks_bounds(found, "help.buffer_ticks", *early)
    if drops:
        found.add("help.drop_through", Quantity.CHOICE, 1, 1, tuple(drops))


def mark_first_tick_jumps(stretches: Sequence[Stretch], motions: Sequence[Motion]) -> None:
    """Mark the jumps in the very tick after a walk-off: only the air's rule explains their speed along the ground.

    Their vertical moves are those of a jump from the ground.
    """
    for stretch in stretches:
        rules = None
        for number in range(len(stretch.flights) - 1, -1, -1):
            flight = stretch.flights[number]
            i = flight.begin
            if flight.kind != Takeoff.JUMP or flight.press != i or i < 2 or stretch.rule[i] != 1:
                continue
            if rules is None:
                fallen = _after_walk_offs(stretch)
                rules = rules_of(fallen, motions)
            walked = {int(rules.moving[i, column]) for column in (WALKING, RUNNING)}
            sure = rules.moving_sure[i, [WALKING, RUNNING, FLYING]].all()
            move = int(stretch.vx[i])
            if sure and move == rules.moving[i, FLYING] and move not in walked:
                speed = abs(float(stretch.vx[i - 1]))
                stretch.ground[i - 1] = stretch.rule[i] = 0
                stretch.takeoff[i] = speed
                flight.fell_from = i - 1
                stretch.flights.insert(number, Flight(i - 1, Takeoff.WALK_OFF, speed))
                stretch.flight[stretch.flight >= number] += 1
                stretch.flight[i] = number


def _after_walk_offs(stretch: Stretch) -> Stretch:
    """A copy in which each jump's tick is ruled as after a walk-off in the tick before it."""
    fallen = copy(stretch)
    fallen.flights = []
    fallen.takeoff = stretch.takeoff.copy()
    for flight in stretch.flights:
        if flight.kind == Takeoff.JUMP:
            fallen.takeoff[flight.begin] = abs(stretch.vx[flight.begin - 1])
    return fallen


def _late(
    stretch: Stretch,
    flight: Flight,
    following: Flight | None,
    found: tuple[dict[int, list[Ref]], dict[int, list[Ref]]],
) -> None:
    """The first press after a walk-off: it works in the n-th tick where the help lasts n ticks (rule 3)."""
    last = flight.end if flight.end is not None else stretch.rows - 1
    answered = following is not None and following.fell_from == flight.begin
    if answered and following is not None:
        # A press before the walk-off may have waited; only one after it tells.
        if following.press == following.begin:
            age = following.begin - flight.begin
            found[0].setdefault(age, []).append(Ref(stretch.take, int(stretch.ticks[following.begin])))
        last = following.begin - 1
    for i in range(flight.begin + 1, last + 1):
        if stretch.press[i]:
            found[1].setdefault(i - flight.begin, []).append(Ref(stretch.take, int(stretch.ticks[i])))


def _early(
    stretch: Stretch,
    flight: Flight,
    following: Flight | None,
    found: tuple[dict[int, list[Ref]], dict[int, list[Ref]]],
) -> None:
    """The last press before a landing: it works if it is not older than the buffer in the first tick after."""
    if flight.end is None or flight.end + 1 >= stretch.rows:
        return
    pressed = [i for i in range(flight.begin + 1, flight.end + 1) if stretch.press[i]]
    if not pressed or stretch.press[flight.end + 1]:
        return
    first = flight.end + 1
    ref = Ref(stretch.take, int(stretch.ticks[first]))
    age = first - pressed[-1]
    if following is not None and following.begin == first and following.kind == Takeoff.JUMP:
        found[0].setdefault(age, []).append(ref)
    elif stretch.vy[first] == 0 and stretch.jump[first]:
        # With the button up again, a jump that is cut may move nothing: only a button that is still down tells.
        found[1].setdefault(age, []).append(ref)
