"""Where a recorded character first leaves its profile, and by how much.

A take is replayed from rest at its first row with the recorded buttons. Positions are compared as displacements from
that row. A rounded position is taken for what it is: all of a take agrees as long as one shift, at most half of the
rounding, explains every row up to then.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.errors import InputError, Problem
from reach.kernels.params import Motion, State, Terrain
from reach.kernels.step import run_script
from reach.level import compile_terrain
from reach.simulator import start_state
from reach.workshop.flat_ground import at_rest, flat_ground

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement
    from reach.workshop.recording import Recording, Take

SPX_PER_PX = 65536
INEXACT_TOLERANCE_PX = 0.05
"""The tolerance for positions that are not exact, unless the user gives one: engines that compute in floating point
drift from whole subpixels by less, for minutes."""

Play = Callable[[State, np.ndarray], np.ndarray]
"""Plays inputs, int64 [ticks, 4], from a state; returns x and y after every tick, int64 [ticks + 1, 2]."""


@dataclass(frozen=True, eq=False)
class Course:
    """One take made ready to be compared.

    `shift_spx` is float64 [rows, 2]: how far the body has moved since the first row, sideways and downward. `inputs` is
    int64 [rows - 1, 4]. The rows are those up to the first missing tick, `missing_tick`, None where none is missing.
    """

    take: Take
    start: State
    shift_spx: np.ndarray
    inputs: np.ndarray
    missing_tick: int | None

    @property
    def ticks(self) -> int:
        """How many ticks are compared."""
        return len(self.inputs)


@dataclass(frozen=True)
class Difference:
    """The first row of a take that the profile does not explain.

    `tick` is the recording's own number and `line` the line of the file. `after_ticks` counts from the take's first
    row. `aside_px` and `lower_px` say how far the recorded position is to the right of and below where the profile has
    the body, after the shift that suits the rows before best. `buttons` were down in that tick.
    """

    tick: int
    line: int
    after_ticks: int
    aside_px: float
    lower_px: float
    buttons: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Comparison:
    """What was compared, with what allowance, and the first difference of every take, None where there is none."""

    movement: Movement
    recording: Recording
    terrain: Terrain
    courses: tuple[Course, ...]
    tolerance_px: float
    differences: tuple[Difference | None, ...]

    @property
    def agrees(self) -> bool:
        """Whether no take differs."""
        return all(difference is None for difference in self.differences)


def compare_recording(
    movement: Movement,
    recording: Recording,
    level: Level | None = None,
    tolerance_px: float | None = None,
    from_place: str = "start",
) -> Comparison:
    """Replay every take of a recording with a profile, and find the first tick in which they differ.

    Parameters
    ----------
    movement : Movement
    recording : Recording
    level : Level, optional
        Where the takes begin at `from_place`; endless flat ground unless given.
    tolerance_px : float, optional
        So far may a position be off, beside its rounding. Unless given, 0 for exact positions, else
        `INEXACT_TOLERANCE_PX`.
    from_place : str
        The id of a place of the level.

    Raises
    ------
    InputError
        If a take begins in motion, if no take has two ticks in a row at its beginning, or as `start_state` and
        `compile_terrain`.
    """
    motion = movement.motion
    if level is None:
        terrain, start = flat_ground(), at_rest(motion)
    else:
        terrain, start = compile_terrain(level, movement), start_state(level, movement, from_place)
    if tolerance_px is None:
        exact = recording.exact and all(take.x_spx.dtype == np.int64 for take in recording.takes)
        tolerance_px = 0.0 if exact else INEXACT_TOLERANCE_PX
    courses = tuple(_course(take, start) for take in recording.takes)
    if not any(course.ticks for course in courses):
        found = "no take whose second row is the tick after its first"
        raise InputError([Problem(recording.origin, "", found, "ticks without gaps, for which all buttons are known")])
    allowance = allowance_spx(recording, tolerance_px)
    if start.grounded:
        _refuse_motion(recording, courses, allowance)
    play = reference_path(motion, terrain)
    differences = tuple(_difference(course, play(course.start, course.inputs), allowance) for course in courses)
    return Comparison(movement, recording, terrain, courses, tolerance_px, differences)


def allowance_spx(recording: Recording, tolerance_px: float) -> tuple[float, float]:
    """Half of what positions were rounded to, and the tolerance, in spx."""
    return float(recording.rounding_px * SPX_PER_PX / 2), tolerance_px * SPX_PER_PX


def reference_path(motion: Motion, terrain: Terrain) -> Play:
    """Plays by the motion model itself."""
    return lambda start, inputs: run_script(start, inputs, motion, terrain)[:, :2]


def agreed_ticks(course: Course, path: np.ndarray, allowance: tuple[float, float]) -> int:
    """For how many ticks a path explains a take's rows, beginning with the first.

    Parameters
    ----------
    course : Course
    path : int64 [ticks + 1, 2]
        x and y after every tick, spx.
    allowance : (float, float)
        Half of the rounding, and the tolerance, spx.
    """
    low, high = _shifts(course, path, allowance)
    bad = np.flatnonzero((low > high).any(axis=1))
    return int(bad[0]) - 1 if len(bad) else course.ticks


def residuals_spx(course: Course, path: np.ndarray) -> np.ndarray:
    """How far the take is to the right of and below a path, row by row, float64 [ticks + 1, 2]."""
    return course.shift_spx - (path - path[0])


def _shifts(course: Course, path: np.ndarray, allowance: tuple[float, float]) -> tuple[np.ndarray, np.ndarray]:
    """The shifts that explain all rows up to each, from the least to the greatest; [ticks + 1, 2] both."""
    rounding, tolerance = allowance
    off = residuals_spx(course, path)
    low = np.maximum.accumulate(np.maximum(off - rounding - tolerance, -rounding))
    high = np.minimum.accumulate(np.minimum(off + rounding + tolerance, rounding))
    return low, high


def _difference(course: Course, path: np.ndarray, allowance: tuple[float, float]) -> Difference | None:
    ticks = agreed_ticks(course, path, allowance) + 1
    if ticks > course.ticks:
        return None
    low, high = _shifts(course, path, allowance)
    off = residuals_spx(course, path)[ticks]
    aside, lower = ((off - np.clip(off, low[ticks - 1], high[ticks - 1])) / SPX_PER_PX).tolist()
    direction, down, run, jump = course.inputs[ticks - 1].tolist()
    held = (("left", direction < 0), ("right", direction > 0), ("down", down), ("run", run), ("jump", jump))
    return Difference(
        tick=int(course.take.ticks[ticks]),
        line=course.take.first_line + ticks,
        after_ticks=ticks,
        aside_px=aside,
        lower_px=lower,
        buttons=tuple(name for name, is_down in held if is_down),
    )


def _course(take: Take, start: State) -> Course:
    gaps = np.flatnonzero(np.diff(take.ticks) != 1)
    rows = int(gaps[0]) + 1 if len(gaps) else len(take.ticks)
    position = np.column_stack([take.x_spx, take.y_spx])[:rows].astype(np.float64)
    return Course(
        take=take,
        start=start,
        shift_spx=position - position[0],
        inputs=np.ascontiguousarray(take.inputs[1:rows]),
        missing_tick=int(take.ticks[rows - 1]) + 1 if len(gaps) else None,
    )


def _refuse_motion(recording: Recording, courses: Sequence[Course], allowance: tuple[float, float]) -> None:
    """A take that moves before anything is pressed began in motion, and nothing says with which speeds."""
    problems = []
    for course in courses:
        pressed = np.flatnonzero(course.inputs[:, [0, 1, 3]].any(axis=1))
        still = int(pressed[0]) if len(pressed) else course.ticks
        moved = np.abs(course.shift_spx[: still + 1]).max(axis=1) > 2 * sum(allowance)
        if moved.any():
            row = int(np.flatnonzero(moved)[0])
            name = f'take "{course.take.name}", ' if course.take.name else ""
            moved_px = np.abs(course.shift_spx[row]).max() / SPX_PER_PX
            found = f"a body that has moved by {moved_px:.6g} px with nothing pressed"
            allowed = "takes that begin at rest, on the ground; record a few ticks of standing first"
            problems.append(Problem(recording.origin, f"{name}line {course.take.first_line + row}", found, allowed))
    if problems:
        raise InputError(problems)
