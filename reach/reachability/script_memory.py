"""What searches for scripts found, kept from one check to the next under all that it follows from.

Every state that a search comes to is covered by the superset from the same start, and a tick reads no tile farther from
its body than the body moves in it. So where the superset and the map on and around all that it covers are the same, and
so is what is asked, a search does the same; the rest of the map is never looked at. Footholds may have other numbers:
they are kept by where they lie.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.heap import CELLS
from reach.reachability.recent import Recent
from reach.reachability.witness import UnderMove, Witnesses

if TYPE_CHECKING:
    from reach.findings import Tile
    from reach.kernels.params import Motion, State, Terrain
    from reach.reachability.result import Exploration, Foothold
    from reach.reachability.search_run import GaveUp

Spot = tuple[int, int, int, bool]
"""Where a foothold lies: row, left and right end, whether it is a spring."""


@dataclass(frozen=True, eq=False)
class KeptScripts:
    """What is asked of `Witnesses`, for one numbering of the footholds. Approximation: under."""

    exhausted: bool
    gave_up: GaveUp | None
    places: Mapping[int, np.ndarray]
    tiles: Mapping[Tile, np.ndarray]
    rests: Mapping[Spot, np.ndarray]
    moves: tuple[tuple[Spot, Spot | None, UnderMove], ...]
    footholds: Sequence[Foothold]

    @property
    def under_moves(self) -> tuple[UnderMove, ...]:
        """As of `Witnesses`."""
        index = {_spot(foothold): foothold.index for foothold in self.footholds}
        return tuple(
            replace(move, source=index[source], target=None if target is None else index[target])
            for source, target, move in self.moves
        )

    def place_inputs(self, index: int) -> np.ndarray | None:
        """As of `Witnesses`."""
        return self.places.get(index)

    def tile_inputs(self, column: int, row: int) -> np.ndarray | None:
        """As of `Witnesses`."""
        return self.tiles.get((column, row))

    def foothold_inputs(self, index: int) -> np.ndarray | None:
        """As of `Witnesses`."""
        return self.rests.get(_spot(self.footholds[index]))


Scripts = Witnesses | KeptScripts


class ScriptMemory(Recent[bytes, KeptScripts]):
    """What the searches of recent checks found."""

    def find(self, key: bytes, footholds: Sequence[Foothold], search: Callable[[], Witnesses]) -> Scripts:
        """Return what is known under a key of `search_key`, else what a search finds."""
        kept = self.get(key)
        if kept is not None:
            return replace(kept, footholds=footholds)
        found = search()
        # How much room there is, and how much time, is in no key.
        if not (found.ran_out_of_room or (found.gave_up and found.gave_up.by_limit)):
            self.keep(key, _kept(found, footholds))
        return found


def search_key(
    motion: Motion,
    terrain: Terrain,
    seen: Exploration,
    start: State,
    asked: Sequence[np.ndarray],
    want_moves: bool,
    *,
    timed: bool,
) -> bytes:
    """Return a hash of all that a search for scripts follows from.

    Parameters
    ----------
    motion, terrain : Motion, Terrain
    seen : Exploration
        Complete; covers the start.
    start : State
    asked : sequence of bool arrays
        Over tiles or places: what is wanted, and what may be found.
    want_moves : bool
    timed : bool
        Whether there is a time limit.
    """
    spots = [_spot(foothold) for foothold in seen.footholds]
    moves = [
        (spots[move.source], spots[move.target], move.kind, move.from_rest, move.comes_to_rest) for move in seen.moves
    ]
    touches = [(spots[source] if source >= 0 else None, *rest) for source, *rest in seen.place_moves]
    landed = [spots[index] for index in np.flatnonzero(seen.landed | seen.rested).tolist()]
    key = sha256(repr((tuple(start), want_moves, timed, terrain.tile, moves, touches, landed)).encode())
    read = read_tiles(motion, terrain, seen)
    parts = [np.asarray(value) for value in motion]
    parts += [np.array(read.shape), np.argwhere(read), terrain.material[read], terrain.launch[read]]
    parts += [terrain.place_row, terrain.place_column, terrain.place_ends, seen.touched]
    for part in [*parts, *(np.argwhere(mask) for mask in (seen.carried, *asked))]:
        key.update(f"{part.dtype} {part.shape}".encode())
        key.update(np.ascontiguousarray(part).tobytes())
    return key.digest()


def read_tiles(motion: Motion, terrain: Terrain, seen: Exploration) -> np.ndarray:
    """Return which tiles decide on what a body does that is somewhere in the superset, bool [rows, columns].

    Approximation: over.
    """
    rows, columns = terrain.material.shape
    near = np.asarray(seen.coverage.reshape(rows, CELLS, columns, CELLS).any(axis=(1, 3)))
    fastest = max(
        motion.walk_cap,
        motion.run_cap,
        motion.terminal,
        int(motion.air_cap.max()),
        int(motion.jump_launch.max()),
        int(terrain.launch.max(initial=0)),
    )
    distance = fastest // terrain.tile + 2
    if near[:distance].any():
        near[0] = True  # who gets above the map, where no cells are, may come down anywhere
    for _ in range(distance):
        near[1:] |= near[:-1].copy()
        near[:-1] |= near[1:].copy()
        near[:, 1:] |= near[:, :-1].copy()
        near[:, :-1] |= near[:, 1:].copy()
    return near


def _kept(found: Witnesses, footholds: Sequence[Foothold]) -> KeptScripts:
    places = {index: found.place_inputs(index) for index in np.flatnonzero(found.reached_places).tolist()}
    tiles = {(column, row): found.tile_inputs(column, row) for row, column in np.argwhere(found.reached_tiles).tolist()}
    rests = {_spot(foothold): found.foothold_inputs(foothold.index) for foothold in footholds}
    return KeptScripts(
        found.exhausted,
        found.gave_up,
        {index: inputs for index, inputs in places.items() if inputs is not None},
        {tile: inputs for tile, inputs in tiles.items() if inputs is not None},
        {spot: inputs for spot, inputs in rests.items() if inputs is not None},
        tuple(
            (
                _spot(footholds[move.source]),
                None if move.target is None else _spot(footholds[move.target]),
                move,
            )
            for move in found.under_moves
        ),
        footholds,
    )


def _spot(foothold: Foothold) -> Spot:
    return (foothold.row, foothold.left_spx, foothold.right_spx, foothold.is_spring)
