"""The certificate of `unreachable`: every successor of a stored state lies in the stored sets again.

Takes the vertices of stored polygons and random whole points inside them, every counter and input that the profile has,
one tick of the scalar simulator, and looks the successor up.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import numpy as np

from reach.kernels import heap
from reach.kernels.params import Buttons, Motion, State, Terrain
from reach.kernels.polygon import has_point
from reach.kernels.step import step
from reach.kernels.zones import takeoff_thresholds
from reach.reachability.explore import Explorer


class Stored:
    """The stored sets of one exploration: polygons by vertical state in the air, by row on the ground."""

    def __init__(self, motion: Motion, terrain: Terrain, start: State) -> None:
        self.motion = motion
        self.terrain = terrain
        self.air: dict[tuple[int, ...], list[tuple[np.ndarray, np.ndarray]]] = defaultdict(list)
        self.ground: dict[int, list[tuple[np.ndarray, np.ndarray]]] = defaultdict(list)
        self.thresholds = takeoff_thresholds(motion)
        explorer = Explorer(motion, terrain)
        self.exploration = explorer.explore(start, seen=self._keep)
        g = self.exploration.ground
        records = heap.region(g, heap.POLYGON, heap.POLYGON_WIDTH)
        for f in explorer.footholds:
            i = int(heap.region(g, heap.SETTLED)[f.index])
            while i >= 0:
                if not f.is_spring:
                    self.ground[f.row].append(_polygon(g, records, i))
                i = int(records[i, heap.NEXT])

    def _keep(self, node: int, job: np.ndarray) -> None:
        del node
        records = heap.region(job, heap.POLYGON, heap.POLYGON_WIDTH)
        sets = heap.region(job, heap.SET, heap.SET_WIDTH)
        for *key, s in heap.region(job, heap.RECORD, heap.RECORD_WIDTH)[: job[heap.RECORD_N]].tolist():
            first, size = sets[s, : heap.SET_SIZE + 1].tolist()
            self.air[tuple(key)] += [_polygon(job, records, int(job[first + q])) for q in range(size)]

    def takeoff_class(self, takeoff: int) -> int:
        """Number of the takeoff class of a speed."""
        return max(i for i, t in enumerate(self.thresholds) if t <= takeoff)

    def holds(self, s: State) -> bool:
        """Whether the stored sets hold a state."""
        if s.grounded:
            polygons = self.ground[(s.y + self.motion.body_h) // self.terrain.tile]
        else:
            polygons = self.air[self.takeoff_class(s.takeoff), s.y, s.vy, s.held, s.coyote]
        return any(has_point(x, v, len(x), s.x, s.vx) for x, v in polygons)

    def states(self, dice: np.random.Generator, points: int) -> Any:
        """Yield states from the stored sets: vertices and inner points, with every counter that may matter."""
        motion = self.motion
        memories = {0, motion.run_memory} if motion.has_run else {0}
        buffers = {0, motion.buffer_ticks}
        keys: list[tuple[tuple[int, ...] | None, int, list[tuple[np.ndarray, np.ndarray]]]] = [
            (k, 0, v) for k, v in self.air.items()
        ]
        keys += [(None, row, v) for row, v in self.ground.items()]
        for key, row, polygons in keys:
            for x, v in polygons:
                for px, pv in _points(x, v, dice, points):
                    for memory in memories:
                        for buffer in buffers:
                            if key is None:
                                y = row * self.terrain.tile - motion.body_h
                                yield State(px, y, pv, 0, 1, 0, 0, memory, 0, buffer, 0, 0, 0)
                            else:
                                c, y, vy, held, coyote = key
                                takeoff = self.thresholds[c]
                                yield State(px, y, pv, vy, 0, takeoff, held, memory, coyote, buffer, held, 0, 0)


def _polygon(a: np.ndarray, records: np.ndarray, i: int) -> tuple[np.ndarray, np.ndarray]:
    at, size = records[i, : heap.SIZE + 1].tolist()
    return (
        heap.region(a, heap.VERTEX_X)[at : at + size].copy(),
        heap.region(a, heap.VERTEX_V)[at : at + size].copy(),
    )


def _points(x: np.ndarray, v: np.ndarray, dice: np.random.Generator, count: int) -> set[tuple[int, int]]:
    points = set(zip(x.tolist(), v.tolist(), strict=True))
    for _ in range(count):
        weights = dice.dirichlet(np.ones(len(x)))
        px, pv = round(float(weights @ x)), round(float(weights @ v))
        if has_point(x, v, len(x), px, pv):
            points.add((px, pv))
    return points


def all_buttons(motion: Motion) -> list[Buttons]:
    """Every input that can matter to a profile."""
    return [
        Buttons(direction, down, run, jump)
        for direction in (-1, 0, 1)
        for down in ((0, 1) if motion.drop_through else (0,))
        for run in ((0, 1) if motion.has_run else (0,))
        for jump in (0, 1)
    ]


def escapes(stored: Stored, dice: np.random.Generator, points: int, limit: int) -> tuple[int, list[tuple[Any, ...]]]:
    """Count successors looked up, and list the (state, buttons, successor) that the stored sets do not hold."""
    buttons = all_buttons(stored.motion)
    looked_up = 0
    lost: list[tuple[Any, ...]] = []
    for state in stored.states(dice, points):
        for b in buttons:
            after = State(*step(state, b, stored.motion, stored.terrain))
            looked_up += 1
            if after.lost or after.ended:
                continue
            if not stored.holds(after):
                lost.append((state, b, after))
        if looked_up >= limit:
            break
    return looked_up, lost
