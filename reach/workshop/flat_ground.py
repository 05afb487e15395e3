"""Endless flat ground, on which a profile is measured with nothing in its way."""

from __future__ import annotations

import numpy as np

from reach.kernels.params import EMPTY, SOLID, Motion, State, Terrain
from reach.kernels.step import run_script

SIDE_SPX = 1 << 45
"""Side of the two tiles that the ground is made of: more than the longest script can cross at the greatest speed."""


def one_column(*materials: int) -> Terrain:
    """A terrain of one column of tiles, each `SIDE_SPX` wide and high, without places."""
    nothing = np.zeros(0, np.int64)
    return Terrain(
        SIDE_SPX,
        np.array([[material] for material in materials], np.uint8),
        np.zeros((len(materials), 1), np.int64),
        nothing,
        nothing.copy(),
        nothing.copy(),
    )


def flat_ground() -> Terrain:
    """The ground as a terrain: nothing in the way but the ground itself, in 268 million px to either side."""
    return one_column(EMPTY, SOLID)


def at_rest(motion: Motion) -> State:
    """The body at rest on the flat ground."""
    return State(SIDE_SPX // 2, SIDE_SPX - motion.body_h, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0)


def play_flat(motion: Motion, inputs: np.ndarray, start: State | None = None) -> np.ndarray:
    """The states of a script played on the flat ground, from rest or from `start`.

    Parameters
    ----------
    motion : Motion
    inputs : int64 [ticks, 4]
        Columns direction, down, run, jump.
    start : State, optional

    Returns
    -------
    int64 [ticks + 1, 13]
        Row 0 the state before the first tick; columns in the order of `State`, spx and spx per tick.
    """
    return run_script(at_rest(motion) if start is None else start, inputs, motion, flat_ground())
