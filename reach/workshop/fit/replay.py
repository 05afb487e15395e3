"""The fitted profile held against the recording, tick by tick, with the project's own rules.

Each tick is predicted from the recorded ticks before it. What the ground and the walls do is read off the recording: a
landing, a wall or a ceiling may cut a move short, and then the speed is 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reach.kernels.next_speeds import (
    COLUMNS,
    FLYING,
    RISING_OR_FALLING,
    RUNNING,
    TAKING_OFF,
    WALKING,
    fill_next_speeds,
)
from reach.kernels.params import Motion
from reach.movement import SPX_PER_PX
from reach.workshop.fit.bands import Ref
from reach.workshop.fit.exact_ground import run_ages
from reach.workshop.fit.outcome import Replayed, Residual
from reach.workshop.fit.outliers import line_of
from reach.workshop.fit.stretches import UNKNOWN, Flight, Stretch, Takeoff
from reach.workshop.recording import Recording

Rows = list[tuple[int, int | None]]
"""Rows with how far off each is, spx; None where something stopped the body."""


@dataclass(frozen=True, eq=False)
class Rules:
    """What the rules make of every row, from the recorded speeds before it and from a speed of 0.

    int64 [rows, COLUMNS]; `sure` tells where the profile, as far as it was found, decides (all ways to fill in the rest
    agree). `memory` is the profile's run memory, in ticks.
    """

    moving: np.ndarray
    moving_sure: np.ndarray
    stopped: np.ndarray
    stopped_sure: np.ndarray
    memory: int


def rules_of(stretch: Stretch, motions: Sequence[Motion]) -> Rules:
    """Return what the rules make of every row.

    Parameters
    ----------
    stretch : Stretch
        Labelled, with exact positions.
    motions : sequence of Motion
        The fitted profile, what was not found filled in differently in each.
    """
    vx, vy = (np.concatenate([[0], moves[:-1]]).astype(np.int64) for moves in (stretch.vx, stretch.vy))
    held = np.concatenate([[0], stretch.held[:-1] == 1]).astype(np.int64)
    takeoff = np.maximum(stretch.takeoff, 0).astype(np.int64)
    for flight in stretch.flights:
        if flight.kind == Takeoff.JUMP and flight.speed is not None and stretch.rule[flight.begin] == 1:
            takeoff[flight.begin] = int(flight.speed)
    nothing = np.zeros_like(vx)
    tables = []
    for speeds in ((vx, vy), (nothing, nothing)):
        made = []
        for motion in motions:
            table = np.zeros((stretch.rows, COLUMNS), np.int64)
            fill_next_speeds(*speeds, stretch.direction, stretch.jump, held, takeoff, table, motion)
            made.append(table)
        tables.append((made[0], np.all([table == made[0] for table in made], axis=0)))
    return Rules(*tables[0], *tables[1], int(motions[0].run_memory))


def replay(recording: Recording, stretches: Sequence[Stretch], motions: Sequence[Motion]) -> Replayed:
    """Return how far each row lies from what the rules make of the rows before it.

    Parameters
    ----------
    recording : Recording
        With exact positions.
    stretches : sequence of Stretch
        Labelled.
    motions : sequence of Motion
        The fitted profile, what was not found filled in differently in each: where they disagree, nothing is judged.
    """
    judged = contacts = 0
    residuals = []
    right = []
    for stretch in stretches:
        rules = rules_of(stretch, motions)
        for axis, rows in (("x", _sideways(stretch, rules)), ("y", _vertically(stretch, rules))):
            for row, off in rows:
                judged += 1
                ref = Ref(stretch.take, int(stretch.ticks[row]))
                if off is None:
                    contacts += 1
                elif off:
                    residuals.append(Residual(ref, line_of(recording, ref), axis, off / SPX_PER_PX))
                else:
                    right.append((ref, axis, 0.0))
    residuals.sort(key=lambda residual: (residual.ref, residual.axis))
    return Replayed(judged, contacts, tuple(residuals), tuple(right))


def _aim_x(stretch: Stretch, rules: Rules, i: int, age: int, stopped: bool) -> int | None:
    """The speed that the rules give row `i`, None where it is not known which rule decides."""
    table, sure = (rules.stopped, rules.stopped_sure) if stopped else (rules.moving, rules.moving_sure)
    if stretch.rule[i] == 1:
        column = RUNNING if 0 <= age <= rules.memory else WALKING
        if age == UNKNOWN and table[i, RUNNING] != table[i, WALKING]:
            return None
    elif stretch.rule[i] == 0 and stretch.takeoff[i] >= 0:
        column = FLYING
    else:
        return None
    return int(table[i, column]) if sure[i, column] else None


def _sideways(stretch: Stretch, rules: Rules) -> Rows:
    ages = run_ages(stretch)
    rows: Rows = []
    stopped = False
    for i in range(2, stretch.rows):
        aim = _aim_x(stretch, rules, i, ages[i], stopped)
        move = int(stretch.vx[i])
        stopped = False
        if aim is None:
            continue
        if move == aim:
            rows.append((i, 0))
        elif 0 <= move * (1 if aim > 0 else -1) < abs(aim) and _stops(stretch, rules, i, ages):
            rows.append((i, None))
            stopped = True
        else:
            rows.append((i, move - aim))
    return rows


def _stops(stretch: Stretch, rules: Rules, i: int, ages: Sequence[int]) -> bool:
    """Whether the tick after `i` goes on from a speed of 0, as after a wall (or stands before it still).

    At the end of a stretch nothing speaks against a wall.
    """
    if i + 1 >= stretch.rows:
        return True
    move = int(stretch.vx[i + 1])
    return move == 0 or move == _aim_x(stretch, rules, i + 1, ages[i + 1], True)


def _vertically(stretch: Stretch, rules: Rules) -> Rows:
    begins = {flight.begin: flight for flight in stretch.flights}
    rows: Rows = []
    known, stopped = False, False
    for i in range(1, stretch.rows):
        move = int(stretch.vy[i])
        flight = begins.get(i)
        aim = _aim_y(stretch, rules, i, flight, known, stopped)
        if flight is not None and flight.kind != Takeoff.JUMP:
            # A walk-off and a drop leave without a speed; a spring's launch and what was not seen are not judged.
            known = stopped = flight.kind in (Takeoff.WALK_OFF, Takeoff.DROP)
            continue
        known, stopped = True, stretch.ground[i] != 0
        if aim is None:
            continue
        if stretch.ground[i] == 1 and stretch.rule[i] == 0:
            rows.append((i, 0 if 0 <= move < aim or (aim <= 0 and move == 0) else move - aim))
        elif move == aim:
            rows.append((i, 0))
        elif aim < move <= 0:
            rows.append((i, None))
            stopped = True
        else:
            rows.append((i, move - aim))
    return rows


def _aim_y(stretch: Stretch, rules: Rules, i: int, flight: Flight | None, known: bool, stopped: bool) -> int | None:
    """The vertical speed that the rules give row `i`, None where it is not known."""
    if flight is not None:
        if (
            flight.kind != Takeoff.JUMP
            or flight.speed is None
            or stretch.rule[i] != 1
            or not rules.moving_sure[i, TAKING_OFF]
        ):
            return None
        return int(rules.moving[i, TAKING_OFF])
    if stretch.rule[i] == 1:
        return 0 if stretch.ground[i] == 1 else None
    if stretch.rule[i] != 0 or not known or stretch.takeoff[i] < 0:
        return None
    table, sure = (rules.stopped, rules.stopped_sure) if stopped else (rules.moving, rules.moving_sure)
    return int(table[i, RISING_OR_FALLING]) if sure[i, RISING_OR_FALLING] else None
