"""The certificate of `unreachable`: every successor of a stored state lies in the stored sets again.

`Stored` keeps the polygons of an exploration by vertical state. `check_closure` takes their vertices and random whole
points inside them, every counter that matters, every input of a tick and one tick of the scalar simulator, and looks
the successor up; one at rest must be on a foothold that is said to be rested on. Nothing of the exploration's own
arithmetic is used for that but its stored vertices.

A stored state is one that lies, for *every* zone that its speed belongs to, in a polygon of that zone: where a cut has
rounded outward onto the end of a zone, the neighbour zone need not have the point, and no body is there. So the set
that is shown to be closed is that of the states which all their zones have; the start is one of them.
"""

from __future__ import annotations

from enum import IntEnum, auto
from typing import Any, NamedTuple

import numpy as np
from numba import njit

from reach.kernels import heap
from reach.kernels.contact import spring_launch
from reach.kernels.params import Buttons, Motion, State, Terrain
from reach.kernels.step import (
    air_speed,
    air_vy,
    band1,
    buffer_after_buttons,
    ground_speed,
    is_running,
    step,
)
from reach.reachability.explore import Explorer
from reach.reachability.result import Exploration

GROUND = -1
"""Stands in a key where a state in the air has its takeoff class."""


class Happened(IntEnum):
    """What a successor can show; `check_closure` counts each."""

    LOST = 0
    ENDED = auto()
    JUMP = auto()
    COYOTE_JUMP = auto()
    LATE_COYOTE_JUMP = auto()
    BUFFERED_JUMP = auto()
    RELEASE = auto()
    CUT = auto()
    DROP = auto()
    SPRING = auto()
    CEILING = auto()
    WALL = auto()
    TAKEOFF_INTO_WALL = auto()
    LANDING = auto()
    WALK_OFF = auto()
    STRIDE = auto()
    RUN = auto()
    MEMORY = auto()
    TAKEOFF_BAND = auto()
    SPEED_BAND = auto()
    DRAG = auto()
    OVER_CAP = auto()
    TURN = auto()
    TERMINAL = auto()
    OVER_A_TILE = auto()
    WIDE_BODY = auto()


_LOST, _ENDED = int(Happened.LOST), int(Happened.ENDED)
_JUMP, _COYOTE_JUMP, _LATE_COYOTE_JUMP = int(Happened.JUMP), int(Happened.COYOTE_JUMP), int(Happened.LATE_COYOTE_JUMP)
_BUFFERED_JUMP, _RELEASE, _CUT = int(Happened.BUFFERED_JUMP), int(Happened.RELEASE), int(Happened.CUT)
_DROP, _SPRING, _CEILING = int(Happened.DROP), int(Happened.SPRING), int(Happened.CEILING)
_WALL, _TAKEOFF_INTO_WALL = int(Happened.WALL), int(Happened.TAKEOFF_INTO_WALL)
_LANDING, _WALK_OFF, _STRIDE = int(Happened.LANDING), int(Happened.WALK_OFF), int(Happened.STRIDE)
_RUN, _MEMORY, _DRAG = int(Happened.RUN), int(Happened.MEMORY), int(Happened.DRAG)
_TAKEOFF_BAND, _SPEED_BAND = int(Happened.TAKEOFF_BAND), int(Happened.SPEED_BAND)
_OVER_CAP, _TURN, _TERMINAL = int(Happened.OVER_CAP), int(Happened.TURN), int(Happened.TERMINAL)
_OVER_A_TILE, _WIDE_BODY = int(Happened.OVER_A_TILE), int(Happened.WIDE_BODY)

KEPT = 20
"""Escapes that are described; all are counted."""


class Index(NamedTuple):
    """Polygons by key (class or GROUND, y, vy, held, coyote), ascending: `at[i]:at[i + 1]` are a key's. All int64.

    `first` and `size` say where a polygon's vertices stand in `x` and `v`. `zones` has the least and greatest speed of
    every zone, `zones_of[1 + c]` the first and end of the zones of class c.
    """

    keys: np.ndarray
    at: np.ndarray
    first: np.ndarray
    size: np.ndarray
    zone: np.ndarray
    box: np.ndarray
    x: np.ndarray
    v: np.ndarray
    zones: np.ndarray
    zones_of: np.ndarray


