"""One exploration as it goes: the queue of footholds whose states wait to be followed, and the limits it keeps."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np

from reach.findings import MoveKind
from reach.kernels import closure, ground, ground_lists, heap, marks
from reach.kernels.contact import touches_place
from reach.kernels.pages import zeros
from reach.reachability.exploration_job import Beginning, Bench, Found
from reach.reachability.ground_states import compacted, with_more_room
from reach.reachability.job_memory import key_of
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

AT_ONCE = 2
"""Jobs that are worked out side by side, whatever the number of processors, so that nothing depends on that."""

LOSS = "loss"
TOUCH = "touch"
"""Why an exploration ended that was to end at the first loss, or at the first touch of some places."""

EFFORT = "effort"
"""Why one ended that was to take no more than so many ticks of polygons."""

_WORKERS = ThreadPoolExecutor(AT_ONCE, thread_name_prefix="exploration")

JobSeen = Callable[[int, Any], None]
"""Called after every finished job with the foothold and the job's working room (for checks of the stored sets)."""


def _length(miss: Sequence[int]) -> float:
    """Square of how far a nearest miss is."""
    across = float(miss[heap.MISS_TO_X] - miss[heap.MISS_X])
    up = float(miss[heap.MISS_TO_Y] - miss[heap.MISS_Y])
    return across * across + up * up


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
        rows, columns = explorer.terrain.material.shape
        n = len(explorer.footholds)
        self.places = len(explorer.terrain.place_row)
        self.marks = heap.make_marks(explorer.aimed, n, explorer.cells_above)
        self.carried = np.zeros((rows, columns), np.uint8)
        self.cover = zeros((rows * heap.CELLS + explorer.cells_above, columns * heap.CELLS), np.uint8)
        self.ground = heap.make_ground(n, 4096)
        self.stopped = False
        self.benches = [self._bench()]
        self.rest: deque[int] = deque()
        self.moving: deque[int] = deque()
        self.queued: set[int] = set()
        self.moves: dict[tuple[int, int, int, bool], tuple[int, int]] = {}
        self.place_moves: set[tuple[int, int, bool]] = set()
        self.done = 0
        self.why = ""
        self.until_lost = False
        self.until_touched: frozenset[int] = frozenset()
        self.most_polygon_ticks: int | None = None
        self.timer: threading.Timer | None = None

    def run(
        self,
        start: State | None,
        rest_on: int | None,
        bounce_on: int | None,
        known: Exploration | None,
        takeoff: State | None,
        until_lost: bool,
        until_touched: Collection[int],
    ) -> None:
        """Follow everything from the given beginning, or until a loss or the touch of one of some places is found."""
        self.until_lost = until_lost
        self.until_touched = frozenset(until_touched)
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
                begin = Beginning(len(self.explorer.footholds), heap.FROM_TAKEOFF, takeoff.x, takeoff.y, takeoff.vx)
                self._follow([begin])
            self._drain()

    def ask(self, order: Sequence[int], asked: Mapping[int, int], most_polygon_ticks: int) -> dict[int, int]:
        """Begin on one foothold after the other until each place asked about is touched; see `first_to_touch`.

        Whatever touches a place first comes from the foothold begun on last: what was begun on before is followed to
        its end.
        """
        touched = heap.region(self.marks, heap.K_TOUCHED)
        found: dict[int, int] = {}
        self.most_polygon_ticks = most_polygon_ticks
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
                self.stop()
            else:
                self.timer = threading.Timer(left, self.stop)
                self.timer.daemon = True
                self.timer.start()
        try:
            yield
        finally:
            if self.timer is not None:
                self.timer.cancel()

    def stop(self) -> None:
        """End the jobs that are worked out now, and all to come, as if the time were up."""
        self.stopped = True
        for bench in self.benches:
            bench.marks[heap.STOP] = 1

    def _begin_at(self, start: State) -> None:
        n = len(self.explorer.footholds)
        w = self.world
        if start.lost:
            return
        self._mark_start(start)
        if start.ended:
            return
        if not start.grounded:
            self._follow([Beginning(n, heap.FROM_AIR, start.x, start.y)])
            return
        row = (start.y + int(w[heap.BODY_H])) // int(w[heap.TILE])
        for f in self.explorer.footholds:
            if f.row == row and f.left_spx <= start.x <= f.right_spx and not f.is_spring:
                self._rest_at(f.index)
                return
        self._follow([Beginning(n, heap.FROM_SPOT, start.x, start.y)])

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
        return self._with_room(
            lambda: closure.deliver(self.world, self.ground, self.benches[0].job, spring, x, v, len(x))
        )

    def _with_room(self, store: Callable[[], bool]) -> bool:
        """Store something in the ground states, which get more room until it succeeds. False: the memory limit."""
        room = 0
        while not store():
            # where dropping what is done with was not enough there has to be more
            self.ground = with_more_room(self.ground, 2 * room)
            room = int(self.ground[heap.POLYGON + 1])
            if not self._has_room():
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
            and closure.inbox_can_rest(self.world, self.ground, self.benches[0].job, f)
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
                near = sorted(self.rest, key=lambda each: self._distance(each, left)) if left else list(self.rest)
                batch = [Beginning(f, heap.FROM_REST) for f in near[:AT_ONCE]]
                for one in batch:
                    self.rest.remove(one.node)
            else:
                batch = [
                    Beginning(self.moving.popleft(), heap.FROM_INBOX) for _ in range(min(AT_ONCE, len(self.moving)))
                ]
                self.queued.difference_update(one.node for one in batch)
            self._follow(batch)
            self.done += len(batch)

    def _distance(self, f: int, places: Sequence[int]) -> tuple[int, int]:
        """How far a foothold is from the nearest of some places, in spx, and its index."""
        terrain, foothold = self.explorer.terrain, self.explorer.footholds[f]
        across = (int(terrain.place_column[place]) * terrain.tile for place in places)
        beside = [max(0, foothold.left_spx - x, x - foothold.right_spx) for x in across]
        above = [abs(int(terrain.place_row[place]) - foothold.row) * terrain.tile for place in places]
        return min(map(sum, zip(beside, above, strict=True))), f

    def _follow(self, beginnings: Sequence[Beginning]) -> None:
        """Work out jobs that do not depend on each other, side by side, and keep what they found in their order."""
        taken = [self._taken(one) for one in beginnings]
        found = self._worked_out(beginnings)
        for number, (one, head) in enumerate(zip(beginnings, taken, strict=True)):
            what = found[number]
            if isinstance(what, str):
                self.why = what
                return
            self._keep(one, what, head)
            if self.why:
                return
            if self.seen is not None:
                self.seen(one.node, self.benches[number].job)
            for f in what.targets:
                self._queue(f)

    def _taken(self, one: Beginning) -> int:
        """How many polygons of its inbox a job takes up."""
        return ground_lists.length(self.ground, heap.INBOX, one.node) if one.begin == heap.FROM_INBOX else 0

    def _worked_out(self, beginnings: Sequence[Beginning]) -> list[Found | str]:
        """What jobs find: known from before, or worked out now, side by side where there are several."""
        if self.stopped:
            return ["time limit"] * len(beginnings)
        memory = self.explorer.memory if self.seen is None else None
        keys = [
            key_of(self.explorer, one, self.ground) if memory is not None and one.settles else None
            for one in beginnings
        ]
        known = [
            memory.find(self.explorer, one, key) if memory is not None and key is not None else None
            for one, key in zip(beginnings, keys, strict=True)
        ]
        new = [number for number, what in enumerate(known) if what is None]
        while len(self.benches) < len(beginnings):
            self.benches.append(self._bench())
            # whoever stops the run stops the benches that are listed
            self.benches[-1].marks[heap.STOP] = self.stopped
        if not self._has_room():
            return ["memory limit"] * len(beginnings)
        made = self._made(new, beginnings)
        for number, what in made.items():
            key = keys[number]
            if memory is not None and key is not None and isinstance(what, Found):
                memory.keep(self.explorer, beginnings[number], key, what)
        return [made[number] if what is None else what for number, what in enumerate(known)]

    def _made(self, numbers: Sequence[int], beginnings: Sequence[Beginning]) -> dict[int, Found | str]:
        """What jobs find that are worked out now. Which of them gets more room does not depend on who is faster."""
        made: dict[int, Found | str] = {}
        waiting = list(numbers)
        while waiting:
            for number, what in zip(waiting, self._mapped(waiting, beginnings), strict=True):
                if what is not None:
                    made[number] = what
            waiting = [number for number in waiting if number not in made]
            for number in waiting:
                self.benches[number].enlarge()
                if not self._has_room():
                    made |= {each: "memory limit" for each in waiting if each >= number}
                    break
            waiting = [number for number in waiting if number not in made]
        return made

    def _mapped(self, numbers: Sequence[int], beginnings: Sequence[Beginning]) -> Iterable[Found | str | None]:
        def work(number: int) -> Found | str | None:
            return self.benches[number].work_out(self.world, self.ground, beginnings[number])

        if len(numbers) < 2:
            return [work(number) for number in numbers]
        return list(_WORKERS.map(work, numbers))

    def _keep(self, one: Beginning, what: Found, taken: int) -> None:
        """Add what a job found to what the exploration has found."""
        job = self.benches[0].job
        if not self._with_room(lambda: ground.commit(self.world, self.ground, job, what.packed, one.node, taken)):
            return
        n = len(self.explorer.footholds)
        self.cover[what.box.cells] |= what.cover
        self.carried[what.carried_at] |= what.carried
        self.marks[heap.POLYGON_TICKS] += what.polygon_ticks
        heap.region(self.marks, heap.K_TOUCHED)[list(what.touched)] = 1
        heap.region(self.marks, heap.K_LOSING)[one.node] |= what.lost
        if what.lost and self.until_lost:
            self.why = LOSS
        if self.until_touched.intersection(what.touched):
            self.why = TOUCH
        if self.most_polygon_ticks is not None and self.marks[heap.POLYGON_TICKS] > self.most_polygon_ticks:
            self.why = EFFORT
        self._measure(what.misses)
        from_rest = one.begin == heap.FROM_REST
        for target, kind, ticks, rests in what.moves.tolist():
            if one.node in (target, n):
                continue
            key = (one.node, target, kind, from_rest)
            old = self.moves.get(key, (ticks, 0))
            self.moves[key] = (min(old[0], ticks), old[1] | rests)
        self.place_moves.update((one.node if one.node < n else -1, i, from_rest) for i in what.touched)

    def _measure(self, misses: np.ndarray) -> None:
        """Take in the nearest misses of a job; of equal ones the first stays."""
        records = heap.region(self.marks, heap.K_MISS, heap.MISS_WIDTH)
        for place, *record in misses.tolist():
            old = records[place].tolist()
            if not old[heap.MISS_KNOWN] or _length(record) < _length(old):
                records[place] = record

    def _bench(self) -> Bench:
        explorer = self.explorer
        bench = Bench(
            self.places,
            explorer.aimed,
            len(explorer.footholds),
            self.cover.shape,
            explorer.cells_above,
            self.seen is not None,
        )
        bench.marks[heap.STOP] = self.stopped
        return bench

    def _has_room(self) -> bool:
        """Whether the room in use is within the limit. What is kept of finished jobs gets what is left of it."""
        if self.memory_limit_mib is None:
            self.explorer.memory.allow(None)
            return True
        limit = int(self.memory_limit_mib * 2**20)
        arrays = (self.world, self.marks, self.carried, self.cover, self.ground)
        used = sum(a.nbytes for a in arrays) + sum(bench.nbytes for bench in self.benches)
        self.explorer.memory.allow(limit - used)
        return used <= limit

    def result(self) -> Exploration:
        """Condense the marks."""
        n = len(self.explorer.footholds)
        above = self.explorer.cells_above
        cover = self.cover != 0
        tall = (self.cover & 2) != 0
        rows = len(self.carried) * heap.CELLS
        coverage = zeros((rows, cover.shape[1]), np.bool_)
        for lower in range(above):
            first = above - lower
            coverage |= (tall if lower == above - 1 else cover)[first : first + rows]
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
            polygon_ticks=int(self.marks[heap.POLYGON_TICKS]) + sum(bench.unfinished for bench in self.benches),
            kept_polygon_ticks=int(self.marks[heap.POLYGON_TICKS]),
            ground=compacted(self.ground),
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
