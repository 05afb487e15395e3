"""One script out of several passages: between them the body walks to the spot where the next one begins."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.params import Motion, State, Terrain
from reach.kernels.step import run_script
from reach.reachability.passages import FootholdFinder, Passage, passages

if TYPE_CHECKING:
    from reach.reachability.result import Foothold

X, Y, VX, GROUNDED = 0, 1, 2, 4
RUN_MEMORY, BUFFER, JUMP_WAS_DOWN = 7, 9, 10

MOST_PULSES = 64
"""No stroll is made of more pushes."""


def chain(
    start: State,
    legs: Sequence[Sequence[Passage]],
    finder: FootholdFinder,
    motion: Motion,
    terrain: Terrain,
) -> np.ndarray | None:
    """Return inputs that make all the legs one after the other from a state at rest; None where one does not work out.

    Parameters
    ----------
    start : State
        At rest on the first leg's source.
    legs : sequence of sequences of Passage
        For each leg the passages that make it, the likeliest first: the first one that works is taken. Each leg begins
        on the foothold on which the one before it ends.
    finder : FootholdFinder
    motion, terrain : Motion, Terrain

    Returns
    -------
    int64 [ticks, 4] or None
        Columns direction, down, run, jump. Played whole: each leg changes footholds just as its passage does.
    """
    state = start
    parts = [np.zeros((0, 4), np.int64)]
    for ways in legs:
        made = next((made for way in ways if (made := _follow(state, way, finder, motion, terrain)) is not None), None)
        if made is None:
            return None
        parts.append(made)
        state = _after(state, made, motion, terrain)
    return np.concatenate(parts)


def _follow(state: State, leg: Passage, finder: FootholdFinder, motion: Motion, terrain: Terrain) -> np.ndarray | None:
    """Return a walk to where a passage begins and the passage; None if from there it does not do what it did."""
    walk = stroll(state, leg.start.x, finder, motion, terrain)
    if walk is None:
        return None
    found = passages(_after(state, walk, motion, terrain), leg.inputs, finder, motion, terrain)
    if len(found) != 1 or _changes(found[0]) != _changes(leg):
        return None
    return np.concatenate((walk, found[0].inputs))


def stroll(state: State, x_spx: int, finder: FootholdFinder, motion: Motion, terrain: Terrain) -> np.ndarray | None:
    """Return inputs that walk from rest to rest as near to x as pushes of whole ticks get, without ever passing it.

    Ends with no button remembered: no jump buffered or down, no run remembered. None if the body leaves the foothold.
    """
    foothold = finder.at(state.x, state.y)
    if foothold is None:
        return None
    parts = [_settled(state, motion, terrain)]
    state = _after(state, parts[0], motion, terrain)
    for _ in range(MOST_PULSES):
        push = _push(state, x_spx, foothold, motion, terrain)
        if push is None:
            break
        parts.append(push)
        state = _after(state, push, motion, terrain)
    if state.vx != 0 or not state.grounded or finder.at(state.x, state.y) != foothold:
        return None
    return np.concatenate(parts)


def _push(state: State, x_spx: int, foothold: Foothold, motion: Motion, terrain: Terrain) -> np.ndarray | None:
    """Return the longest push toward x, coasting included, that does not pass it; None where none is short enough."""
    way = 1 if x_spx > state.x else -1
    longest = abs(x_spx - state.x) // max(1, min(motion.walk_accel, motion.walk_cap)) + 1
    least, most = 0, longest
    while least < most:
        middle = (least + most + 1) // 2
        x = _stops_at(state, way, middle, foothold, motion, terrain)
        if x is not None and way * (x_spx - x) >= 0:
            least = middle
        else:
            most = middle - 1
    return _pulse(way, least, motion) if least > 0 else None


def _pulse(way: int, ticks: int, motion: Motion) -> np.ndarray:
    """Return a push of so many ticks and the coasting after it."""
    fastest = min(motion.walk_cap, ticks * motion.walk_accel)
    coasting = -(-fastest // motion.coast)
    inputs = np.zeros((ticks + coasting, 4), np.int64)
    inputs[:ticks, 0] = way
    return inputs


def _stops_at(state: State, way: int, ticks: int, foothold: Foothold, motion: Motion, terrain: Terrain) -> int | None:
    """Return where a push comes to rest; None if it leaves the foothold on the way."""
    states = run_script(state, _pulse(way, ticks, motion), motion, terrain)
    x = states[:, X]
    stays = (states[:, GROUNDED] != 0) & (x >= foothold.left_spx) & (x <= foothold.right_spx)
    return int(x[-1]) if bool(stays.all()) and states[-1, VX] == 0 else None


def settled(state: State, motion: Motion, terrain: Terrain) -> State:
    """Return a state at rest once no button is down or remembered."""
    return _after(state, _settled(state, motion, terrain), motion, terrain)


def _settled(state: State, motion: Motion, terrain: Terrain) -> np.ndarray:
    """Return as many ticks without a button as it takes until none is remembered."""
    ticks = 1 + motion.run_memory + motion.buffer_ticks
    idle = np.zeros((ticks, 4), np.int64)
    states = run_script(state, idle, motion, terrain)
    calm = np.flatnonzero((states[:, [RUN_MEMORY, BUFFER, JUMP_WAS_DOWN]] == 0).all(axis=1))
    return idle[: calm[0]]


def _after(state: State, inputs: np.ndarray, motion: Motion, terrain: Terrain) -> State:
    return State(*run_script(state, inputs, motion, terrain)[-1].tolist())


def _changes(passage: Passage) -> tuple[object, ...]:
    changes = [(hop.source, hop.target, hop.kind) for hop in passage.hops]
    return (passage.source, passage.target, passage.place, *changes)