class Stored:
    """The stored sets of one exploration, which `exploration` is the outcome of."""

    def __init__(self, motion: Motion, terrain: Terrain, start: State, **options: Any) -> None:
        self.motion = motion
        self.terrain = terrain
        self._parts: list[tuple[np.ndarray, ...]] = []
        self._x: list[np.ndarray] = []
        self._v: list[np.ndarray] = []
        self._held = 0
        explorer = Explorer(motion, terrain)
        self.exploration: Exploration = explorer.explore(start, seen=self._keep, **options)
        self._keep_ground(explorer)
        self.footholds = np.array(
            [
                (f.row, f.left_spx, f.right_spx, int(self.exploration.rested[f.index]))
                for f in explorer.footholds
                if not f.is_spring
            ],
            np.int64,
        ).reshape(-1, 4)
        self.index = self._indexed(explorer.world)

    def _keep_vertices(self, a: np.ndarray) -> int:
        n = int(a[heap.VERTEX_N])
        self._x.append(heap.region(a, heap.VERTEX_X)[:n].copy())
        self._v.append(heap.region(a, heap.VERTEX_V)[:n].copy())
        self._held += n
        return self._held - n

    def _keep(self, node: int, job: np.ndarray) -> None:
        del node
        base = self._keep_vertices(job)
        polygons = heap.region(job, heap.POLYGON, heap.POLYGON_WIDTH)
        sets = heap.region(job, heap.SET, heap.SET_WIDTH)
        records = heap.region(job, heap.RECORD, heap.RECORD_WIDTH)[: job[heap.RECORD_N]]
        s = records[:, 5]
        count = sets[s, heap.SET_SIZE]
        which = np.repeat(np.arange(len(s)), count)
        place = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
        i = job[sets[s[which], heap.SET_FIRST] + place]
        self._add(records[which, :5], polygons[i], base)

    def _keep_ground(self, explorer: Explorer) -> None:
        g = self.exploration.ground
        base = self._keep_vertices(g)
        polygons = heap.region(g, heap.POLYGON, heap.POLYGON_WIDTH)
        keys, kept = [], []
        for f in explorer.footholds:
            i = -1 if f.is_spring else int(heap.region(g, heap.SETTLED)[f.index])
            while i >= 0:
                keys.append((GROUND, f.row * self.terrain.tile - self.motion.body_h, 0, 0, 0))
                kept.append(i)
                i = int(polygons[i, heap.NEXT])
        self._add(np.array(keys, np.int64).reshape(-1, 5), polygons[np.array(kept, np.int64)], base)

    def _add(self, keys: np.ndarray, polygons: np.ndarray, base: int) -> None:
        first, size, zone = (polygons[:, i] for i in (heap.FIRST, heap.SIZE, heap.ZONE))
        assert (self._v[-1][first] == polygons[:, heap.V0]).all()  # rising order, of which the kernels make use
        self._parts.append((keys, first + base, size, zone, polygons[:, [heap.X0, heap.X1, heap.V0, heap.V1]]))

    def _indexed(self, world: np.ndarray) -> Index:
        keys, first, size, zone, box = (np.concatenate(part) for part in zip(*self._parts, strict=True))
        order = np.lexsort((box[:, 0], zone, *keys.T[::-1]))
        keys = keys[order]
        new = np.ones(len(keys), bool)
        new[1:] = (keys[1:] != keys[:-1]).any(axis=1)
        at = heap.region(world, heap.ZONE_AT)
        return Index(
            np.ascontiguousarray(keys[new]),
            np.append(np.flatnonzero(new), len(keys)),
            first[order],
            size[order],
            zone[order],
            np.ascontiguousarray(box[order]),
            np.concatenate(self._x),
            np.concatenate(self._v),
            heap.region(world, heap.ZONES, heap.ZONE_WIDTH)[:, [heap.Z_LOW, heap.Z_HIGH]].copy(),
            np.column_stack([at[:-1], at[1:]]),
        )

    def holds(self, state: State) -> bool:
        """Whether the stored sets hold a state."""
        return bool(_holds(state, self.index, takeoff_thresholds(self.motion)))

    def begins_with(self, start: State) -> bool:
        """Whether the stored sets hold a start, or (one on a spring stands there for no time) all its successors."""
        if self.holds(start):
            return True
        after = [
            State(*step(start, Buttons(*row), self.motion, self.terrain)) for row in all_buttons(self.motion).tolist()
        ]
        return all(state.lost or state.ended or self.holds(state) for state in after)


