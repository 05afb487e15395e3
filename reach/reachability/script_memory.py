"""What searches for scripts found, kept from one check to the next under all that it follows from.

Every state that a search comes to is covered by the superset from the same start. So where that is the same, with the
map on and around all that it covers (`reach.reachability.covered`), and so is what is asked, a search does the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from reach.reachability.covered import Spot, spot_of
from reach.reachability.recent import Recent
from reach.reachability.search_room import codes_of, inputs_of
from reach.reachability.search_run import TIME_LIMIT
from reach.reachability.witness import UnderMove, Witnesses

if TYPE_CHECKING:
    from reach.findings import Tile
    from reach.kernels.params import State
    from reach.reachability.result import Foothold
    from reach.reachability.search_run import GaveUp, SearchLimits


@dataclass(frozen=True, eq=False)
class KeptScripts:
    """What is asked of `Witnesses`, for one numbering of the footholds. Approximation: under.

    Inputs are kept as `codes_of` gives them, but for those of moves, which are short.
    """

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
        index = {spot_of(foothold): foothold.index for foothold in self.footholds}
        return tuple(
            replace(move, source=index[source], target=None if target is None else index[target])
            for source, target, move in self.moves
        )

    def place_inputs(self, index: int) -> np.ndarray | None:
        """As of `Witnesses`."""
        return _inputs(self.places.get(index))

    def tile_inputs(self, column: int, row: int) -> np.ndarray | None:
        """As of `Witnesses`."""
        return _inputs(self.tiles.get((column, row)))

    def foothold_inputs(self, index: int) -> np.ndarray | None:
        """As of `Witnesses`."""
        return _inputs(self.rests.get(spot_of(self.footholds[index])))


Scripts = Witnesses | KeptScripts

K = TypeVar("K")


def _codes(scripts: Iterable[tuple[K, np.ndarray | None]]) -> dict[K, np.ndarray]:
    return {key: codes_of(inputs) for key, inputs in scripts if inputs is not None}


def _inputs(codes: np.ndarray | None) -> np.ndarray | None:
    return None if codes is None else inputs_of(codes)


class ScriptMemory(Recent[bytes, KeptScripts]):
    """What the searches of recent checks found."""

    def find(
        self,
        key: bytes,
        footholds: Sequence[Foothold],
        search: Callable[[], Witnesses],
        only: tuple[np.ndarray, np.ndarray] | None = None,
    ) -> Scripts:
        """Return what is known under a key of `search_key`, else what a search finds.

        With `only`, masks of tiles and places, nothing else will be asked of it, and nothing else is kept.
        """
        kept = self.get(key)
        if kept is not None:
            return replace(kept, footholds=footholds)
        found = search()
        # How much room there is, and how much time, is in no key.
        if not (found.ran_out_of_room or (found.gave_up and found.gave_up.why == TIME_LIMIT)):
            self.keep(key, _kept(found, footholds, only))
        return found


def search_key(
    covered: bytes, start: State, asked: Sequence[np.ndarray], want_moves: bool, limits: SearchLimits
) -> bytes:
    """Return a hash of all that a search for scripts follows from.

    Parameters
    ----------
    covered : bytes
        The `covered_key` of the superset.
    start : State
        Somewhere in it.
    asked : sequence of bool arrays
        Over tiles or places: what is wanted, and what may be found.
    want_moves : bool
    limits : SearchLimits
        When its deadline is, is not in the key, but whether it has one.
    """
    bounds = f"{replace(limits, deadline=None)} {limits.deadline is not None}"
    key = sha256(covered + f"{tuple(start)} {want_moves} {bounds}".encode())
    for mask in asked:
        cells = np.argwhere(mask)
        key.update(f"{cells.shape}".encode() + cells.tobytes())
    return key.digest()


def _kept(found: Witnesses, footholds: Sequence[Foothold], only: tuple[np.ndarray, np.ndarray] | None) -> KeptScripts:
    reached_tiles, reached_places = found.reached_tiles, found.reached_places
    if only is not None:
        reached_tiles, reached_places = reached_tiles & only[0], reached_places & only[1]
    places = ((index, found.place_inputs(index)) for index in np.flatnonzero(reached_places).tolist())
    reached = np.argwhere(reached_tiles).tolist()
    tiles = (((column, row), found.tile_inputs(column, row)) for row, column in reached)
    resting = footholds if only is None else ()
    rests = ((spot_of(foothold), found.foothold_inputs(foothold.index)) for foothold in resting)
    return KeptScripts(
        found.exhausted,
        found.gave_up,
        _codes(places),
        _codes(tiles),
        _codes(rests),
        tuple(
            (
                spot_of(footholds[move.source]),
                None if move.target is None else spot_of(footholds[move.target]),
                move,
            )
            for move in (found.under_moves if only is None else ())
        ),
        footholds,
    )
