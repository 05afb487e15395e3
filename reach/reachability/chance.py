"""How likely a try of a plan or a script succeeds, for a person whose timing spreads.

An average over players, not a promise of accessibility.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from reach.reachability.plan_task import Axis
from reach.timing import tick_weights

SPREADS = 4.5
"""A chance counts errors up to so many spreads; the rest, under 0.001 %, counts as failing."""

MOST_AIM_MOVES = 6
"""The aim is moved to the best one near it at most so many times,"""

LEAST_GAIN = 0.002
"""and no further where that gains less."""

CHANCE_TICKS = 40
"""A chance is summed over about so many ticks along each axis; where a spread spans more, over every so-manieth."""


class Aiming:
    """The search for the best chance of aims near some ticks.

    The sum, over all combinations of press, hold and steering ticks, of success times the probability that a player
    with this spread hits them; the three errors are independent. Aims are whole and half ticks around the middle, which
    is moved to the best of them as long as that gains. `ticks`, int64 [n] presses, holds and steers, are those of which
    `take` has to be told next, until it is `done`; then `chance` is the best and `step_ticks` the step of the sum.
    """

    def __init__(self, axes: Sequence[Axis], centre: Sequence[int], tick_ms: float, spread_ms: float) -> None:
        """Begin around `centre`."""
        self._axes = axes
        self._timing = (tick_ms, spread_ms)
        self._reach = math.ceil(SPREADS * spread_ms / tick_ms)
        self._middle = tuple(centre)
        self._moves = 0
        self.step_ticks = max(1, (2 * self._reach) // CHANCE_TICKS)
        self.chance = 0.0
        self.done = False
        self._look_around()

    def _look_around(self) -> None:
        step, reach = self.step_ticks, self._reach
        self._aims = [_aims(axis, at, reach, step) for axis, at in zip(self._axes, self._middle, strict=True)]
        sums = [_weights(axis, at, reach, step, *self._timing) for axis, at in zip(self._axes, self._aims, strict=True)]
        self.ticks = (sums[0][0], sums[1][0], sums[2][0])
        self._shares = [weights for _, weights in sums]

    def take(self, succeeds: np.ndarray) -> None:
        """Take which combinations of `ticks` succeed, bool [presses, holds, steers]."""
        chances = np.asarray(succeeds, dtype=np.float64)
        for axis, weights in enumerate(self._shares):
            chances = np.moveaxis(np.tensordot(weights, chances, axes=(1, axis)), 0, axis)
        at_best = np.unravel_index(int(chances.argmax()), chances.shape)
        gained = float(chances[at_best]) - self.chance
        self.chance = max(self.chance, float(chances[at_best]))
        aimed = tuple(math.floor(aims[i]) for aims, i in zip(self._aims, at_best, strict=True))
        self._moves += 1
        self.done = gained < LEAST_GAIN or aimed == self._middle or self._moves == MOST_AIM_MOVES
        if not self.done:
            self._middle = aimed
            self._look_around()


def chance_around(
    succeeds: Callable[[np.ndarray, np.ndarray, np.ndarray], np.ndarray],
    axes: Sequence[Axis],
    centre: Sequence[int],
    tick_ms: float,
    spread_ms: float,
) -> tuple[float, int]:
    """Return the best chance for aims near `centre`, and the step of the sum, ticks.

    `succeeds` tells for arrays of press, hold and steering ticks which of their combinations succeed.
    """
    aiming = Aiming(axes, centre, tick_ms, spread_ms)
    while not aiming.done:
        aiming.take(succeeds(*aiming.ticks))
    return aiming.chance, aiming.step_ticks


def _aims(axis: Axis, middle: int, reach: int, step: int) -> list[float]:
    """Return aims around a tick, half a step apart; and one deep inside an open end that is near."""
    aims = [middle + step * half / 2 for half in range(-4, 5)]
    if axis.open_high and axis.high - middle <= reach:
        aims.append(axis.high + reach)
    if axis.open_low and middle - axis.low <= reach:
        aims.append(axis.low - reach)
    return aims


def _weights(
    axis: Axis, aims: list[float], reach: int, step: int, tick_ms: float, spread_ms: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return every `step`-th tick within reach of the aims, and for each aim the chances of the ticks it stands for."""
    low = max(axis.low, min(math.floor(min(aims)) - reach, axis.high))
    high = min(axis.high, max(math.ceil(max(aims)) + reach, axis.low))
    ticks = np.arange(low, high + 1, step, dtype=np.int64)
    ends = {"open_low": axis.open_low and low == axis.low, "open_high": axis.open_high and high == axis.high}
    stands_for = (ticks + (step - 1) / 2) / step
    return ticks, tick_weights(stands_for, [aim / step for aim in aims], step * tick_ms, spread_ms, **ends)