def takeoff_thresholds(motion: Motion) -> np.ndarray:
    """Every threshold of a list by takeoff speed that a body of this motion can have, ascending from 0."""
    top = max(motion.walk_cap, motion.run_cap, int(motion.air_cap.max()))
    lists = (motion.jump_from, motion.air_reverse_from_takeoff, motion.air_cap_from)
    every = np.unique(np.concatenate(lists))
    return every[every <= top]


def all_buttons(motion: Motion) -> np.ndarray:
    """Every input that can matter to a profile, int64 [n, 4]: direction, down, run, jump."""
    return np.array(
        [
            (direction, down, run, jump)
            for direction in (-1, 0, 1)
            for down in ((0, 1) if motion.drop_through else (0,))
            for run in ((0, 1) if motion.has_run else (0,))
            for jump in (0, 1)
        ],
        np.int64,
    )


class Checked(NamedTuple):
    """What was checked: successors looked up, those not found (some described), and how often what happened."""

    successors: int
    escapes: int
    described: tuple[tuple[State, Buttons, State], ...]
    happened: dict[Happened, int]


def check_closure(stored: Stored, dice: np.random.Generator, points: int, limit: int) -> Checked:
    """Look the successors of stored states up, in random order of polygons, at most about `limit`."""
    keys = np.repeat(stored.index.keys, np.diff(stored.index.at), axis=0)
    # most polygons are plain flights: those on the ground and within coyote time come early
    turn = dice.random(len(keys)) * np.select([keys[:, 0] == GROUND, keys[:, 4] > 0], [0.01, 0.1], 1.0)
    happened = np.zeros(len(Happened), np.int64)
    found = np.zeros((KEPT, 30), np.int64)
    successors, escapes = _check(
        stored.index,
        np.argsort(turn, kind="stable"),
        keys,
        np.array([dice.integers(1, 1 << 31)], np.int64),
        points,
        limit,
        takeoff_thresholds(stored.motion),
        all_buttons(stored.motion),
        stored.footholds,
        stored.motion,
        stored.terrain,
        happened,
        found,
    )
    described = tuple(
        (State(*row[:13]), Buttons(*row[13:17]), State(*row[17:])) for row in found[: min(escapes, KEPT)].tolist()
    )
    return Checked(int(successors), int(escapes), described, dict(zip(Happened, happened.tolist(), strict=True)))


@njit
def draw(seed, below):
    """A random number in 0..below-1 (a linear congruence modulo 2**31, of which the upper bits are used)."""
    seed[0] = (seed[0] * 1103515245 + 12345) & 0x7FFFFFFF
    return ((seed[0] >> 8) * below) >> 23


@njit
def _find_key(c, y, vy, held, coyote, keys):
    """Index of a key, -1 if there is none."""
    low = 0
    high = keys.shape[0]
    while low < high:
        middle = (low + high) // 2
        k = keys[middle]
        less = k[0] < c or (
            k[0] == c
            and (
                k[1] < y
                or (k[1] == y and (k[2] < vy or (k[2] == vy and (k[3] < held or (k[3] == held and k[4] < coyote)))))
            )
        )
        if less:
            low = middle + 1
        else:
            high = middle
    if low == keys.shape[0]:
        return -1
    k = keys[low]
    if k[0] == c and k[1] == y and k[2] == vy and k[3] == held and k[4] == coyote:
        return low
    return -1


