"""Visiting every single state of a level whose numbers are coarse: a proof both ways where it ends."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.single_states import FOUND, Singles, visit_states

if TYPE_CHECKING:
    from reach.kernels.book import Book
    from reach.kernels.params import Motion, State, Terrain

COARSE_SPX = 2048
"""Where every speed and rate is a multiple of so much, a search over single states may end."""

STATES_IN_TURN = 20_000


@dataclass(frozen=True)
class SingleStates:
    """`exhausted`: all `states` that can be reached were visited, and what they reach is in the book."""

    exhausted: bool
    states: int


def numbers_are_coarse(motion: Motion) -> bool:
    """Tell whether speeds and rates are such that a search over single states may end."""
    scalars = (
        motion.walk_accel,
        motion.walk_cap,
        motion.run_accel,
        motion.run_cap,
        motion.coast,
        motion.reverse,
        motion.terminal,
        motion.drag,
        max(0, motion.cut_speed),
    )
    lists = (motion.jump_launch, motion.jump_gravity_held, motion.jump_gravity, motion.air_accel, motion.air_reverse)
    return math.gcd(*scalars, *(int(value) for one in (*lists, motion.air_cap) for value in one)) >= COARSE_SPX


def search_single_states(
    start: State, most: int, deadline: float | None, book: Book, motion: Motion, terrain: Terrain
) -> SingleStates:
    """Visit at most so many states; the book gets a script for every tile and place that has none and is reached."""
    thresholds = np.unique(np.concatenate((motion.jump_from, motion.air_cap_from, motion.air_reverse_from_takeoff)))
    singles = Singles(
        counts=np.zeros(3, np.int64),
        states=np.zeros((most, 13), np.int64),
        parent=np.zeros(most, np.int32),
        code=np.zeros(most, np.int64),
        slots=np.zeros(1 << (4 * most - 1).bit_length(), np.int32),
        thresholds=thresholds,
    )
    exhausted = False
    while not exhausted and singles.counts[FOUND] < most:
        if deadline is not None and time.monotonic() >= deadline:
            break
        exhausted = bool(visit_states(start, STATES_IN_TURN, singles, book, motion, terrain))
    return SingleStates(exhausted, int(singles.counts[FOUND]))
