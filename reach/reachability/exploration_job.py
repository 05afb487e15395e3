"""One job of an exploration: from a beginning to everything that leaves it, worked out on a bench of its own.

A job reads the stored ground states and writes nothing but its bench, so that jobs of different footholds can be worked
out side by side, and what one has found can be kept for later.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from reach.kernels import ground, heap
from reach.kernels.pages import zeros

FIRST_ROOM = 512


class Beginning(NamedTuple):
    """From what a job begins: `begin`, x, y and v as of `ground.run`, at or on foothold `node`."""

    node: int
    begin: int
    x: int = 0
    y: int = 0
    v: int = 0

    @property
    def settles(self) -> bool:
        """Whether its states are settled on the foothold."""
        return self.begin in (heap.FROM_REST, heap.FROM_INBOX)


class Box(NamedTuple):
    """Cells of the coverage map, ends included; empty where top > bottom."""

    top: int
    bottom: int
    left: int
    right: int

    @property
    def cells(self) -> tuple[slice, slice]:
        """Rows and columns of the coverage map."""
        return slice(self.top, max(self.bottom + 1, self.top)), slice(self.left, max(self.right + 1, self.left))


@dataclass(frozen=True, eq=False)
class Found:
    """What a job has found. Of what was found before, it depends on the states known on the job's own foothold alone.

    `packed` holds what it settles and delivers (`ground.pack`), `moves` int64 [n, 4] target, kind, ticks and whether it
    comes to rest, `touched` places, `misses` int64 [n, 1 + MISS_WIDTH] a place and its record. `cover` and `carried`
    are the marks within the box, the latter with one tile more on every side.
    """

    packed: np.ndarray
    moves: np.ndarray
    touched: tuple[int, ...]
    misses: np.ndarray
    lost: bool
    polygon_ticks: int
    box: Box
    cover: np.ndarray
    carried: np.ndarray
    carried_at: tuple[slice, slice]

    @cached_property
    def targets(self) -> list[int]:
        """The footholds that it delivers to, ascending."""
        polygons = heap.region(self.packed, heap.POLYGON, heap.POLYGON_WIDTH)[: self.packed[heap.POLYGON_N]]
        return sorted(set(polygons[polygons[:, heap.ZONE] < 0, heap.NEXT].tolist()))

    @property
    def nbytes(self) -> int:
        """Its size in memory."""
        return int(sum(a.nbytes for a in (self.packed, self.moves, self.misses, self.cover, self.carried)))

    def renumbered(self, source: int, footholds: dict[int, int]) -> Found:
        """Return the same for a level in which its footholds have other numbers."""
        packed, moves, misses = self.packed.copy(), self.moves.copy(), self.misses.copy()
        polygons = heap.region(packed, heap.POLYGON, heap.POLYGON_WIDTH)[: packed[heap.POLYGON_N]]
        landed = polygons[:, heap.ZONE] < 0
        polygons[landed, heap.NEXT] = [footholds[f] for f in polygons[landed, heap.NEXT].tolist()]
        moves[:, 0] = [footholds[f] for f in moves[:, 0].tolist()]
        misses[:, 1 + heap.MISS_FOOTHOLD] = source
        return replace(self, packed=packed, moves=moves, misses=misses)


class Bench:
    """Where jobs are worked out, one after the other: their working room, and marks that are their own."""

    def __init__(self, places: int, aimed: int, footholds: int, cover: tuple[int, int], above: int, keep: bool) -> None:
        """Make the first room.

        `places` of the level and `aimed`, the numbers that aims have; `cover` is the shape of the coverage map, of
        which `above` rows lie above the level; with `keep` jobs keep their vertical states.
        """
        self.places = places
        self.keep = keep
        self.room = FIRST_ROOM
        self.job = heap.make_job(places, self.room, keep)
        self.marks = heap.make_marks(aimed, footholds, above)
        self.cover = zeros(cover, np.uint8)
        self.carried = np.zeros((-(-(cover[0] - above) // heap.CELLS), cover[1] // heap.CELLS), np.uint8)
        self.above = above
        self.unfinished = 0
        """Polygon ticks of jobs that were not finished, for want of room or time."""

    @property
    def nbytes(self) -> int:
        """Its size in memory."""
        return int(sum(a.nbytes for a in (self.job, self.marks, self.cover, self.carried)))

    def work_out(self, world: np.ndarray, g: np.ndarray, one: Beginning) -> Found | str | None:
        """Return what a job finds, or which limit ended it, or None where it has to be done again with more room."""
        status = ground.run(world, self.marks, self.carried, self.cover, g, self.job, *one)
        found = self._collect(one) if status == heap.OK else None
        self.unfinished += 0 if found else int(self.marks[heap.POLYGON_TICKS])
        # without room a job goes on with other polygons to the end of the tick: what that marked is not so
        self._clear()
        return "time limit" if status == heap.STOPPED else found

    def enlarge(self) -> None:
        """Make twice the room."""
        self.room *= 2
        generation = self.job[heap.GENERATION]
        self.job = heap.make_job(self.places, self.room, self.keep)
        self.job[heap.GENERATION] = generation

    def _box(self) -> Box:
        return Box(*self.marks[heap.BOX_TOP : heap.BOX_RIGHT + 1].tolist())

    def _carried_at(self, box: Box) -> tuple[slice, slice]:
        """Tiles under bodies in a box."""
        if box.top > box.bottom:
            return slice(0), slice(0)
        first = max(0, (box.top - self.above) // heap.CELLS)
        last = box.bottom // heap.CELLS + 1  # the body is less than `above` cells high
        return slice(first, last + 1), slice(box.left // heap.CELLS, box.right // heap.CELLS + 1)

    def _collect(self, one: Beginning) -> Found:
        job, box = self.job, self._box()
        packed = heap.make_packed(*ground.packed_size(job, int(one.settles)))
        ground.pack(job, packed, int(one.settles))
        records = heap.region(self.marks, heap.K_MISS, heap.MISS_WIDTH)
        known = np.flatnonzero(records[:, heap.MISS_KNOWN])
        carried_at = self._carried_at(box)
        return Found(
            packed=packed,
            moves=heap.region(job, heap.MOVES, heap.MOVES_WIDTH)[: job[heap.MOVES_N]].copy(),
            touched=tuple(np.flatnonzero(heap.region(self.marks, heap.K_TOUCHED)).tolist()),
            misses=np.column_stack((known, records[known])),
            lost=bool(job[heap.LOST]),
            polygon_ticks=int(self.marks[heap.POLYGON_TICKS]),
            box=box,
            cover=self.cover[box.cells].copy(),
            carried=self.carried[carried_at].copy(),
            carried_at=carried_at,
        )

    def _clear(self) -> None:
        """Forget the marks of a job."""
        box = self._box()
        self.cover[box.cells] = 0
        self.carried[self._carried_at(box)] = 0
        heap.empty_marks(self.marks, self.above)
