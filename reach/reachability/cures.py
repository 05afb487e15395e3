"""What would make a tight move comfortable: its target a few px nearer, or lower.

A cure is found with the plans that serve the move as it is, and confirmed on the changed map: there every combination
of a window as large as asked for has been flown.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import MoveKind
from reach.kernels.course import BLOCKS, CARRIES, ENDS, HURTS, LAUNCHES, Course, compile_course
from reach.kernels.params import ONE_WAY, SOLID, SPRING
from reach.kernels.plans import PlanTicks
from reach.reachability.plan_answers import alone
from reach.reachability.plan_search import find_window, has_window
from reach.reachability.plan_task import (
    Box,
    Ground,
    Task,
    cells_over,
    facings,
    foothold_ground,
    make_task,
    place_box,
    starting_plans,
)

if TYPE_CHECKING:
    from reach.kernels.params import Motion, Terrain
    from reach.reachability.result import Foothold

SPX = 65536

MOST_TILES = 2
"""Targets are brought nearer, or lowered, by at most so many tiles."""


@dataclass(frozen=True)
class Cure:
    """The least whole px by which the target must come nearer, or lie lower, for the window to pass; None: no such px.

    "No such px" means that none up to two tiles was found with the plans tried, or that the target lies straight above
    or below and cannot come nearer.
    """

    nearer_px: int | None
    lower_px: int | None


@dataclass(frozen=True, eq=False)
class _Shape:
    """The tiles that move with the target; `grows`: they hang together with the source, so they spread instead."""

    tiles: np.ndarray
    grows: bool


def least_cure(
    motion: Motion,
    terrain: Terrain,
    source: Foothold,
    target: Foothold | int,
    kind: MoveKind,
    threshold_ticks: int,
) -> Cure:
    """Return by how little the target must come nearer, or lie lower, for the move's window to be large enough.

    Parameters
    ----------
    motion : Motion
    terrain : Terrain
    source, target, kind
        As of `measure_move`. With a foothold moves all the ground that hangs together with it; where that is the
        source's ground too, only what lies under the foothold, and it spreads towards the source without leaving a gap.
        A place moves alone.
    threshold_ticks : int
        The window wanted, at least 1.

    Returns
    -------
    Cure
    """
    ground = foothold_ground(source, motion, terrain)
    aim = place_box(target, terrain) if isinstance(target, int) else foothold_ground(target, motion, terrain)
    task = make_task(motion, compile_course(terrain), kind, ground, aim)
    found = alone(find_window(task, (), threshold_ticks, threshold_ticks))
    plans = starting_plans(task, facings(task)[0])
    if found is not None:
        alike = [plan._replace(end=found.plan.end) for plan in starting_plans(task, found.plan.facing)]
        plans = [found.plan, *(plan for plan in alike if plan.run == found.plan.run)]
    shape = _shape(terrain, source, target)
    least = partial(_least_px, terrain, task, kind, shape, plans, threshold_ticks)
    return Cure(least(*_way(ground, aim, motion)), least(0, 1))


def _way(ground: Ground, aim: Ground | Box, motion: Motion) -> tuple[int, int]:
    """Return the direction, x and y, that brings the target nearer; no direction where it lies above or below."""
    width = motion.body_w if isinstance(aim, Box) else 1
    if aim.left - width + 1 > ground.right:
        return -1, 0
    if aim.right - (width > 1) < ground.left:
        return 1, 0
    return 0, 0


def _least_px(
    terrain: Terrain,
    task: Task,
    kind: MoveKind,
    shape: _Shape,
    plans: list[PlanTicks],
    threshold: int,
    across: int,
    down: int,
) -> int | None:
    if not across and not down:
        return None
    for px in range(1, MOST_TILES * terrain.tile // SPX + 1):
        changed = _changed(terrain, task, kind, shape, across * px * SPX, down * px * SPX)
        if changed is None:
            continue
        ground = changed.ground
        moved = dict.fromkeys(plan._replace(x=min(max(plan.x, ground.left), ground.right)) for plan in plans)
        if alone(has_window(changed, list(moved), threshold)):
            return px
    return None


def _changed(terrain: Terrain, task: Task, kind: MoveKind, shape: _Shape, right: int, down: int) -> Task | None:
    """Return the same move on the map with the target shifted; None where nobody could stand there any more."""
    motion = task.scene.motion
    course = compile_course(terrain, shape.tiles, right, down, keep=shape.grows and not down)
    ground = _nearest_ground(motion, course, task.ground, 0, 0)
    aim: Ground | Box | None
    if isinstance(task.target, Box):
        box = task.target
        aim = Box(box.left + right, box.top + down, box.right + right, box.bottom + down)
    else:
        aim = _nearest_ground(motion, course, task.target, right, down)
    if ground is None or aim is None:
        return None
    return make_task(motion, course, kind, ground, aim)


def _shape(terrain: Terrain, source: Foothold, target: Foothold | int) -> _Shape:
    tiles = np.zeros(terrain.material.shape, np.bool_)
    if isinstance(target, int):
        tiles[terrain.place_row[target], terrain.place_column[target]] = True
        return _Shape(tiles, grows=False)
    carries = np.isin(terrain.material, (SOLID, ONE_WAY, SPRING))
    seeds = _tops(carries, target)
    tiles = _connected(carries, seeds)
    if not any(tiles[tile] for tile in _tops(carries, source)):
        return _Shape(tiles, grows=False)
    tiles = np.zeros_like(carries)
    for row, column in seeds:
        while row < carries.shape[0] and carries[row, column]:
            tiles[row, column] = True
            row += 1
    return _Shape(tiles, grows=True)


def _tops(carries: np.ndarray, foothold: Foothold) -> list[tuple[int, int]]:
    first, last = foothold.columns
    return [(foothold.row, column) for column in range(first, last + 1) if carries[foothold.row, column]]


def _connected(carries: np.ndarray, seeds: list[tuple[int, int]]) -> np.ndarray:
    """Return the carrying tiles that hang together, side by side, with the seeds."""
    rows, columns = carries.shape
    found = np.zeros_like(carries)
    waiting = list(seeds)
    while waiting:
        row, column = waiting.pop()
        if not (0 <= row < rows and 0 <= column < columns) or found[row, column] or not carries[row, column]:
            continue
        found[row, column] = True
        waiting += [(row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1)]
    return found


def _nearest_ground(motion: Motion, course: Course, ground: Ground, right: int, down: int) -> Ground | None:
    """Return the ground, on a changed course, that has most in common with a shifted one."""
    best = None
    most = -1
    for left_end, right_end in stands(motion, course, ground.y + down, ground.is_spring):
        common = min(right_end, ground.right + right) - max(left_end, ground.left + right)
        if common > most:
            most = common
            best = Ground(left_end, right_end, ground.y + down, ground.is_spring)
    return best


def stands(motion: Motion, course: Course, y: int, on_spring: bool) -> Iterator[tuple[int, int]]:
    """Yield the maximal x intervals in which a body at `y` is carried and meets nothing, off or on springs."""
    feet = y + motion.body_h
    row = cells_over(course.y_edges, feet, 1)[0]
    if course.y_edges[row] != feet:
        return
    over = course.flags[slice(*cells_over(course.y_edges, y, motion.body_h))]
    bad = np.asarray((over & (BLOCKS | HURTS | ENDS)).any(axis=0))
    carries = (course.flags[row] & CARRIES).astype(bool)
    springs = (course.flags[row] & LAUNCHES).astype(bool)
    # Between two neighbouring cuts the body overlaps the same columns.
    edges = course.x_edges[1:-1]
    cuts = np.unique(np.concatenate((edges, edges - motion.body_w + 1)))
    begin = None
    for low, following in pairwise([int(cut) for cut in cuts if 0 <= cut <= edges[-1] - motion.body_w + 1]):
        columns = slice(*cells_over(course.x_edges, low, motion.body_w))
        good = carries[columns].any() and not bad[columns].any() and springs[columns].any() == on_spring
        if good and begin is None:
            begin = low
        if not good and begin is not None:
            yield begin, low - 1
            begin = None
        last = following - 1
    if begin is not None:
        yield begin, last
