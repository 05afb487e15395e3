"""Windows of moves, kept from one check to the next under all that they follow from.

A plan's body begins on the ground that the move leaves, at rest or launched by a spring, and its flight ends after a
time that the movement bounds. So it meets nothing beyond a box around source and target, and its window follows from
the map in that box alone. A whole script that was measured instead may come from anywhere: its window follows from all
of the map.
"""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING, Any

import numpy as np

from reach.findings import MoveKind
from reach.kernels.course import CARRIES, Course
from reach.kernels.plans import JUMP, SPRING, WALK
from reach.reachability.plan_requests import Asking
from reach.reachability.plan_task import ACTIONS, Box, Ground, cells_over, foothold_ground, place_box
from reach.reachability.recent import Recent
from reach.reachability.windows import KnownMove, Window, ask_window

if TYPE_CHECKING:
    from reach.kernels.params import Motion, Terrain
    from reach.reachability.result import Foothold

Key = tuple[Any, ...]


class WindowMemory(Recent[Key, Window]):
    """The windows that recent checks measured."""

    def __init__(self) -> None:
        """Begin with nothing."""
        super().__init__()
        self._course: tuple[Course, bytes] | None = None

    def ask_window(
        self,
        motion: Motion,
        terrain: Terrain,
        source: Foothold,
        target: Foothold | int,
        kind: MoveKind,
        hint: KnownMove,
        *,
        tick_ms: float,
        spread_ms: float,
        cap: int,
        wanted: int,
        course: Course,
    ) -> Asking[Window]:
        """Ask for what `measure_move` returns for the same arguments, measured only if it is not known.

        May be called from several threads.
        """
        ground = foothold_ground(source, motion, terrain)
        aim = place_box(target, terrain) if isinstance(target, int) else foothold_ground(target, motion, terrain)
        extra = hint.start.x if hint.from_rest and ground.left <= hint.start.x <= ground.right else None
        asked = (kind, ground, aim, tick_ms, spread_ms, cap, wanted, _values(motion))
        near = (*asked, extra, _digest(course, *reached_cells(motion, course, kind, ground, aim)))
        far = (*asked, hint.from_rest, tuple(hint.start), hint.inputs.tobytes(), self._whole(course))
        for key in (near, far):
            known = self.get(key)
            if known is not None:
                return known
        window = yield from ask_window(
            motion,
            terrain,
            source,
            target,
            kind,
            hint,
            tick_ms=tick_ms,
            spread_ms=spread_ms,
            cap=cap,
            wanted=wanted,
            course=course,
        )
        # Without a plan the script itself was measured.
        self.keep(far if window.plan is None else near, window)
        return window

    def _whole(self, course: Course) -> bytes:
        known = self._course
        if known is None or known[0] is not course:
            rows, columns = course.flags.shape
            known = self._course = (course, _digest(course, slice(0, rows), slice(0, columns)))
        return known[1]


def reached_cells(
    motion: Motion, course: Course, kind: MoveKind, ground: Ground, aim: Ground | Box
) -> tuple[slice, slice]:
    """Return rows and columns of the course outside of which nothing changes what plans of a move do.

    Approximation: over.
    """
    action = ACTIONS[kind]
    feet_row = cells_over(course.y_edges, ground.y + motion.body_h, 1)[0]
    launch = int(motion.jump_launch.max()) if action == JUMP else 0
    left, right = ground.left, ground.right
    if action == SPRING:
        columns = slice(*cells_over(course.x_edges, left, right - left + motion.body_w))
        launch = int(course.launch[feet_row, columns].max())
    if action == WALK:
        left, right = _walked(motion, course, feet_row, ground)
    top, bottom = aim.top if isinstance(aim, Box) else aim.y, aim.bottom if isinstance(aim, Box) else aim.y
    rise, ticks = _longest_flight(motion, launch, max(0, bottom - ground.y))
    speed = max(motion.walk_cap, motion.run_cap, int(motion.air_cap.max()))
    farthest = (ticks + motion.coyote_ticks) * speed + _braking_spx(motion, speed)
    left, right = min(left - farthest, aim.left), max(right + farthest, aim.right)
    top = min(ground.y - rise, top)
    bottom = max(ground.y + (motion.coyote_ticks + 2) * motion.terminal, bottom + 2 * motion.terminal)
    # A cell more on every side: what a body is flush to.
    rows = cells_over(course.y_edges, top, bottom - top + motion.body_h)
    columns_over = cells_over(course.x_edges, left, right - left + motion.body_w)
    return slice(max(0, rows[0] - 1), rows[1] + 1), slice(max(0, columns_over[0] - 1), columns_over[1] + 1)


def _walked(motion: Motion, course: Course, feet_row: int, ground: Ground) -> tuple[int, int]:
    """Return the least and greatest x at which a body that walks off the ground may still stand on its row, spx."""
    carries = (course.flags[feet_row] & CARRIES) != 0
    first, end = cells_over(course.x_edges, ground.left, ground.right - ground.left + motion.body_w)
    while first > 0 and carries[first - 1]:
        first -= 1
    while end < len(carries) and carries[end]:
        end += 1
    xs = course.x_edges[1:-1]
    return max(int(course.x_edges[first]) - motion.body_w, int(xs[0])), min(int(course.x_edges[end]), int(xs[-1]))


def _longest_flight(motion: Motion, launch: int, drop: int) -> tuple[int, int]:
    """Return how high a flight rises at most, spx, and the ticks until it has sunk by `drop`, spx, at the latest.

    A ceiling only makes it sink sooner, and so does a release: all rise slower and fall faster than here.
    """
    falling = int(motion.jump_gravity.min())
    rising = min(falling, int(motion.jump_gravity_held.min()))
    up = launch // rising
    rise = launch * (up + 1) - rising * (up * (up + 1) // 2)
    ticks, speed, left = up + 2, 0, rise + drop
    while left >= 0:
        speed = min(speed + falling, motion.terminal)
        left -= speed
        ticks += 1
    return rise, ticks + 2


def _braking_spx(motion: Motion, speed: int) -> int:
    """Return the farthest that a body rolls that brakes."""
    rate = max(motion.reverse, motion.coast)
    count = speed // rate + 1
    return count * speed - rate * (count * (count - 1) // 2)


def _digest(course: Course, rows: slice, columns: slice) -> bytes:
    """Return a hash of a part of a course as plans see it, of where it lies, and of whether it reaches the void."""
    parts = (course.flags[rows, columns], course.launch[rows, columns], course.y_edges[rows], course.x_edges[columns])
    kept = sha256(f"{parts[0].shape} {rows.stop >= course.flags.shape[0]}".encode())
    for part in parts:
        kept.update(part.tobytes())
    return kept.digest()


def _values(motion: Motion) -> Key:
    return tuple(value.tobytes() if isinstance(value, np.ndarray) else value for value in motion)
