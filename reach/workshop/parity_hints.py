"""Whether a recording that differs was read or placed wrongly, rather than moved by other rules."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reach.workshop.flat_ground import SIDE_SPX
from reach.workshop.parity import SPX_PER_PX, Comparison, allowance_spx, compared_from

LEADS_BY_TICKS = 3
"""Read with y the other way, a recording must be followed for at least so many ticks more to be taken for that."""


@dataclass(frozen=True)
class Hint:
    """What to try first: a short name, and a sentence."""

    id: str
    said: str


def find_hint(comparison: Comparison) -> Hint | None:
    """Return what a recording that differs was most likely read without, None where nothing speaks for it.

    Parameters
    ----------
    comparison : Comparison
        With at least one difference.
    """
    return _other_y_axis(comparison) or _below_the_ground(comparison)


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
