"""A world of one ledge over nothing, and bodies played in it: where a profile's figures are measured."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.params import EMPTY, SOLID, State, Terrain
from reach.kernels.step import run_script

if TYPE_CHECKING:
    from reach.kernels.params import Motion

MOST_TICKS = 36_000
"""No measurement is followed for longer; what has not come to its end by then has no figure, and that is said."""

_CHUNK_TICKS = 1024
_PART_SPX = 32 * 65536
_MOST_PARTS = 64
"""A ledge is made of at most so many tiles, none of them shorter than a part unless the ledge is."""

_ENDLESS_SPX = 1 << 44
"""A ledge so long that nothing comes to its end within `MOST_TICKS` at the greatest speed a profile may have."""


def ledge_world(length_spx: int, depth_spx: int, width_spx: int) -> Terrain:
    """Return a world of one solid ledge, from x = 0, where a wall stands behind it, to `length_spx`.

    Its top is at y = tile, the bottom of the first row. Nothing is below it for at least `depth_spx` and beyond it for
    at least `width_spx`, and not much more than that.
    """
    most = max(1, min(_MOST_PARTS, length_spx // _PART_SPX))
    parts = next(parts for parts in range(most, 0, -1) if length_spx % parts == 0)
    tile = length_spx // parts
    rows = 2 + -(-depth_spx // tile)
    columns = parts + -(-width_spx // tile)
    material = np.full((rows, columns), EMPTY, np.uint8)
    material[1, :parts] = SOLID
    nothing = np.zeros(0, np.int64)
    return Terrain(tile, material, np.zeros(material.shape, np.int64), nothing, nothing, nothing)


def endless_ledge() -> Terrain:
    """Return a world of one tile that nobody comes to the end of, and a void as wide beside it."""
    nothing = np.zeros(0, np.int64)
    material = np.array([[EMPTY, EMPTY], [SOLID, EMPTY]], np.uint8)
    return Terrain(_ENDLESS_SPX, material, np.zeros(material.shape, np.int64), nothing, nothing, nothing)


def on_ledge(terrain: Terrain, motion: Motion, x_spx: int, vx_spx_per_tick: int = 0, buffer_ticks: int = 0) -> State:
    """Return the state of a body that stands or moves on the ledge."""
    return State(x_spx, terrain.tile - motion.body_h, vx_spx_per_tick, 0, 1, 0, 0, 0, 0, buffer_ticks, 0, 0, 0)


def middle_of(terrain: Terrain) -> int:
    """Return the x of a spot far from the ends of an endless ledge, spx."""
    return terrain.tile // 2


def held(ticks: int, direction: int = 0, *, run: int = 0, jump: int = 0) -> np.ndarray:
    """Return the inputs of some ticks with the same buttons down, int64 [ticks, 4]."""
    return np.tile(np.array([direction, 0, run, jump], np.int64), (ticks, 1))


def play_until(
    state: State,
    first: np.ndarray,
    then: np.ndarray,
    ends: Callable[[np.ndarray], np.ndarray],
    motion: Motion,
    terrain: Terrain,
) -> np.ndarray | None:
    """Return the states up to the first one at which it ends, None where that is not so within `MOST_TICKS`.

    Parameters
    ----------
    state : State
    first : int64 [ticks, 4]
        The inputs to begin with.
    then : int64 [1, 4]
        The input of every tick after them.
    ends : callable
        Takes states as int64 [n, 13], columns as of `State`; returns bool [n]. The given state is not asked about.
    motion : Motion
    terrain : Terrain

    Returns
    -------
    int64 [ticks + 1, 13], optional
    """
    played = np.array([state], np.int64)
    while len(played) <= MOST_TICKS:
        inputs = np.concatenate([first[len(played) - 1 :], np.tile(then, (_CHUNK_TICKS, 1))])
        more = run_script(State(*played[-1].tolist()), inputs, motion, terrain)[1:]
        over = np.flatnonzero(ends(more))
        if over.size:
            return np.concatenate([played, more[: over[0] + 1]])
        played = np.concatenate([played, more])
    return None
