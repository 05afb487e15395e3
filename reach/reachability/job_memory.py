"""What jobs have found, kept for other explorations of a level, and for the level after an edit elsewhere.

What a job finds depends on the movement, on the states that it begins with, and on the tiles in and around the box of
everything that it touches, with the footholds on which it lands. Where all of these are the same, so is what it finds.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels import heap
from reach.reachability.exploration_job import Beginning, Found
from reach.reachability.squeezed import Squeezed

if TYPE_CHECKING:
    from reach.reachability.explore import Explorer
    from reach.reachability.result import Foothold

USUAL_MIB = 64.0
"""So much is kept unless asked for otherwise,"""

AS_IT_IS_MIB = 16.0
"""and so much of it without being compressed, which takes time: what was found or asked for last."""

Place = tuple[int, int, int, bool]
"""A foothold wherever it is numbered: its row, its ends, and whether it is a spring."""

Key = tuple[bytes, Place, int, bytes]


@dataclass(eq=False)
class _Entry:
    """What a job from foothold `node` found in a level, and all of that level on which it depends."""

    node: int
    found: Found | Squeezed
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
    as_it_is_mib : float
        When more is not compressed, what was found first is.
    """

    def __init__(self, limit_mib: float = USUAL_MIB, as_it_is_mib: float = AS_IT_IS_MIB) -> None:
        """Nothing is known yet."""
        self.limit = int(limit_mib * 2**20)
        self._most_as_it_is = int(as_it_is_mib * 2**20)
        self._allowed = self.limit
        self.nbytes = 0
        self.taken = 0
        self._entries: OrderedDict[Key, _Entry] = OrderedDict()
        self._as_it_is: dict[Key, Found] = {}
        """What is in entries that are not compressed, the oldest first."""
        self._as_it_is_nbytes = 0

    def find(self, explorer: Explorer, one: Beginning, key: Key) -> Found | None:
        """Return what a job finds, where that is known; its key is as of `key_of`."""
        entry = self._entries.get(key)
        if entry is None:
            return None
        found = entry.found if isinstance(entry.found, Found) else entry.found.found()
        if entry.made_in is not explorer:
            if _surroundings(explorer, entry.tiles) != entry.surroundings:
                return None
            places = explorer.numbered
            numbers = {f: places[place] for f, place in entry.targets.items() if place in places}
            if len(numbers) < len(entry.targets):
                return None
            if entry.node != one.node or any(f != number for f, number in numbers.items()):
                found = found.renumbered(one.node, numbers)
                targets = {numbers[f]: place for f, place in entry.targets.items()}
                entry = replace(entry, node=one.node, found=found, targets=targets)
                self._put(key, entry, found)
            entry.made_in = explorer
        if key in self._entries:  # else it was too large for what is allowed
            self._entries.move_to_end(key)
        self.taken += 1
        return found

    def keep(self, explorer: Explorer, one: Beginning, key: Key, found: Found) -> None:
        """Keep what a job found."""
        self._put(key, _entry(explorer, one.node, found), found)

    def allow(self, nbytes: int | None) -> None:
        """Keep no more than so much from now on, nor more than the limit; None: as much as the limit."""
        self._allowed = self.limit if nbytes is None else min(self.limit, max(0, nbytes))
        self._shorten()

    def _shorten(self) -> None:
        while self.nbytes > self._allowed:
            self._forget(next(iter(self._entries)))

    def _put(self, key: Key, entry: _Entry, found: Found) -> None:
        if key in self._entries:
            self._forget(key)
        self._entries[key] = entry
        self._as_it_is[key] = found
        self._as_it_is_nbytes += found.nbytes
        self.nbytes += found.nbytes
        while self._as_it_is_nbytes > self._most_as_it_is:
            self._squeeze(next(iter(self._as_it_is)))
        self._shorten()

    def _forget(self, key: Key) -> None:
        self.nbytes -= self._entries.pop(key).found.nbytes
        found = self._as_it_is.pop(key, None)
        self._as_it_is_nbytes -= 0 if found is None else found.nbytes

    def _squeeze(self, key: Key) -> None:
        found = self._as_it_is.pop(key)
        self._as_it_is_nbytes -= found.nbytes
        squeezed = self._entries[key].found = Squeezed(found)
        self.nbytes += squeezed.nbytes - found.nbytes


def key_of(explorer: Explorer, one: Beginning, g: np.ndarray) -> Key:
    """What a job begins with: on a foothold, the states that are known there and those that wait.

    `g` is as it is when the job is worked out.
    """
    states = hashlib.sha256()
    for name in (heap.SETTLED, heap.INBOX) if one.begin == heap.FROM_INBOX else (heap.SETTLED,):
        states.update(b"|")
        for zone, x, v in _polygons(g, int(heap.region(g, name)[one.node])):
            states.update(zone.to_bytes(8, "little", signed=True) + x.tobytes() + v.tobytes())
    return explorer.circumstances, _place(explorer.footholds[one.node]), one.begin, states.digest()


def _polygons(g: np.ndarray, head: int) -> list[tuple[int, np.ndarray, np.ndarray]]:
    if head < 0:
        return []
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


def _entry(explorer: Explorer, node: int, found: Found) -> _Entry:
    targets = {f: _place(explorer.footholds[f]) for f in {*found.targets, *found.moves[:, 0].tolist()}}
    tiles = _tiles(explorer, found, targets)
    return _Entry(node, found, explorer, tiles, _surroundings(explorer, tiles), targets)


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