@njit
def _inside(px, pv, first, size, x, v):
    """Whether a convex polygon, counter-clockwise, holds a point; exact in 64 bits for the formats' extremes."""
    turns = False
    for i in range(size):
        a = first + i
        b = first + (i + 1) % size
        turn = (x[b] - x[a]) * (pv - v[a]) - (v[b] - v[a]) * (px - x[a])
        if turn < 0:
            return False
        turns = turns or turn > 0
    if turns:
        return True
    # on the line of a segment, or a point
    low_x = x[first]
    high_x = x[first]
    low_v = v[first]
    high_v = v[first]
    for i in range(first + 1, first + size):
        low_x = min(low_x, x[i])
        high_x = max(high_x, x[i])
        low_v = min(low_v, v[i])
        high_v = max(high_v, v[i])
    return low_x <= px <= high_x and low_v <= pv <= high_v


@njit
def _holds(state, index, thresholds):
    """Whether the state's speed has a zone and every such zone has the state."""
    c = GROUND if state.grounded != 0 else band1(thresholds, state.takeoff)
    k = _find_key(c, state.y, state.vy, state.held, state.coyote, index.keys)
    if k < 0:
        return False
    found = False
    for z in range(index.zones_of[1 + c, 0], index.zones_of[1 + c, 1]):
        if not index.zones[z, 0] <= state.vx <= index.zones[z, 1]:
            continue
        found = False
        for i in range(index.at[k], index.at[k + 1]):
            if index.zone[i] == z and index.box[i, 0] <= state.x <= index.box[i, 1] and not found:
                found = _inside(state.x, state.vx, index.first[i], index.size[i], index.x, index.v)
        if not found:
            return False
    return found


@njit
def _may_rest(state, footholds, motion, terrain):
    """Whether the state moves, or its foothold is one that something is said to come to rest on."""
    if state.grounded == 0 or state.vx != 0:
        return True
    row = (state.y + motion.body_h) // terrain.tile
    for f in range(footholds.shape[0]):
        if footholds[f, 0] == row and footholds[f, 1] <= state.x <= footholds[f, 2]:
            return footholds[f, 3] != 0
    return True


@njit
def _note(state, buttons, after, motion, terrain, footholds, thresholds, happened):
    """Count what a tick shows."""
    happened[_LOST] += after.lost
    happened[_ENDED] += after.ended
    speed = abs(state.vx)
    wants = buffer_after_buttons(state.buffer, buttons.jump, state.jump_was_down, motion) > 0
    jumps = wants and (state.grounded != 0 or state.coyote > 0)
    if state.grounded != 0:
        vx = ground_speed(state.vx, buttons.direction, is_running(buttons.run, state.run_memory, motion), motion)
        walking = ground_speed(state.vx, buttons.direction, False, motion)
        if vx != walking:
            happened[_RUN if buttons.run != 0 else _MEMORY] += 1
        if speed > motion.walk_cap:
            happened[_OVER_CAP] += 1
    else:
        vx = air_speed(state.vx, buttons.direction, state.takeoff, motion)
        if band1(thresholds, state.takeoff) > 0:
            happened[_TAKEOFF_BAND] += 1
        if band1(motion.air_accel_from, speed) > 0:
            happened[_SPEED_BAND] += 1
        if buttons.direction == 0 and vx != state.vx:
            happened[_DRAG] += 1
        if speed > motion.air_cap[band1(motion.air_cap_from, state.takeoff)]:
            happened[_OVER_CAP] += 1
    if buttons.direction * state.vx < 0:
        happened[_TURN] += 1
    if vx != 0 and after.vx == 0:
        happened[_WALL] += 1
        if jumps:
            happened[_TAKEOFF_INTO_WALL] += 1
    if abs(after.vx) > terrain.tile:
        happened[_OVER_A_TILE] += 1
    if motion.body_w > terrain.tile:
        happened[_WIDE_BODY] += 1
    on_spring = False
    row = (after.y + motion.body_h) // terrain.tile
    if after.grounded == 0 and not jumps and row * terrain.tile == after.y + motion.body_h:
        launch = spring_launch(after.x, after.y, motion, terrain)
        on_spring = launch > 0 and after.vy == -launch
    if on_spring:
        happened[_SPRING] += 1
    if jumps:
        if state.grounded == 0:
            happened[_COYOTE_JUMP] += 1
            if state.coyote < motion.coyote_ticks:
                happened[_LATE_COYOTE_JUMP] += 1
        else:
            happened[_JUMP] += 1
        if buttons.jump == 0 or state.jump_was_down != 0:
            happened[_BUFFERED_JUMP] += 1
    elif state.grounded != 0:
        if buttons.down != 0 and after.y == state.y + 1:
            happened[_DROP] += 1
        elif after.grounded == 0 and not on_spring:
            happened[_WALK_OFF] += 1
        elif after.grounded != 0:
            before = -1
            now = -1
            for f in range(footholds.shape[0]):
                if footholds[f, 0] == row:
                    if footholds[f, 1] <= state.x <= footholds[f, 2]:
                        before = f
                    if footholds[f, 1] <= after.x <= footholds[f, 2]:
                        now = f
            if before != now and before >= 0 and now >= 0:
                happened[_STRIDE] += 1
    else:
        vy, _ = air_vy(state.vy, state.held, buttons.jump, state.takeoff, motion)
        if state.held != 0 and buttons.jump == 0 and state.vy < 0:
            happened[_RELEASE] += 1
            if motion.cut_speed >= 0 and state.vy < -motion.cut_speed:
                happened[_CUT] += 1
        if vy == motion.terminal:
            happened[_TERMINAL] += 1
        if vy < 0 and after.vy == 0:
            happened[_CEILING] += 1
        if after.grounded != 0:
            happened[_LANDING] += 1


