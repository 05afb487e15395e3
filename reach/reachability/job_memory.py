"""What jobs have found, kept for other explorations of a level, and for the level after an edit elsewhere.

What a job finds depends on the movement, on the states that it begins with, and on the tiles in and around the box of
everything that it touches, with the footholds on which it lands. Where all of these are the same, so is what it finds.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels import heap
from reach.reachability.exploration_job import Beginning, Found

if TYPE_CHECKING:
    from reach.reachability.explore import Explorer
    from reach.reachability.result import Foothold

USUAL_MIB = 64.0
"""So much is kept unless asked for otherwise."""

Place = tuple[int, int, int, bool]
"""A foothold wherever it is numbered: its row, its ends, and whether it is a spring."""

Key = tuple[bytes, Place, int, bytes]


@dataclass(frozen=True, eq=False)
class _Entry:
    """What a job found in a level, and all of that level on which it depends."""

    found: Found
    made_in: Explorer
    tiles: tuple[slice, slice]
    surroundings: bytes
    targets: dict[int, Place]


class JobMemory:
    """What jobs have found: may outlive the explorer and the level for which it was made.

    Parameters
    ----------
    limit_mib : float
        When more is kept, what was not asked for the longest is forgotten.
    """

    def __init__(self, limit_mib: float = USUAL_MIB) -> None:
        """Nothing is known yet."""
        self.limit = int(limit_mib * 2**20)
        self.nbytes = 0
        self.taken = 0
        self._entries: OrderedDict[Key, _Entry] = OrderedDict()

    def find(self, explorer: Explorer, one: Beginning, g: np.ndarray) -> Found | None:
        """Return what a job finds, where that is known."""
        key = _key(explorer, one, g)
        entry = self._entries.get(key)
        if entry is None:
            return None
        found = entry.found
        if entry.made_in is not explorer:
            if _surroundings(explorer, entry.tiles) != entry.surroundings:
                return None
            numbers = {f: explorer.numbered.get(place) for f, place in entry.targets.items()}
            if None in numbers.values():
                return None
            found = found.renumbered(one.node, {f: number for f, number in numbers.items() if number is not None})
            self._put(key, _entry(explorer, found))
        self._entries.move_to_end(key)
        self.taken += 1
        return found

    def keep(self, explorer: Explorer, one: Beginning, g: np.ndarray, found: Found) -> None:
        """Keep what a job found; `g` is as it was when the job was worked out."""
        self._put(_key(explorer, one, g), _entry(explorer, found))
        while self.nbytes > self.limit:
            _, entry = self._entries.popitem(last=False)
            self.nbytes -= entry.found.nbytes

    def _put(self, key: Key, entry: _Entry) -> None:
        old = self._entries.pop(key, None)
        self.nbytes += entry.found.nbytes - (0 if old is None else old.found.nbytes)
        self._entries[key] = entry


def _key(explorer: Explorer, one: Beginning, g: np.ndarray) -> Key:
    """What a job begins with: on a foothold, the states that are known there and those that wait."""
    states = hashlib.sha256()
    for name in (heap.SETTLED, heap.INBOX) if one.begin == heap.FROM_INBOX else (heap.SETTLED,):
        states.update(b"|")
        for zone, x, v in _polygons(g, int(heap.region(g, name)[one.node])):
            states.update(zone.to_bytes(8, "little", signed=True) + x.tobytes() + v.tobytes())
    return explorer.circumstances, _place(explorer.footholds[one.node]), one.begin, states.digest()


def _polygons(g: np.ndarray, head: int) -> list[tuple[int, np.ndarray, np.ndarray]]:
    records = heap.region(g, heap.POLYGON, heap.POLYGON_WIDTH)
    xs, vs = heap.region(g, heap.VERTEX_X), heap.region(g, heap.VERTEX_V)
    found = []
    while head >= 0:
        first, size, zone = records[head, : heap.ZONE + 1].tolist()
        found.append((zone, xs[first : first + size], vs[first : first + size]))
        head = int(records[head, heap.NEXT])
    return found


def _place(foothold: Foothold) -> Place:
    return foothold.row, foothold.left_spx, foothold.right_spx, foothold.is_spring


def _entry(explorer: Explorer, found: Found) -> _Entry:
    targets = {f: _place(explorer.footholds[f]) for f in {*found.targets, *found.moves[:, 0].tolist()}}
    tiles = _tiles(explorer, found, targets)
    return _Entry(found, explorer, tiles, _surroundings(explorer, tiles), targets)


def _tiles(explorer: Explorer, found: Found, targets: dict[int, Place]) -> tuple[slice, slice]:
    """The tiles on which it depends: all that bodies touched, whole footholds that they landed on, and one more.

    A body that lands may roll to the end of the foothold, and what stands there is known by the tiles next to it.
    """
    w = explorer.world
    tile, width, height = int(w[heap.TILE]), int(w[heap.BODY_W]), int(w[heap.BODY_H])
    rows, columns = explorer.terrain.material.shape
    box = found.box
    above = explorer.cells_above
    edges = [(row * tile - height, row * tile, left, right + width) for row, left, right, _ in targets.values()]
    if box.top <= box.bottom:
        cell = tile // heap.CELLS
        top, bottom = (box.top - above) * cell, (box.bottom - above + 1) * cell + height
        edges.append((top, bottom, box.left * cell, (box.right + 1) * cell))
    if not edges:
        return slice(0, 0), slice(0, 0)
    top, bottom, left, right = (
        pick(values) for pick, values in zip((min, max, min, max), zip(*edges, strict=True), strict=True)
    )
    return (
        slice(max(0, top // tile - 1), min(rows, bottom // tile + 2)),
        slice(max(0, left // tile - 1), min(columns, right // tile + 2)),
    )


def _surroundings(explorer: Explorer, tiles: tuple[slice, slice]) -> bytes:
    material, launch = explorer.terrain.material[tiles], explorer.terrain.launch[tiles]
    return hashlib.sha256(material.tobytes() + b"|" + launch.tobytes()).digest()


def circumstances(explorer: Explorer) -> bytes:
    """What a job depends on besides its beginning and the tiles around it: the movement, places, size, and aims."""
    w, terrain = explorer.world, explorer.terrain
    digest = hashlib.sha256()
    for number in (heap.TILE, heap.COLUMNS, heap.ROWS, heap.BODY_W, heap.BODY_H):
        digest.update(w[number].tobytes())
    for values in explorer.motion:
        digest.update(np.asarray(values, np.int64).tobytes() + b"|")
    for array in (terrain.place_row, terrain.place_column, terrain.place_ends, explorer.aims):
        digest.update(np.ascontiguousarray(array, np.int64).tobytes() + b"|")
    return digest.digest()
