"""What a plan has to do: from which spots of a foothold, with which buttons, to which goal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import MoveKind
from reach.kernels.course import BLOCKS, FAR, Course
from reach.kernels.plan_axes import TICKS_AT_TOP_SPEED
from reach.kernels.plan_tick import BOUNCE, REST, TOUCH, Goal, Scene
from reach.kernels.plans import DROP, JUMP, SPRING, WALK, PlanTicks, Source

if TYPE_CHECKING:
    from reach.kernels.params import Motion, Terrain
    from reach.reachability.result import Foothold

ACTIONS = {
    MoveKind.JUMP: JUMP,
    MoveKind.DROP: DROP,
    MoveKind.SPRING: SPRING,
    MoveKind.WALK_OFF: WALK,
    MoveKind.STRIDE: WALK,
}

MOST_FLIGHT_TICKS = 4096
"""No flight is followed for longer: it counts as a failure."""

CLOSE_SPOTS = 64
"""Where it matters from which spot a plan starts, about so many are tried in each gait."""


@dataclass(frozen=True)
class Ground:
    """An x interval on which a body stands (or is launched by a spring), by its top-left corner, spx."""

    left: int
    right: int
    y: int
    is_spring: bool = False


@dataclass(frozen=True)
class Box:
    """A place's box, spx, half-open."""

    left: int
    top: int
    right: int
    bottom: int


@dataclass(frozen=True)
class Axis:
    """Ticks of a plan's press, hold or steering; `open_low` and `open_high`: all ticks beyond that end do the same."""

    low: int
    high: int
    open_low: bool = False
    open_high: bool = False

    @property
    def size(self) -> int:
        """Number of ticks."""
        return self.high - self.low + 1

    def padding(self, ticks: int) -> tuple[int, int]:
        """Return by how much to repeat the first and the last tick so that open ends hold so many more.

        Where nothing depends on this axis at all, one side does.
        """
        if self.size == 1 and self.open_low and self.open_high:
            return 0, ticks
        return ticks if self.open_low else 0, ticks if self.open_high else 0


