"""Rows of a recording, single or two on end, that cannot be where the character was."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reach.movement import SPX_PER_PX
from reach.workshop.fit.bands import Ref
from reach.workshop.fit.outcome import Residual
from reach.workshop.recording import Recording, Take

_LEAST_PX = 0.02
MOST_ON_END = 2
"""So many rows on end are found; where more stray, the lines beside them say too little of what lies between."""


def without_strays(recording: Recording) -> tuple[Recording, tuple[Residual, ...]]:
    """Return the recording without rows that stray from the line of their neighbours, and those rows.

    A row (or two on end) strays where both lines, through the two rows before and through the two after, meet each
    other there but not the row; or, far off, where one of them leads on to the row behind. A body that turned away and
    back within one tick or two would have had to change its speed three times on end, each time by three times what it
    does in six changes of ten.
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
    usual = float(np.quantile(turning, 0.6)) if len(turning) else 0.0
    return 3 * max(usual, float(recording.rounding_px), _LEAST_PX)


def _strays(take: Take, position: np.ndarray, room: float) -> list[tuple[int, float]]:
    """Rows that stray, alone or two on end, and how far."""
    found: dict[int, float] = {}
    for count in range(1, MOST_ON_END + 1):
        width = count + 4
        starts = len(position) - width + 1
        if starts < 1:
            break
        windows = np.lib.stride_tricks.sliding_window_view(position, width)
        steps = np.arange(1, count + 1)
        before = windows[:, [1]] + steps * (windows[:, [1]] - windows[:, [0]])
        after = windows[:, [-2]] + steps[::-1] * (windows[:, [-2]] - windows[:, [-1]])
        here = windows[:, 2:-2]
        # The lines are drawn on over more rows where two stray, and so are their errors.
        allowed = room * (count + 1) / 2
        bend = np.diff(windows, 2, axis=1)
        # Rows that stray bend the line one way and back, and again where they end; a steady change bends it one way.
        out_and_in = (bend[:, 0] * bend[:, 1] < 0) & (bend[:, -1] * bend[:, -2] < 0)
        whole = take.ticks[width - 1 :] - take.ticks[:starts] == width - 1
        misses_before, misses_after = np.abs(here - before), np.abs(here - after)
        stray = (
            whole
            & out_and_in
            & (misses_before > allowed).all(axis=1)
            & (misses_after > allowed).all(axis=1)
            & (np.abs(before - after) <= allowed).all(axis=1)
        )
        if count == 1:
            # Where a move begins or ends beside it, one of the lines alone leads on past it to the row behind.
            ahead = 3 * windows[:, 1] - 2 * windows[:, 0]
            back = 3 * windows[:, -2] - 2 * windows[:, -1]
            far = 4 * allowed
            stray |= whole & (misses_before[:, 0] > far) & (np.abs(ahead - windows[:, -2]) <= allowed)
            stray |= whole & (misses_after[:, 0] > far) & (np.abs(back - windows[:, 1]) <= allowed)
        off = here - (before + after) / 2
        for start in np.flatnonzero(stray).tolist():
            for step in range(count):
                found.setdefault(start + 2 + step, float(off[start, step]))
    return sorted(found.items())
