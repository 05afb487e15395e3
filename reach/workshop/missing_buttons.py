"""Buttons that a recording has no column for, although the body moves as if they had been pressed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from reach.workshop.parity import INEXACT_TOLERANCE_PX, SPX_PER_PX

if TYPE_CHECKING:
    from reach.movement import Movement
    from reach.workshop.recording import Recording


def missing_buttons(recording: Recording, movement: Movement | None = None) -> tuple[str, ...]:
    """Return the buttons without a column that matter: the body goes that way, up, or faster than the walk.

    Parameters
    ----------
    recording : Recording
    movement : Movement, optional
        Tells the top speed of the walk, where there is a run.
    """
    rounding = float(recording.rounding_px) * SPX_PER_PX
    least = 2 * rounding + INEXACT_TOLERANCE_PX * SPX_PER_PX
    needed = {"left": False, "right": False, "run": False, "jump": False}
    for take in recording.takes:
        x, y = take.x_spx, take.y_spx
        needed["left"] |= _falls(x) > least
        needed["right"] |= _falls(-x) > least
        needed["jump"] |= _falls(y) > least
        if movement is not None and movement.motion.has_run:
            walked = np.diff(take.ticks) * movement.motion.walk_cap + least
            needed["run"] |= bool((np.abs(np.diff(x)) > walked).any())
    return tuple(name for name, matters in needed.items() if matters and name not in recording.buttons)


def _falls(values: np.ndarray) -> float:
    """The most by which a value is less than one before it."""
    return float((np.maximum.accumulate(values) - values).max())


def missing_said(recording: Recording, movement: Movement | None = None) -> tuple[str, ...]:
    """Return a sentence for each of them."""
    why = {"left": "it goes left", "right": "it goes right", "run": "it is faster than the walk", "jump": "it rises"}
    return tuple(
        f"{recording.origin}: no column {name}: taken as never pressed, although {why[name]}"
        for name in missing_buttons(recording, movement)
    )
