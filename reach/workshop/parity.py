"""Where a recorded character first leaves its profile, and by how much.

A take is replayed from rest at its first row with the recorded buttons. Positions are compared as displacements from
that row. A rounded position is taken for what it is: all of a take agrees as long as one shift, at most half of the
rounding, explains every row up to then. In ticks without a row any buttons may have been down: the profile agrees if it
does so with some, and differs only if it does so with all.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from reach.errors import InputError, Problem
from reach.kernels.params import Motion, State, Terrain
from reach.kernels.step import run_script
from reach.level import compile_terrain
from reach.simulator import start_state
from reach.workshop.flat_ground import at_rest, flat_ground
from reach.workshop.missing_ticks import LONGEST_GAP_TICKS, Filled, Rows, fill_missing

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement
    from reach.workshop.recording import Recording, Take

SPX_PER_PX = 65536
INEXACT_TOLERANCE_PX = 0.05
"""The tolerance for positions that are not exact, unless the user gives one: engines that compute in floating point
drift from whole subpixels by less, for minutes."""
LATE_TICKS = 2
"""A body that moves so many ticks or fewer before the first button is down is taken to have them logged late."""

Play = Callable[[State, np.ndarray], np.ndarray]
"""Plays inputs, int64 [ticks, 4], from a state; returns x and y after every tick, int64 [ticks + 1, 2]."""


class Agreement(StrEnum):
    """What a comparison says as a whole."""

    AGREES = "agrees"
    DIFFERS = "differs"
    UNDECIDED = "undecided"


@dataclass(frozen=True, eq=False)
class Course:
    """One take made ready to be compared, tick by tick.

    `shift_spx` is float64 [ticks + 1, 2]: how far the body has moved since the first row, sideways and downward; nan in
    a tick without a row. `inputs` is int64 [ticks, 4]; in ticks without a row, buttons that explain what follows, if
    any of those tried do. `is_exhaustive` tells that no other buttons there follow the take for longer. `missing_tick`
    begins a gap too long to be gone past, at which the course ends; None where there is none.
    """

    take: Take
    start: State
    shift_spx: np.ndarray
    inputs: np.ndarray
    is_exhaustive: bool
    missing_tick: int | None

    @property
    def ticks(self) -> int:
        """How many ticks are replayed."""
        return len(self.inputs)

    @property
    def missing(self) -> int:
        """How many of them have no row."""
        return int(np.isnan(self.shift_spx[:, 0]).sum())

    @property
    def rows(self) -> int:
        """How many rows are compared, the first one, with which everything begins, among them."""
        return self.ticks + 1 - self.missing


@dataclass(frozen=True)
class Difference:
    """The first row of a take that the profile does not explain.

    `tick` is the recording's own number and `line` the line of the file. `after_ticks` counts from the take's first
    row, and `agreed_ticks` of them have a row that agrees. `aside_px` and `lower_px` say how far the recorded position
    is to the right of and below where the profile has the body, after the shift that suits the rows before best.
    `buttons` were down in that tick. `is_proved` is False where other buttons in missing ticks before might explain it.
    """

    tick: int
    line: int
    after_ticks: int
    agreed_ticks: int
    aside_px: float
    lower_px: float
    buttons: tuple[str, ...]
    is_proved: bool = True


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
    def agreement(self) -> Agreement:
        """Whether the profile explains every row, or not some, whatever was pressed in ticks without one."""
        if any(difference is not None and difference.is_proved for difference in self.differences):
            return Agreement.DIFFERS
        is_whole = all(course.missing_tick is None for course in self.courses)
        return Agreement.AGREES if is_whole and not any(self.differences) else Agreement.UNDECIDED

    @property
    def agrees(self) -> bool:
        """Whether the profile explains every row."""
        return self.agreement is Agreement.AGREES


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
        If a take begins in motion, or as `start_state` and `compile_terrain`.
    """
    if level is None:
        terrain, start = flat_ground(), at_rest(movement.motion)
    else:
        terrain, start = compile_terrain(level, movement), start_state(level, movement, from_place)
    if tolerance_px is None:
        exact = recording.exact and all(take.x_spx.dtype == np.int64 for take in recording.takes)
        tolerance_px = 0.0 if exact else INEXACT_TOLERANCE_PX
    allowance = allowance_spx(recording, tolerance_px)
    if start.grounded:
        _refuse_motion(recording, allowance)
    return compared_from(movement, recording, terrain, start, tolerance_px)