@njit
def _state_at(key, x, vx, seed, thresholds, motion):
    """A stored point as a state, its forgotten counters drawn at random among those that matter."""
    memory = 0
    if motion.has_run != 0 and draw(seed, 2) != 0:
        memory = motion.run_memory
    buffer = motion.buffer_ticks if draw(seed, 2) != 0 else 0
    if key[0] == GROUND:
        return State(x, key[1], vx, 0, 1, 0, 0, memory, 0, buffer, draw(seed, 2), 0, 0)
    takeoff = thresholds[key[0]]
    if key[0] + 1 < thresholds.shape[0] and draw(seed, 2) != 0:
        takeoff = thresholds[key[0] + 1] - 1
    # a jump is held only by a button that is down
    was_down = 1 if key[3] != 0 else draw(seed, 2)
    return State(x, key[1], vx, key[2], 0, takeoff, key[3], memory, key[4], buffer, was_down, 0, 0)


@njit
def _check(index, order, keys, seed, points, limit, thresholds, buttons, footholds, motion, terrain, happened, found):
    successors = 0
    escapes = 0
    for i in order:
        if successors >= limit:
            break
        key = keys[i]
        first = index.first[i]
        size = index.size[i]
        corners = min(size, points)
        # all that stands on a foothold is in few polygons
        inner = 8 * points if key[0] == GROUND else points
        for p in range(corners + inner):
            a = first + (p if p < corners and size <= points else draw(seed, size))
            x = index.x[a]
            vx = index.v[a]
            if p >= corners:
                # a whole point near a random mean of three vertices
                b = first + draw(seed, size)
                c = first + draw(seed, size)
                s = draw(seed, 1025)
                t = draw(seed, 1025 - s)
                x = index.x[a] + ((index.x[b] - index.x[a]) * s + (index.x[c] - index.x[a]) * t) // 1024
                vx = index.v[a] + ((index.v[b] - index.v[a]) * s + (index.v[c] - index.v[a]) * t) // 1024
                if not _inside(x, vx, first, size, index.x, index.v):
                    continue
            state = _state_at(key, x, vx, seed, thresholds, motion)
            if not _holds(state, index, thresholds):
                continue
            for b in range(buttons.shape[0]):
                pressed = Buttons(buttons[b, 0], buttons[b, 1], buttons[b, 2], buttons[b, 3])
                after = step(state, pressed, motion, terrain)
                successors += 1
                _note(state, pressed, after, motion, terrain, footholds, thresholds, happened)
                if after.lost != 0 or after.ended != 0:
                    continue
                if _holds(after, index, thresholds) and _may_rest(after, footholds, motion, terrain):
                    continue
                if escapes < found.shape[0]:
                    for q, value in enumerate(state):
                        found[escapes, q] = value
                    for q, value in enumerate(pressed):
                        found[escapes, 13 + q] = value
                    for q, value in enumerate(after):
                        found[escapes, 17 + q] = value
                escapes += 1
    return successors, escapes
