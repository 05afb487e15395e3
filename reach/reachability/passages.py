"""A script cut at the rests on its way: what it proves about getting from rest on one foothold to rest on another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import MoveKind
from reach.kernels.contact import touch_table
from reach.kernels.params import Motion, State, Terrain
from reach.kernels.step import run_script

if TYPE_CHECKING:
    from reach.reachability.result import Foothold

X, Y, VX, VY, GROUNDED = range(5)
BUFFER, LOST, ENDED = 9, 11, 12
DOWN = 1


@dataclass(frozen=True)
class Hop:
    """One flight, walk-off, stride, drop or bounce; ticks count from the start of its passage.

    `target` is None where it ends in the passage's place. `leave_tick` is the last tick on the source,
    `arrive_tick` the first one on the target.
    """

    source: int
    target: int | None
    kind: MoveKind
    leave_tick: int
    arrive_tick: int


@dataclass(frozen=True, eq=False)
class Passage:
    """From rest on `source` to rest on `target`, or into the place with index `place` that ends the level.

    Exactly one of `target` and `place` is given. `start` is the state at rest, `inputs` (int64 [ticks, 4]) lead
    from it to the end. `hops` are the changes of foothold on the way; none where the body only walks into the
    place.
    """

    source: int
    target: int | None
    place: int | None
    start: State
    inputs: np.ndarray
    hops: tuple[Hop, ...]


class FootholdFinder:
    """Finds the foothold that a body stands on."""

    def __init__(self, footholds: Sequence[Foothold], motion: Motion, terrain: Terrain) -> None:
        """Sort the footholds by row."""
        self._rows: dict[int, list[Foothold]] = {}
        for foothold in footholds:
            self._rows.setdefault(foothold.row, []).append(foothold)
        self._height = motion.body_h
        self._tile = terrain.tile

    def at(self, x: int, y: int) -> Foothold | None:
        """Return the foothold of a body whose top-left corner is at (x, y), in spx; None if its feet are on none."""
        row, above = divmod(y + self._height, self._tile)
        if above:
            return None
        return next((one for one in self._rows.get(row, ()) if one.left_spx <= x <= one.right_spx), None)


def passages(
    start: State, inputs: np.ndarray, finder: FootholdFinder, motion: Motion, terrain: Terrain
) -> tuple[Passage, ...]:
    """Return what a script proves, in the order of the script. Approximation: exact.

    Parameters
    ----------
    start : State
        The state before the first tick.
    inputs : int64 [ticks, 4]
        Columns direction, down, run, jump.
    finder : FootholdFinder
    motion, terrain : Motion, Terrain

    Returns
    -------
    tuple of Passage
        Detours that come back to rest on the same foothold are left out, and so is what follows a rest without reaching
        another.
    """
    states = run_script(start, inputs, motion, terrain)
    rows = states.tolist()
    found: list[Passage] = []
    hops: list[Hop] = []
    rest: tuple[int, int] | None = None
    last: tuple[int, Foothold] | None = None
    for tick, row in enumerate(rows):
        if row[LOST]:
            break
        if row[ENDED]:
            if rest is not None and last is not None:
                place = _ending(states[tick : tick + 1], motion, terrain)
                walks = tick > 0 and row[GROUNDED] and rows[tick - 1][GROUNDED]
                if not walks:
                    hops.append(Hop(last[1].index, None, _kind(last[1], last[0], tick, rows, inputs), last[0], tick))
                found.append(_passage(rest, None, place, tick, rows, inputs, hops))
            break
        foothold = finder.at(row[X], row[Y]) if row[GROUNDED] or _launched(rows, tick) else None
        if foothold is None:
            continue
        if last is not None and last[1].index != foothold.index:
            kind = _kind(last[1], last[0], tick, rows, inputs)
            hops.append(Hop(last[1].index, foothold.index, kind, last[0], tick))
        last = (tick, foothold)
        # a press that waits in the buffer makes the body take off by itself in the next tick
        if row[GROUNDED] and row[VX] == 0 and row[BUFFER] == 0 and not foothold.is_spring:
            if rest is not None and rest[1] != foothold.index:
                found.append(_passage(rest, foothold.index, None, tick, rows, inputs, hops))
            rest = (tick, foothold.index)
            hops = []
    return tuple(found)


def _passage(
    rest: tuple[int, int],
    target: int | None,
    place: int | None,
    tick: int,
    rows: list[list[int]],
    inputs: np.ndarray,
    hops: list[Hop],
) -> Passage:
    begin, source = rest
    moved = tuple(
        Hop(hop.source, hop.target, hop.kind, hop.leave_tick - begin, hop.arrive_tick - begin) for hop in hops
    )
    return Passage(source, target, place, State(*rows[begin]), inputs[begin:tick], moved)


def _kind(source: Foothold, leave: int, arrive: int, rows: list[list[int]], inputs: np.ndarray) -> MoveKind:
    """Return how the body got off the source: the states tell, but for a drop, whose first tick only sinks by 1 spx."""
    if source.is_spring:
        return MoveKind.SPRING
    if arrive == leave + 1 and rows[arrive][GROUNDED] and rows[leave][GROUNDED]:
        return MoveKind.STRIDE
    if inputs[leave][DOWN] and rows[leave + 1][Y] == rows[leave][Y] + 1 and rows[leave + 1][VY] == 0:
        return MoveKind.DROP
    last = arrive - 1 if rows[arrive][GROUNDED] or _launched(rows, arrive) else arrive
    rises = any(rows[tick][VY] < 0 <= rows[tick - 1][VY] for tick in range(leave + 1, last + 1))
    return MoveKind.JUMP if rises else MoveKind.WALK_OFF


def _launched(rows: list[list[int]], tick: int) -> bool:
    """Tell whether a spring launched the body in this tick: upward speed that has not moved it yet."""
    return tick > 0 and rows[tick][VY] < 0 and rows[tick][Y] >= rows[tick - 1][Y]


def _ending(state: np.ndarray, motion: Motion, terrain: Terrain) -> int:
    """Return the index of the first ending place that a state touches."""
    touched = touch_table(state, motion, terrain)[0]
    return int(np.flatnonzero((touched != 0) & (terrain.place_ends != 0))[0])