def compared_from(
    movement: Movement, recording: Recording, terrain: Terrain, start: State, tolerance_px: float
) -> Comparison:
    """Return the comparison of takes that all begin in one state."""
    motion = movement.motion
    allowance = allowance_spx(recording, tolerance_px)

    def course(take: Take) -> Course:
        rows, missing_tick = _rows(take, recording.buttons)
        return _course(take, rows, missing_tick, start, fill_missing(rows, start, motion, terrain, allowance))

    courses = tuple(map(course, recording.takes))
    play = reference_path(motion, terrain)
    differences = tuple(_difference(each, play(each.start, each.inputs), allowance) for each in courses)
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
    """How far the take is to the right of and below a path, row by row, float64 [rows, 2]."""
    off = course.shift_spx - (path - path[0])
    return off[~np.isnan(off[:, 0])]


def _shifts(course: Course, path: np.ndarray, allowance: tuple[float, float]) -> tuple[np.ndarray, np.ndarray]:
    """The shifts that explain all rows up to each tick, from the least to the greatest; [ticks + 1, 2] both."""
    rounding, tolerance = allowance
    off = course.shift_spx - (path - path[0])
    # fmax and fmin leave out a nan, a tick without a row
    low = np.maximum.accumulate(np.fmax(off - rounding - tolerance, -rounding))
    high = np.minimum.accumulate(np.fmin(off + rounding + tolerance, rounding))
    return low, high


def _difference(course: Course, path: np.ndarray, allowance: tuple[float, float]) -> Difference | None:
    ticks = agreed_ticks(course, path, allowance) + 1
    if ticks > course.ticks:
        return None
    low, high = _shifts(course, path, allowance)
    off = course.shift_spx[ticks] - (path[ticks] - path[0])
    aside, lower = ((off - np.clip(off, low[ticks - 1], high[ticks - 1])) / SPX_PER_PX).tolist()
    direction, down, run, jump = course.inputs[ticks - 1].tolist()
    held = (("left", direction < 0), ("right", direction > 0), ("down", down), ("run", run), ("jump", jump))
    row = int(np.isfinite(course.shift_spx[:ticks, 0]).sum())
    return Difference(
        tick=int(course.take.ticks[row]),
        line=course.take.first_line + row,
        after_ticks=ticks,
        agreed_ticks=row - 1,
        aside_px=aside,
        lower_px=lower,
        buttons=tuple(name for name, is_down in held if is_down),
        is_proved=course.is_exhaustive or row == ticks,
    )


def _rows(take: Take, buttons: tuple[str, ...]) -> tuple[Rows, int | None]:
    """The rows of a take up to the first gap that is too long, and the first tick of that."""
    gaps = np.flatnonzero(np.diff(take.ticks) > LONGEST_GAP_TICKS + 1)
    end = int(gaps[0]) + 1 if len(gaps) else len(take.ticks)
    position = np.column_stack([take.x_spx, take.y_spx])[:end].astype(np.float64)
    rows = Rows(take.ticks[:end] - take.ticks[0], position - position[0], take.inputs[:end], buttons)
    return rows, int(take.ticks[end - 1]) + 1 if len(gaps) else None


def _course(take: Take, rows: Rows, missing_tick: int | None, start: State, filled: Filled) -> Course:
    shift = np.full((len(filled.inputs) + 1, 2), np.nan)
    shift[rows.at] = rows.shift_spx
    return Course(take, start, shift, filled.inputs, filled.is_exhaustive, missing_tick)


def _refuse_motion(recording: Recording, allowance: tuple[float, float]) -> None:
    """A take that moves before anything is pressed began in motion, and nothing says with which speeds.

    Ticks without a row may have had buttons down, so it is judged up to the first of them.
    """
    problems = []
    for take in recording.takes:
        rows, _ = _rows(take, recording.buttons)
        gaps = np.flatnonzero(np.diff(rows.at) > 1)
        end = int(gaps[0]) + 1 if len(gaps) else len(rows.at)
        pressed = np.flatnonzero(rows.inputs[1:end, [0, 1, 3]].any(axis=1))
        still = int(pressed[0]) if len(pressed) else end - 1
        moved = np.abs(rows.shift_spx[: still + 1]).max(axis=1) > 2 * sum(allowance)
        if not moved.any() or (moved.sum() == 1 and not moved[-1]):
            continue  # a single stray row is no motion
        row = int(np.flatnonzero(moved)[0])
        name = f'take "{take.name}", ' if take.name else ""
        moved_px = np.abs(rows.shift_spx[row]).max() / SPX_PER_PX
        found = f"a body that has moved by {moved_px:.6g} px with nothing pressed"
        allowed = "takes that begin at rest, on the ground; record a few ticks of standing first"
        if len(pressed) and row > 1 and still + 1 - row <= LATE_TICKS:
            late = "a tick" if still + 1 - row == 1 else f"{still + 1 - row} ticks"
            found += f", just before the first button is down (line {take.first_line + still + 1})"
            allowed = (
                f"the buttons in the row of the tick in which they act; they may be logged {late} late: move each up"
            )
        problems.append(Problem(recording.origin, f"{name}line {take.first_line + row}", found, allowed))
    if problems:
        raise InputError(problems)
