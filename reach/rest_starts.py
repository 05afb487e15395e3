"""Ways from rest to rest over springs, sought where scripts only came by with speed from farther away.

A script that runs up to a spring without a rest shows the bounce only as a part of all that it did since its last
rest. A route would have to take all of that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from reach.kernels.step import run_script
from reach.reachability.chain import settled
from reach.reachability.passages import Passage, passages

if TYPE_CHECKING:
    from reach.findings import Tile
    from reach.kernels.params import Motion, State
    from reach.outlooks import Rest
    from reach.reachability.problem import Problem

MOST_IDLE_TICKS = 512
"""A body that coasts for longer counts as one that does not come to rest."""

Seek = Callable[["State", "Tile | int"], "np.ndarray | None"]
"""Returns inputs, int64 [ticks, 4], from a state at rest to a tile or to the place with an index; None: none found."""


class Piece(NamedTuple):
    """A part of a passage, over one spring or several: from a foothold to the next that is none, or into a place."""

    source: int
    target: int | None
    place: int | None


def from_rest(problem: Problem, known: Sequence[Passage], rests: Mapping[int, Rest], seek: Seek) -> list[Passage]:
    """Return passages from rest for those pieces of known passages that none of them begins with and ends with.

    Parameters
    ----------
    problem : Problem
    known : sequence of Passage
    rests : mapping of int to Rest
        A state at rest for each foothold that has one.
    seek : callable
        Looks for a script.
    """
    have = {Piece(one.source, one.target, one.place) for one in known}
    asked: dict[Piece, Tile | int] = {}
    for passage in known:
        for piece, arrive_tick in pieces(passage, problem):
            if piece in have or piece in asked or piece.source not in rests or piece.source == piece.target:
                continue
            asked[piece] = _where(problem, passage, piece, arrive_tick)
    found: list[Passage] = []
    for piece, where in asked.items():
        if problem.late:
            break
        if piece in have:
            continue
        problem.tell("finding scripts", None)
        # as a route comes there: no button down or remembered
        state = settled(rests[piece.source].state, problem.motion, problem.terrain)
        inputs = seek(state, where)
        if inputs is None:
            continue
        inputs = np.concatenate((inputs, _idle(problem.motion)))
        for made in passages(state, inputs, problem.finder, problem.motion, problem.terrain):
            if Piece(made.source, made.target, made.place) not in have:
                have.add(Piece(made.source, made.target, made.place))
                found.append(made)
    return found


def pieces(passage: Passage, problem: Problem) -> Iterator[tuple[Piece, int]]:
    """Yield the pieces of a passage that go over springs, each with the tick of the passage in which it arrives."""
    source: int | None = None
    for hop in passage.hops:
        if not problem.footholds[hop.source].is_spring:
            source = hop.source
            continue
        if source is None or (hop.target is not None and problem.footholds[hop.target].is_spring):
            continue
        yield Piece(source, hop.target, None if hop.target is not None else passage.place), hop.arrive_tick


def _where(problem: Problem, passage: Passage, piece: Piece, arrive_tick: int) -> Tile | int:
    """Return the tile on which the passage lands there, or the index of its place."""
    if piece.target is None:
        assert piece.place is not None
        return piece.place
    states = run_script(passage.start, passage.inputs[:arrive_tick], problem.motion, problem.terrain)
    foothold = problem.footholds[piece.target]
    first, last = foothold.columns
    column = (int(states[-1, 0]) + problem.motion.body_w // 2) // problem.terrain.tile
    return min(max(column, first), last), foothold.row


def _idle(motion: Motion) -> np.ndarray:
    """Return as many ticks without a button as a body on the ground may need to come to rest, within reason."""
    ticks = max(motion.walk_cap, motion.run_cap, int(motion.air_cap.max())) // motion.coast + motion.buffer_ticks + 2
    return np.zeros((min(ticks, MOST_IDLE_TICKS), 4), np.int64)
