"""Stretches of consecutive ticks, and what follows from exact positions alone: ground, flights, held jumps.

Only differences of positions are used, so neither the body's size nor the height of any ground matters.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

import numpy as np

from reach.workshop.recording import Recording, Take

UNKNOWN = -1
MIN_ROWS = 3


class Takeoff(StrEnum):
    """How a flight began."""

    JUMP = "jump"
    SPRING = "spring"
    WALK_OFF = "walk-off"
    DROP = "drop"
    UNSEEN = "unseen"


@dataclass(eq=False)
class Flight:
    """One flight in a stretch: from the tick that leaves the ground to the tick that lands.

    `begin` is the row of the tick that leaves the ground: a jump rises in it, all others move vertically from the next
    on. `end` is the row of the landing, None where none was seen. `speed` is the takeoff speed (spx a tick), None where
    it was not seen. `press` is the row of the press that a jump answers, `fell_from` that of the walk-off that a jump
    in the air came after.
    """

    begin: int
    kind: Takeoff
    speed: float | None
    end: int | None = None
    press: int | None = None
    fell_from: int | None = None


@dataclass(eq=False)
class Stretch:
    """Rows with consecutive ticks. All arrays have one entry a row; what row 0 cannot tell is 0 or UNKNOWN there.

    `vx` and `vy` are the moves in the tick (spx). `ground` is the state after the tick: 1 on ground, 0 in the air,
    UNKNOWN. `rule` is the same before the tick, which decides the horizontal rule. `held` is 1 where the held gravity
    acts in the tick. `takeoff` is the takeoff speed that rules the tick, UNKNOWN where it is not known.
    """

    take: int
    first_row: int
    ticks: np.ndarray
    x: np.ndarray
    y: np.ndarray
    vx: np.ndarray
    vy: np.ndarray
    direction: np.ndarray
    down: np.ndarray
    run: np.ndarray
    jump: np.ndarray
    press: np.ndarray
    ground: np.ndarray = field(init=False)
    rule: np.ndarray = field(init=False)
    held: np.ndarray = field(init=False)
    takeoff: np.ndarray = field(init=False)
    flight: np.ndarray = field(init=False)
    flights: list[Flight] = field(init=False, default_factory=list)

    @property
    def rows(self) -> int:
        """How many rows the stretch has."""
        return len(self.ticks)


def cut_into_stretches(recording: Recording) -> list[Stretch]:
    """The stretches of a recording, in its order; pieces of fewer than MIN_ROWS rows are left out."""
    stretches = []
    for number, take in enumerate(recording.takes):
        gaps = np.flatnonzero(np.diff(take.ticks) != 1) + 1
        bounds = [0, *gaps.tolist(), len(take.ticks)]
        for begin, end in pairwise(bounds):
            if end - begin >= MIN_ROWS:
                stretches.append(_stretch(number, take, begin, end))
    return stretches


def _stretch(number: int, take: Take, begin: int, end: int) -> Stretch:
    rows = slice(begin, end)
    x, y, inputs = take.x_spx[rows], take.y_spx[rows], take.inputs[rows]
    jump = inputs[:, 3]
    press = np.concatenate([[0], (jump[1:] == 1) & (jump[:-1] == 0)]).astype(np.int64)
    return Stretch(
        take=number,
        first_row=begin,
        ticks=take.ticks[rows],
        x=x,
        y=y,
        vx=np.diff(x, prepend=x[:1]),
        vy=np.diff(y, prepend=y[:1]),
        direction=inputs[:, 0],
        down=inputs[:, 1],
        run=inputs[:, 2],
        jump=jump,
        press=press,
    )


def label(stretch: Stretch) -> None:
    """Fill in ground, flights and held jumps, from exact positions."""
    stretch.ground = _ground(stretch.vy.tolist(), stretch.down.tolist())
    stretch.rule = np.concatenate([[UNKNOWN], stretch.ground[:-1]])
    stretch.flights = _flights(stretch)
    _hold(stretch)


def _ground(vy: list[float], down: list[int]) -> np.ndarray:
    """Whether the body stands on ground after each tick, by the vertical moves (motion model, rules 3 and 5).

    In the air the move only grows from tick to tick, by at least 1; so two moves of 0 on end are ground, and a move
    that stops growing while falling is a landing.
    """
    rows = len(vy)
    after = [UNKNOWN] * rows
    if rows > 2 and vy[1] == 0 and vy[2] == 0:
        after[0] = 1
    for i in range(1, rows):
        move, before = vy[i], after[i - 1]
        follows = vy[i + 1] if i + 1 < rows else None
        last = vy[i - 1] if i > 1 else None
        drops_next = i + 1 < rows and down[i + 1] == 1 and follows == 1 and i + 2 < rows and vy[i + 2] > 0
        if move < 0:
            after[i] = 0
        elif move > 0:
            if before == 1:
                after[i] = 0  # a drop through: rule 3b moves by 1 spx; anything else is an outlier
            elif follows is None:
                after[i] = UNKNOWN
            else:
                after[i] = 1 if follows <= 0 or (drops_next and move > 1) else 0
        elif before == 0:
            after[i] = 0 if last is not None and last < 0 else 1
        elif before == 1:
            after[i] = 0 if follows is not None and follows > 0 and not drops_next else 1
        elif last is not None:
            after[i] = 0 if last < 0 or (follows is not None and follows > 0) else 1
        elif follows is not None:
            after[i] = 0 if follows > 0 else 1
    return np.array(after, np.int64)


def _flights(stretch: Stretch) -> list[Flight]:
    """Cut the rows off the ground into flights."""
    ground, vy, vx = stretch.ground.tolist(), stretch.vy.tolist(), stretch.vx.tolist()
    press = stretch.press.tolist()
    flights: list[Flight] = []
    current: Flight | None = None
    rows = stretch.rows
    pressed: int | None = None
    for i in range(1, rows):
        if press[i]:
            pressed = i
        rises_anew = vy[i] < 0 and (ground[i - 1] == 1 or (i > 1 and vy[i - 1] >= 0))
        if rises_anew:
            fell_from = current.begin if current is not None and current.kind == Takeoff.WALK_OFF else None
            if current is not None and current.end is None and ground[i - 1] == 1:
                current.end = i - 1
            came_by_air = fell_from is not None and _fell_freely(vy, fell_from, i - 1)
            if came_by_air and current is not None:
                ground[i - 1] = stretch.ground[i - 1] = stretch.rule[i] = 0
                current.end = None
            buffered = pressed is not None and current is not None and pressed > current.begin and current.end == i - 1
            if pressed == i or buffered:
                current = Flight(
                    i, Takeoff.JUMP, abs(vx[i]), press=pressed, fell_from=fell_from if came_by_air else None
                )
            else:
                # A spring launches at the end of a tick; the next one rises, in the air already (rule 6).
                ground[i - 1] = stretch.ground[i - 1] = stretch.rule[i] = 0
                current = Flight(i - 1, Takeoff.SPRING, abs(vx[i - 1]))
            flights.append(current)
            pressed = None
        elif ground[i] == 0 and ground[i - 1] == 1:
            kind = Takeoff.WALK_OFF if vy[i] == 0 else Takeoff.DROP
            current = Flight(i, kind, abs(vx[i]))
            flights.append(current)
            pressed = None if pressed != i else i
        elif ground[i] == 0 and current is None and not flights:
            current = Flight(i, Takeoff.UNSEEN, None)
            flights.append(current)
        if current is not None and ground[i] == 1:
            if current.end is None and i > current.begin:
                current.end = i
            current = current if i + 1 < rows and vy[i + 1] < 0 else None
    return flights


def _fell_freely(vy: list[float], walk_off: int, row: int) -> bool:
    """Whether the fall since a walk-off was a steady growth up to `row`, so that nothing was landed on."""
    fall = vy[walk_off + 1 : row + 1]
    return len(fall) > 0 and all(abs(move - fall[0] * (n + 1)) < 1e-6 for n, move in enumerate(fall))


def _hold(stretch: Stretch) -> None:
    """Fill `held`, `takeoff` and `flight`: which flight rules a tick, and whether its jump is still held."""
    rows = stretch.rows
    stretch.held = np.zeros(rows, np.int64)
    stretch.takeoff = np.full(rows, UNKNOWN, np.float64)
    stretch.flight = np.full(rows, UNKNOWN, np.int64)
    for number, flight in enumerate(stretch.flights):
        following = stretch.flights[number + 1].begin if number + 1 < len(stretch.flights) else rows - 1
        last = following if flight.end is None else flight.end
        span = slice(flight.begin + 1, last + 1)
        stretch.flight[span] = number
        if flight.speed is not None:
            stretch.takeoff[span] = flight.speed
        if flight.kind == Takeoff.UNSEEN:
            stretch.held[flight.begin : last + 1] = UNKNOWN
            continue
        if flight.kind != Takeoff.JUMP:
            continue
        holds = bool(stretch.jump[flight.begin])
        stretch.held[flight.begin] = int(holds)
        for i in range(flight.begin + 1, last + 1):
            holds = holds and bool(stretch.jump[i]) and stretch.vy[i - 1] < 0
            stretch.held[i] = int(holds)
