"""What a profile makes of a script: the positions to expect, tick by tick, for a test of another engine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.level import compile_terrain
from reach.simulator import start_state
from reach.workshop.flat_ground import play_flat

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement
    from reach.script import Script

X, Y, LOST, ENDED = (State._fields.index(name) for name in ("x", "y", "lost", "ended"))


@dataclass(frozen=True, eq=False)
class Trace:
    """Positions of the body's top-left corner at the end of every tick, and the buttons that were down in it.

    `x_spx` and `y_spx` are int64 [ticks + 1], y downward; entry 0 is the start, for which no button is down. `inputs`
    is int64 [ticks + 1, 4]: direction, down, run, jump. `warnings` holds what the user may not have meant.
    """

    x_spx: np.ndarray
    y_spx: np.ndarray
    inputs: np.ndarray
    warnings: tuple[str, ...]


def trace_script(movement: Movement, script: Script, level: Level | None = None) -> Trace:
    """The trace of a script, on endless flat ground or in a level.

    Parameters
    ----------
    movement : Movement
    script : Script
        On flat ground the level that it names does not matter.
    level : Level, optional
        Positions are the level's own. Without it the body begins at rest on flat ground, and its corner at (0, 0).

    Returns
    -------
    Trace
        It ends with the script, or in the tick in which the body is lost or the level ends.

    Raises
    ------
    InputError
        As `start_state` for the place that the script begins at, or if level and movement do not go together.
    """
    warnings = []
    if script.movement != movement.name:
        warnings.append(f'the script is for movement "{script.movement}", not "{movement.name}"')
    inputs = script.inputs()
    if level is None:
        states = play_flat(movement.motion, inputs)
        states[:, [X, Y]] -= states[0, [X, Y]]
    else:
        if script.level != level.name:
            warnings.append(f'the script is for level "{script.level}", not "{level.name}"')
        start = start_state(level, movement, script.from_place)
        states = run_script(start, inputs, movement.motion, compile_terrain(level, movement))
        over = np.flatnonzero(states[:, LOST] | states[:, ENDED])
        if len(over):
            tick = int(over[0])
            what = "the body is lost" if states[tick, LOST] else "the level ends"
            if tick < len(inputs):
                warnings.append(f"{what} in tick {tick}; the {len(inputs) - tick} ticks after it are left out")
            states, inputs = states[: tick + 1], inputs[:tick]
    held = np.concatenate([np.zeros((1, 4), np.int64), inputs])
    return Trace(states[:, X], states[:, Y], held, tuple(warnings))
