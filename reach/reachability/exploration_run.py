"""One exploration as it goes: the queue of footholds whose states wait to be followed, and the limits it keeps."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np

from reach.findings import MoveKind
from reach.kernels import closure, ground, heap, marks
from reach.kernels.contact import touches_place
from reach.reachability.result import Exploration, NearestMiss, OverMove

if TYPE_CHECKING:
    from reach.kernels.params import State
    from reach.reachability.explore import Explorer

SPX = 65536

_KINDS = {
    heap.JUMP: MoveKind.JUMP,
    heap.WALK_OFF: MoveKind.WALK_OFF,
    heap.DROP: MoveKind.DROP,
    heap.STRIDE: MoveKind.STRIDE,
    heap.BOUNCE: MoveKind.SPRING,
}

JobSeen = Callable[[int, Any], None]
"""Called after every finished job with the foothold and the job's working room (for checks of the stored sets)."""


def _grown(g: np.ndarray, footholds: int) -> np.ndarray:
    """The same ground states with twice the room."""
    new = heap.make_ground(footholds, 2 * int(g[heap.POLYGON + 1]))
    for name in (heap.VERTEX_N, heap.POLYGON_N):
        new[name] = g[name]
    for name, width in (
        (heap.VERTEX_X, 1),
        (heap.VERTEX_V, 1),
        (heap.POLYGON, heap.POLYGON_WIDTH),
        (heap.SETTLED, 1),
        (heap.INBOX, 1),
        (heap.RESTED, 1),
        (heap.LANDED, 1),
    ):
        old = heap.region(g, name, width)
        heap.region(new, name, width)[: len(old)] = old
    return new


