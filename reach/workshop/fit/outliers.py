"""Single rows of a recording that cannot be where the character was."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reach.movement import SPX_PER_PX
from reach.workshop.fit.bands import Ref
from reach.workshop.fit.outcome import Residual
from reach.workshop.recording import Recording, Take

_LEAST_PX = 0.02


def without_strays(recording: Recording) -> tuple[Recording, tuple[Residual, ...]]:
    """Return the recording without rows that stray from the line of their neighbours, and those rows.

    A row strays where both lines, through the two rows before it and through the two after it, meet each other there
    but not the row. A body that turned away and back within one tick would have had to change speed by more than it
    does in nine ticks of ten, three times on end.
    """
    room = _room(recording)
    takes, strays = [], []
    for number, take in enumerate(recording.takes):
        wrong: dict[int, tuple[str, float]] = {}
        for axis, position in (("x", take.x_spx), ("y", take.y_spx)):
            for row, off in _strays(take, position / SPX_PER_PX, room):
                wrong.setdefault(row, (axis, off))
        for row, (axis, off) in sorted(wrong.items()):
            ref = Ref(number, int(take.ticks[row]))
            strays.append(Residual(ref, line_of(recording, ref), axis, off))
        kept = np.setdiff1d(np.arange(len(take.ticks)), list(wrong))
        takes.append(
            replace(
                take, ticks=take.ticks[kept], x_spx=take.x_spx[kept], y_spx=take.y_spx[kept], inputs=take.inputs[kept]
            )
        )
    return replace(recording, takes=tuple(takes)), tuple(strays)


def line_of(recording: Recording, ref: Ref) -> int:
    """The line of a row in the file."""
    take = recording.takes[ref.take]
    return take.first_line + int(np.searchsorted(take.ticks, ref.tick))


def _room(recording: Recording) -> float:
    """How far (px) from its neighbours' lines a row may lie: three times a move's usual change, or the rounding."""
    bends = [
        np.abs(np.diff(position, 2)) / SPX_PER_PX for take in recording.takes for position in (take.x_spx, take.y_spx)
    ]
    turning = np.concatenate(bends)
    turning = turning[turning > 0]
    usual = float(np.quantile(turning, 0.9)) if len(turning) else 0.0
    return 3 * max(usual, float(recording.rounding_px), _LEAST_PX)


def _strays(take: Take, position: np.ndarray, room: float) -> list[tuple[int, float]]:
    if len(position) < 5:
        return []
    before = 2 * position[1:-3] - position[:-4]
    after = 2 * position[3:-1] - position[4:]
    here = position[2:-2]
    on_end = take.ticks[4:] - take.ticks[:-4] == 4
    bend = np.diff(position, 2)
    # A stray row bends the line one way, back twice as much, and once more; a steady change of speed bends it one way.
    back_and_forth = (bend[:-2] * bend[1:-1] < 0) & (bend[2:] * bend[1:-1] < 0)
    stray = (
        on_end
        & back_and_forth
        & (np.abs(here - before) > room)
        & (np.abs(here - after) > room)
        & (np.abs(before - after) <= room)
    )
    off = here - (before + after) / 2
    return [(int(row) + 2, float(off[row])) for row in np.flatnonzero(stray)]