@dataclass(frozen=True, eq=False)
class Task:
    """One move to find plans for: from `ground` by `action` to `target`, on the course of `scene`."""

    scene: Scene
    action: int
    ground: Ground
    target: Ground | Box

    def source(self, x: int) -> Source:
        """Return the ground as the kernels take it, for a plan that starts at `x`."""
        motion, course, _ = self.scene
        launch = -1
        if self.action == SPRING:
            row = cells_over(course.y_edges, self.ground.y + motion.body_h, 1)[0]
            launch = int(course.launch[row, slice(*cells_over(course.x_edges, x, motion.body_w))].max())
        return Source(self.ground.left, self.ground.right, launch)

    @property
    def most_run_up(self) -> int:
        """Ticks of the longest run-up of a plan, and one."""
        motion = self.scene.motion
        gaits = [_gait(motion, run) for run in _gaits(motion)]
        return max(-(-cap // accel) for accel, cap in gaits) + TICKS_AT_TOP_SPEED + 1


def foothold_ground(foothold: Foothold, motion: Motion, terrain: Terrain) -> Ground:
    """Return a foothold's interval."""
    y = foothold.row * terrain.tile - motion.body_h
    return Ground(foothold.left_spx, foothold.right_spx, y, foothold.is_spring)


def place_box(place: int, terrain: Terrain) -> Box:
    """Return a place's tile."""
    left, top = int(terrain.place_column[place]) * terrain.tile, int(terrain.place_row[place]) * terrain.tile
    return Box(left, top, left + terrain.tile, top + terrain.tile)


def make_task(motion: Motion, course: Course, kind: MoveKind, ground: Ground, target: Ground | Box) -> Task:
    """Return the task of getting from a ground to a target by one move of the given kind."""
    if isinstance(target, Box):
        goal = Goal(TOUCH, 1, 0, 0, 0, 0, target.left, target.top, target.right, target.bottom, target.bottom - 1)
    else:
        walls = [
            int(_meets_wall(motion, course, x, target.y)) if not target.is_spring else 0
            for x in (target.left - 1, target.right + 1)
        ]
        goal = Goal(
            BOUNCE if target.is_spring else REST,
            target.left,
            target.right,
            target.y,
            walls[0],
            walls[1],
            FAR,
            FAR,
            -FAR,
            -FAR,
            target.y,
        )
    return Task(Scene(motion, course, goal), ACTIONS[kind], ground, target)


def _meets_wall(motion: Motion, course: Course, x: int, y: int) -> bool:
    """Whether a body at (x, y) would overlap a blocking cell."""
    rows = slice(*cells_over(course.y_edges, y, motion.body_h))
    columns = slice(*cells_over(course.x_edges, x, motion.body_w))
    return bool((course.flags[rows, columns] & BLOCKS).any())


def cells_over(edges: np.ndarray, low: int, size: int) -> tuple[int, int]:
    """Return the first cell that [low, low + size) overlaps and the one after the last."""
    first, last = np.searchsorted(edges, [low, low + size - 1], side="right") - 1
    return int(first), int(last) + 1


def starting_plans(task: Task, facing: int, extra_x: tuple[int, ...] = ()) -> list[PlanTicks]:
    """Return the plans, without ticks, that start on good spots facing one way: the likeliest first.

    The spots: far enough from the edge (or from under the target) to reach top speed with ticks to spare, just far
    enough, half as far, a few steps, at the edge, in the middle of what lies under the target, and the ends of the
    ground, where it may be flush to a wall.
    """
    motion = task.scene.motion
    ground = task.ground
    if task.action == SPRING:
        spots = [*extra_x, ground.left, ground.right, (ground.left + ground.right) // 2]
        return _plans(task, facing, 0, spots)
    left, right = _above_target(task)
    near = _last_spot(task, facing)
    under = (max(left, ground.left) + min(right, ground.right)) // 2
    plans = []
    for run in _gaits(motion):
        cap = _gait(motion, run)[1]
        run_up = _run_up(motion, run)
        spots = list(extra_x)
        if max(left, ground.left) <= min(right, ground.right):
            spots.append(under)
        for distance in (run_up + 24 * cap, run_up, run_up // 2, 2 * motion.body_w, motion.body_w // 2, 0):
            spots.append(near - facing * distance)
        spots += [ground.left, ground.right]
        plans += _plans(task, facing, run, spots)
    return plans


def close_plans(task: Task, plan: PlanTicks, wanted: int) -> list[PlanTicks]:
    """Return the plans, without ticks, that start where a plan that leaves little might leave a tick more, in any gait.

    The spots: each from which some number of ticks of run-up ends just at the edge (or from under the target), so that
    the last presses come as late as they can; and the ends of the ground. On a spring, its width divided.
    """
    ground, motion = task.ground, task.scene.motion
    if task.action == SPRING:
        width = ground.right - ground.left
        plans = _plans(task, plan.facing, 0, [ground.left + width * part // CLOSE_SPOTS for part in range(CLOSE_SPOTS)])
    else:
        near = _last_spot(task, plan.facing)
        plans = []
        for run in _gaits(motion):
            accel, cap = _gait(motion, run)
            ticks = -(-cap // accel) + wanted
            covered = np.cumsum([min(tick * accel, cap) for tick in range(ticks)])[:: -(-ticks // CLOSE_SPOTS)]
            spots = [near - plan.facing * int(distance) for distance in covered]
            plans += _plans(task, plan.facing, run, [ground.left, ground.right, *spots])
    return [one._replace(end=end, steer_from=plan.steer_from) for end in (plan.end, -1 - plan.end) for one in plans]


def _above_target(task: Task) -> tuple[int, int]:
    """Return the least and greatest x of a body above (or below) the target, spx."""
    left, right = task.target.left, task.target.right
    return (left - task.scene.motion.body_w + 1, right - 1) if isinstance(task.target, Box) else (left, right)


def _last_spot(task: Task, facing: int) -> int:
    """Return the last spot of the ground on the way to the target that is not under it."""
    ground = task.ground
    left, right = _above_target(task)
    if facing > 0:
        return left - 1 if ground.left < left <= ground.right else ground.right
    return right + 1 if ground.left <= right < ground.right else ground.left


def _gaits(motion: Motion) -> tuple[int, ...]:
    """Return whether the body runs, 1 or 0, in each gait that it has, the faster first."""
    return (1, 0) if motion.has_run else (0,)


def _gait(motion: Motion, run: int) -> tuple[int, int]:
    """Return the acceleration and the top speed of a gait, spx a tick (a tick)."""
    return (motion.run_accel, motion.run_cap) if run else (motion.walk_accel, motion.walk_cap)


def _run_up(motion: Motion, run: int) -> int:
    """Return the distance in which a body at rest reaches top speed (motion model, section 6), spx."""
    accel, cap = _gait(motion, run)
    ticks = -(-cap // accel)
    return accel * (ticks * (ticks - 1) // 2) + cap


def _plans(task: Task, facing: int, run: int, spots: list[int]) -> list[PlanTicks]:
    ground = task.ground
    inside = dict.fromkeys(min(max(x, ground.left), ground.right) for x in spots)
    return [PlanTicks(task.action, x, ground.y, facing, run, 0, 1, 0, 1, 0) for x in inside]


def facings(task: Task) -> tuple[int, int]:
    """Return the two ways to face, the likelier first: towards the middle of the target."""
    aim = task.target.left + task.target.right - task.ground.left - task.ground.right
    if isinstance(task.target, Box):
        aim -= task.scene.motion.body_w
    return (-1, 1) if aim < 0 else (1, -1)
