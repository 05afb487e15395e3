"""What a superset, and all that is asked of its states, follows from: the map on and around what it covers.

A tick reads no tile farther from its body than the body moves in it. So where the map is the same on and around all
that a superset covers, so is the superset, and whatever is played from its states; the rest of the map is never looked
at. Footholds may have other numbers there: they are told by where they lie.
"""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.heap import CELLS

if TYPE_CHECKING:
    from reach.kernels.params import Motion, State, Terrain
    from reach.reachability.result import Exploration, Foothold

Spot = tuple[int, int, int, bool]
"""Where a foothold lies: row, left and right end, whether it is a spring."""


def spot_of(foothold: Foothold) -> Spot:
    """Return where a foothold lies, by which it is known whatever its number."""
    return (foothold.row, foothold.left_spx, foothold.right_spx, foothold.is_spring)


def covered_key(motion: Motion, terrain: Terrain, seen: Exploration, start: State) -> bytes:
    """Return a hash of a superset, and of all that decides on what its states can do.

    Parameters
    ----------
    motion, terrain : Motion, Terrain
    seen : Exploration
        Complete, from a start.
    start : State
        That start.
    """
    spots = [spot_of(foothold) for foothold in seen.footholds]
    moves = [
        (spots[move.source], spots[move.target], move.kind, move.from_rest, move.comes_to_rest) for move in seen.moves
    ]
    touches = [(spots[source] if source >= 0 else None, *rest) for source, *rest in seen.place_moves]
    landed = [spots[index] for index in np.flatnonzero(seen.landed | seen.rested).tolist()]
    key = sha256(repr((tuple(start), terrain.tile, moves, touches, landed)).encode())
    read = read_tiles(motion, terrain, seen)
    parts = [np.asarray(value) for value in motion]
    parts += [np.array(read.shape), np.argwhere(read), terrain.material[read], terrain.launch[read]]
    parts += [terrain.place_row, terrain.place_column, terrain.place_ends, seen.touched, np.argwhere(seen.carried)]
    for part in parts:
        key.update(f"{part.dtype} {part.shape}".encode())
        key.update(np.ascontiguousarray(part).tobytes())
    return key.digest()


def read_tiles(motion: Motion, terrain: Terrain, seen: Exploration) -> np.ndarray:
    """Return which tiles decide on what a body does that is somewhere in the superset, bool [rows, columns].

    Approximation: over.
    """
    rows, columns = terrain.material.shape
    near = np.asarray(seen.coverage.reshape(rows, CELLS, columns, CELLS).any(axis=(1, 3)))
    distance = _fastest(motion, terrain) // terrain.tile + 2
    if near[:distance].any():
        near[0] = True  # who gets above the map, where no cells are, may come down anywhere
    for _ in range(distance):
        near[1:] |= near[:-1].copy()
        near[:-1] |= near[1:].copy()
        near[:, 1:] |= near[:, :-1].copy()
        near[:, :-1] |= near[:, 1:].copy()
    return near


def may_be_above(motion: Motion, terrain: Terrain, seen: Exploration) -> bool:
    """Return whether a body may be, in part, above the map, where no cells are.

    It begins within the map, so some tick takes it there from where it covers cells. Approximation: over.
    """
    cells = _fastest(motion, terrain) * CELLS // terrain.tile + 2
    return bool(seen.coverage[:cells].any())


def _fastest(motion: Motion, terrain: Terrain) -> int:
    """Return the farthest that a body moves in a tick along an axis, spx."""
    along = (motion.walk_cap, motion.run_cap, int(motion.air_cap.max()))
    launches = (int(motion.jump_launch.max()), int(terrain.launch.max(initial=0)))
    return max(*along, *launches, motion.terminal)
