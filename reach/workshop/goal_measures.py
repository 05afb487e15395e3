"""What a profile's simulator gives for each design goal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.params import State
from reach.workshop.flat_ground import SIDE_SPX, at_rest, play_flat

if TYPE_CHECKING:
    from reach.kernels.params import Motion
    from reach.movement import Movement

X, Y, VX, VY, GROUNDED = (State._fields.index(name) for name in ("x", "y", "vx", "vy", "grounded"))


_AT_ONCE = 256
"""Ticks that are played in one go."""


@dataclass(frozen=True)
class Measured:
    """Measured goals: lengths in spx, the terminal speed in spx a tick, times in ticks.

    `gap_spx` is the widest gap between two ledges of one height that a full jump at top speed crosses: it takes off
    with one subpixel of the body over the ledge and lands with one over the other.
    """

    jump_spx: int
    hop_spx: int
    apex_ticks: int
    air_ticks: int
    gap_spx: int
    top_ticks: int
    stop_ticks: int
    terminal_spx: int


def measure_goals(movement: Movement) -> Measured:
    """Measure a profile of one speed on the ground by playing it."""
    motion = movement.motion
    top_ticks, top = _until(motion, (1, 0, 0, 0), at_rest(motion), VX, motion.walk_cap)
    stop_ticks, _ = _until(motion, (0, 0, 0, 0), top, VX, 0)
    full = _jump(motion, at_rest(motion), 0, None)
    hop = _jump(motion, at_rest(motion), 0, 1)
    crossing = _jump(motion, top, 1, None)
    high = at_rest(motion)._replace(y=SIDE_SPX // 2, grounded=0)
    _, falling = _until(motion, (0, 0, 0, 0), high, VY, motion.terminal)
    heights = full[0, Y] - full[:, Y]
    return Measured(
        jump_spx=int(heights.max()),
        hop_spx=int((hop[0, Y] - hop[:, Y]).max()),
        apex_ticks=int(np.argmax(heights)),
        air_ticks=len(full) - 1,
        gap_spx=int(crossing[-1, X] - crossing[0, X]) + motion.body_w - 2,
        top_ticks=top_ticks,
        stop_ticks=stop_ticks,
        terminal_spx=falling.vy,
    )


def _until(motion: Motion, buttons: tuple[int, ...], start: State, column: int, value: int) -> tuple[int, State]:
    """The ticks with the same buttons until a column has a value, and the state then."""
    inputs = np.tile(np.array(buttons, np.int64), (_AT_ONCE, 1))
    ticks = 0
    while True:
        states = play_flat(motion, inputs, start)
        there = np.flatnonzero(states[:, column] == value)
        if len(there):
            return ticks + int(there[0]), State(*states[there[0]].tolist())
        ticks += _AT_ONCE
        start = State(*states[-1].tolist())


def _jump(motion: Motion, start: State, direction: int, held_ticks: int | None) -> np.ndarray:
    """States of a jump from the tick before the takeoff to the landing."""
    ticks = _AT_ONCE
    while True:
        inputs = np.zeros((ticks, 4), np.int64)
        inputs[:, 0] = direction
        inputs[:held_ticks, 3] = 1
        states = play_flat(motion, inputs, start)
        landed = np.flatnonzero(states[1:, GROUNDED])
        if len(landed):
            return states[: int(landed[0]) + 2]
        ticks *= 2