class ExplorationRun:
    """One exploration: the queue of footholds whose states wait to be followed."""

    def __init__(
        self, explorer: Explorer, deadline: float | None, memory_limit_mib: float | None, seen: JobSeen | None
    ) -> None:
        """Make room for everything that it may find."""
        self.explorer = explorer
        self.world = explorer.world
        self.deadline = deadline
        self.memory_limit_mib = memory_limit_mib
        self.seen = seen
        w = self.world
        rows, columns = explorer.terrain.material.shape
        n = len(explorer.footholds)
        self.places = len(explorer.terrain.place_row)
        cell = int(w[heap.TILE]) // heap.CELLS
        self.body_cells = (int(w[heap.BODY_H]) - 1) // cell + 1
        self.marks = heap.make_marks(explorer.aimed, n, self.body_cells + 1)
        self.carried = np.zeros((rows, columns), np.uint8)
        self.cover = np.zeros((rows * heap.CELLS + self.body_cells + 1, columns * heap.CELLS), np.uint8)
        self.ground = heap.make_ground(n, 4096)
        self.room = 1024
        self.job = heap.make_job(self.places, self.room, seen is not None)
        self.rest: deque[int] = deque()
        self.moving: deque[int] = deque()
        self.queued: set[int] = set()
        self.moves: dict[tuple[int, int, int, bool], tuple[int, int]] = {}
        self.place_moves: set[tuple[int, int, bool]] = set()
        self.done = 0
        self.why = ""
        self.timer: threading.Timer | None = None

    def run(
        self,
        start: State | None,
        rest_on: int | None,
        bounce_on: int | None,
        known: Exploration | None,
        takeoff: State | None,
    ) -> None:
        """Follow everything from the given beginning."""
        with self._timed():
            if not self._has_room():
                self.why = "memory limit"
            elif start is not None:
                self._begin_at(start)
            elif rest_on is not None:
                self._rest_at(rest_on)
            elif bounce_on is not None and known is not None:
                self._bounce(bounce_on, known)
            elif takeoff is not None:
                self._job(len(self.explorer.footholds), heap.FROM_TAKEOFF, takeoff.x, takeoff.y, takeoff.vx)
            self._drain()

    def ask(self, order: Sequence[int], asked: Mapping[int, int]) -> dict[int, int]:
        """Begin on one foothold after the other until each place asked about is touched; see `first_to_touch`.

        Whatever touches a place first comes from the foothold begun on last: what was begun on before is followed to
        its end.
        """
        touched = heap.region(self.marks, heap.K_TOUCHED)
        found: dict[int, int] = {}
        with self._timed():
            if not self._has_room():
                self.why = "memory limit"
            for position, f in enumerate(order):
                waiting = [place for place, most in sorted(asked.items()) if position < most and place not in found]
                if not waiting or self.why:
                    break
                if self.explorer.footholds[f].is_spring:
                    self._set_down_on_spring(f)
                elif not heap.region(self.ground, heap.RESTED)[f]:
                    self._rest_at(f)
                self._drain(waiting)
                found.update((place, f) for place in waiting if touched[place])
        return found

    @contextmanager
    def _timed(self) -> Iterator[None]:
        """Stop the jobs when the time is up."""
        if self.deadline is not None:
            left = self.deadline - time.monotonic()
            if left <= 0:
                self._stop()
            else:
                self.timer = threading.Timer(left, self._stop)
                self.timer.daemon = True
                self.timer.start()
        try:
            yield
        finally:
            if self.timer is not None:
                self.timer.cancel()

    def _stop(self) -> None:
        self.marks[heap.STOP] = 1

    def _begin_at(self, start: State) -> None:
        n = len(self.explorer.footholds)
        w = self.world
        if start.lost:
            return
        self._mark_start(start)
        if start.ended:
            return
        if not start.grounded:
            self._job(n, heap.FROM_AIR, start.x, start.y)
            return
        row = (start.y + int(w[heap.BODY_H])) // int(w[heap.TILE])
        for f in self.explorer.footholds:
            if f.row == row and f.left_spx <= start.x <= f.right_spx and not f.is_spring:
                self._rest_at(f.index)
                return
        self._job(n, heap.FROM_SPOT, start.x, start.y)

    def _mark_start(self, start: State) -> None:
        w, motion, terrain = self.world, self.explorer.motion, self.explorer.terrain
        for i in range(self.places):
            if touches_place(start.x, start.y, i, motion, terrain):
                heap.region(self.marks, heap.K_TOUCHED)[i] = 1
                self.place_moves.add((-1, i, True))
        marks.mark_cover(w, self.marks, self.cover, start.y, start.x, start.x)
        if start.grounded:
            row = (start.y + motion.body_h) // terrain.tile
            marks.mark_carried(w, self.carried, row, start.x, start.x)

    def _rest_at(self, foothold: int) -> None:
        heap.region(self.ground, heap.RESTED)[foothold] = 1
        heap.region(self.ground, heap.LANDED)[foothold] = 1
        self.rest.append(foothold)

    def _bounce(self, spring: int, known: Exploration) -> None:
        self.why = known.why
        old = known.ground
        i = int(heap.region(old, heap.SETTLED)[spring])
        records = heap.region(old, heap.POLYGON, heap.POLYGON_WIDTH)
        while i >= 0:
            at, size = records[i, : heap.SIZE + 1].tolist()
            x = heap.region(old, heap.VERTEX_X)[at : at + size]
            v = heap.region(old, heap.VERTEX_V)[at : at + size]
            if not self._deliver(spring, x, v):
                return
            i = int(records[i, heap.NEXT])
        self._queue(spring)

    def _set_down_on_spring(self, spring: int) -> None:
        foothold = self.explorer.footholds[spring]
        x = np.unique([foothold.left_spx, foothold.right_spx])[::-1].copy()
        if self._deliver(spring, x, np.zeros_like(x)):
            self._queue(spring)

    def _deliver(self, spring: int, x: np.ndarray, v: np.ndarray) -> bool:
        """Let a polygon of bodies be launched by a spring. False: no room."""
        while not closure.deliver(self.world, self.ground, self.job, spring, x, v, len(x)):
            if not self._make_room():
                self.why = "memory limit"
                return False
        return True

    def _queue(self, f: int) -> None:
        if heap.region(self.ground, heap.INBOX)[f] < 0:
            return
        rested = heap.region(self.ground, heap.RESTED)
        if (
            not self.explorer.footholds[f].is_spring
            and not rested[f]
            and closure.inbox_can_rest(self.world, self.ground, self.job, f)
        ):
            rested[f] = 1
            self.rest.append(f)
        if f not in self.queued:
            self.queued.add(f)
            self.moving.append(f)

    def _drain(self, until: Sequence[int] = ()) -> None:
        """Follow what waits to its end, or until all of some places are touched; what is near them comes first then."""
        touched = heap.region(self.marks, heap.K_TOUCHED)
        while (self.rest or self.moving) and not self.why:
            left = [place for place in until if not touched[place]]
            if until and not left:
                return
            if self.rest:
                f = min(self.rest, key=lambda each: self._distance(each, left)) if left else self.rest[0]
                self.rest.remove(f)
                self._job(f, heap.FROM_REST)
            else:
                f = self.moving.popleft()
                self.queued.discard(f)
                self._job(f, heap.FROM_INBOX)
            self.done += 1

    def _distance(self, f: int, places: Sequence[int]) -> tuple[int, int]:
        """How far a foothold is from the nearest of some places, in spx, and its index."""
        terrain, foothold = self.explorer.terrain, self.explorer.footholds[f]
        across = (int(terrain.place_column[place]) * terrain.tile for place in places)
        beside = [max(0, foothold.left_spx - x, x - foothold.right_spx) for x in across]
        above = [abs(int(terrain.place_row[place]) - foothold.row) * terrain.tile for place in places]
        return min(map(sum, zip(beside, above, strict=True))), f

    def _job(self, node: int, begin: int, x: int = 0, y: int = 0, v: int = 0) -> None:
        from_rest = begin == heap.FROM_REST
        marked = self.marks[heap.K_HEADER :], self.carried, self.cover
        before = [array.copy() for array in marked]
        while True:
            status = ground.run(
                self.world, self.marks, self.carried, self.cover, self.ground, self.job, node, begin, x, y, v
            )
            if status == heap.OK:
                break
            if self.job[heap.FULL]:
                # without room the job goes on with other polygons to the end of the tick: what that marked is not so
                for array, kept in zip(marked, before, strict=True):
                    array[:] = kept
            if status == heap.STOPPED:
                self.why = "time limit"
                return
            if not self._make_room():
                self.why = "memory limit"
                return
        job = self.job
        n = len(self.explorer.footholds)
        for target, kind, ticks, rests in heap.region(job, heap.MOVES, heap.MOVES_WIDTH)[: job[heap.MOVES_N]].tolist():
            if node in (target, n):
                continue
            key = (node, target, kind, from_rest)
            old = self.moves.get(key, (ticks, 0))
            self.moves[key] = (min(old[0], ticks), old[1] | rests)
        for i in np.flatnonzero(heap.region(job, heap.TOUCHED)).tolist():
            self.place_moves.add((node if node < n else -1, i, from_rest))
        if self.seen is not None:
            self.seen(node, job)
        for f in sorted(set(heap.region(job, heap.OUT, heap.OUT_WIDTH)[: job[heap.OUT_N], 1].tolist())):
            self._queue(f)

    def _make_room(self) -> bool:
        if self.ground[heap.FULL]:
            self.ground = _grown(self.ground, len(self.explorer.footholds))
        else:
            self.room *= 2
            generation = self.job[heap.GENERATION]
            self.job = heap.make_job(self.places, self.room, self.seen is not None)
            self.job[heap.GENERATION] = generation
        return self._has_room()

    def _has_room(self) -> bool:
        """Whether the room in use is within the limit."""
        arrays = (self.world, self.marks, self.carried, self.cover, self.ground, self.job)
        used = sum(a.nbytes for a in arrays) / 2**20
        return self.memory_limit_mib is None or used <= self.memory_limit_mib

    def result(self) -> Exploration:
        """Condense the marks."""
        n = len(self.explorer.footholds)
        above = self.body_cells + 1
        cover = self.cover != 0
        tall = (self.cover & 2) != 0
        rows = len(self.carried) * heap.CELLS
        coverage = np.zeros((rows, cover.shape[1]), np.bool_)
        for lower in range(self.body_cells + 1):
            first = above - lower
            coverage |= (tall if lower == self.body_cells else cover)[first : first + rows]
        moves = tuple(
            OverMove(source, target, _KINDS[kind], from_rest, bool(rests), ticks)
            for (source, target, kind, from_rest), (ticks, rests) in sorted(self.moves.items())
        )
        touched = heap.region(self.marks, heap.K_TOUCHED) != 0
        losing = heap.region(self.marks, heap.K_LOSING) != 0
        misses = {}
        for i, record in enumerate(heap.region(self.marks, heap.K_MISS, heap.MISS_WIDTH).tolist()):
            if record[heap.MISS_KNOWN] and not touched[i]:
                misses[i] = self._miss(record)
        return Exploration(
            complete=not self.why,
            why=self.why,
            footholds=self.explorer.footholds,
            carried=(self.carried != 0) & self.explorer.carrying,
            touched=touched[: self.places],
            rested=heap.region(self.ground, heap.RESTED)[:n] != 0,
            landed=heap.region(self.ground, heap.LANDED)[:n] != 0,
            losing=losing[:n],
            losing_start=bool(losing[n]),
            moves=moves,
            place_moves=tuple(sorted(self.place_moves)),
            coverage=coverage,
            misses=misses,
            polygon_ticks=int(self.marks[heap.POLYGON_TICKS]),
            ground=self.ground,
        )

    def _miss(self, record: list[int]) -> NearestMiss:
        """A record of the marks in px, measured at the corner of the body that is foremost, or its feet's middle."""
        _, x, y, to_x, to_y, source = record
        foremost = self.explorer.motion.body_w * (1 + (to_x > x) - (to_x < x)) / 2
        feet = self.explorer.motion.body_h
        return NearestMiss(
            source if source < len(self.explorer.footholds) else -1,
            ((x + foremost) / SPX, (y + feet) / SPX),
            ((to_x + foremost) / SPX, (to_y + feet) / SPX),
        )
