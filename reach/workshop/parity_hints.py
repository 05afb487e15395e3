"""Whether a recording that differs is wrong in single rows, or was read or placed wrongly, not moved by other rules."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reach.workshop.flat_ground import SIDE_SPX
from reach.workshop.parity import (
    SPX_PER_PX,
    Comparison,
    Course,
    agreed_ticks,
    allowance_spx,
    compared_from,
    reference_path,
)

LEADS_BY_TICKS = 3
"""Read with y the other way, a recording must be followed for at least so many ticks more to be taken for that."""
MOST_STRAY_ROWS = 3
"""No more rows of a take that differ one by one are taken for stray."""
AGREE_AGAIN_ROWS = 3
"""So many rows after a stray one must agree again."""


@dataclass(frozen=True)
class Hint:
    """What to try first: a short name, and a sentence."""

    id: str
    said: str


def find_hint(comparison: Comparison) -> Hint | None:
    """Return what is most likely wrong with a recording that differs, None where nothing speaks for it.

    Parameters
    ----------
    comparison : Comparison
        With at least one difference.
    """
    return _stray_rows(comparison) or _other_y_axis(comparison) or _below_the_ground(comparison)


def _stray_rows(comparison: Comparison) -> Hint | None:
    """Single rows without which the profile follows every take to its end."""
    lines: list[int] = []
    for difference, course in zip(comparison.differences, comparison.courses, strict=True):
        if difference is not None:
            stray = _stray_lines(comparison, course) if difference.is_proved else []
            if not stray:
                return None
            lines += stray
    if len(lines) == 1:
        said = f"only line {lines[0]} is off: a stray row; the profile follows all others"
    else:
        listed = f"{', '.join(map(str, lines[:-1]))} and {lines[-1]}"
        said = f"only lines {listed} are off: stray rows; the profile follows all others"
    return Hint("stray-rows", said)


def _stray_lines(comparison: Comparison, course: Course) -> list[int]:
    """The lines of a take's stray rows, none if other rows are off too."""
    allowance = allowance_spx(comparison.recording, comparison.tolerance_px)
    path = reference_path(comparison.movement.motion, comparison.terrain)(course.start, course.inputs)
    shift = course.shift_spx.copy()
    at = np.flatnonzero(~np.isnan(shift[:, 0]))
    lines: list[int] = []
    while (ticks := agreed_ticks(replace(course, shift_spx=shift), path, allowance)) < course.ticks:
        row = int(np.searchsorted(at, ticks + 1))
        near = lines and row < lines[-1] - course.take.first_line + 1 + AGREE_AGAIN_ROWS
        if near or row + AGREE_AGAIN_ROWS >= len(at) or len(lines) == MOST_STRAY_ROWS:
            return []
        lines.append(course.take.first_line + row)
        shift[ticks + 1] = np.nan
    return lines


def _other_y_axis(comparison: Comparison) -> Hint | None:
    if not any(each is not None and abs(each.lower_px) > abs(each.aside_px) for each in comparison.differences):
        return None
    recording = comparison.recording
    mirrored = replace(recording, takes=tuple(replace(take, y_spx=-take.y_spx) for take in recording.takes))
    start = comparison.courses[0].start
    other = compared_from(comparison.movement, mirrored, comparison.terrain, start, comparison.tolerance_px)
    own_ticks, other_ticks = _followed(comparison), _followed(other)
    if other_ticks < own_ticks + LEADS_BY_TICKS:
        return None
    said = (
        "y seems to grow the other way in this recording: read so, the profile follows "
        f"{other_ticks} ticks instead of {own_ticks}; try the other --y-axis"
    )
    return Hint("other-y-axis", said)


def _below_the_ground(comparison: Comparison) -> Hint | None:
    """A fall below the endless flat ground that everything was replayed on."""
    if comparison.terrain.tile != SIDE_SPX:
        return None
    allowed = 2 * sum(allowance_spx(comparison.recording, comparison.tolerance_px))
    for course, difference in zip(comparison.courses, comparison.differences, strict=True):
        if difference is None or not difference.lower_px:
            continue
        below = float(course.shift_spx[difference.after_ticks, 1])
        if below > allowed:
            where = f'take "{course.take.name}"' if course.take.name else "the recording"
            said = (
                f"{where} goes below the ground it began on in tick {difference.tick} (line {difference.line}), "
                f"by {below / SPX_PER_PX:.6g} px, and was replayed on endless flat ground: give the level with --level"
            )
            return Hint("no-level", said)
    return None


def _followed(comparison: Comparison) -> int:
    pairs = zip(comparison.courses, comparison.differences, strict=True)
    return sum(course.ticks if each is None else each.after_ticks - 1 for course, each in pairs)
