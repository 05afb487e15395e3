"""The chance of a plan or a script against the normal distribution of a library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from reach.reachability.chance import chance_around
from reach.reachability.plan_task import Axis

OPEN = Axis(0, 0, open_low=True, open_high=True)
TICK_MS = 1000 / 60


def coverage(ticks: int, spread_ms: float, tick_ms: float = TICK_MS) -> float:
    """Chance of a window of so many ticks, aimed at its middle."""
    half = ticks * tick_ms / 2
    return float(norm.cdf(half, scale=spread_ms) - norm.cdf(-half, scale=spread_ms))


def box(*spans: tuple[int, int]):
    """A success function: every tick lies in its span, ends included."""

    def succeeds(*ticks: np.ndarray) -> np.ndarray:
        inside = [(t >= low) & (t <= high) for t, (low, high) in zip(ticks, spans, strict=True)]
        return inside[0][:, None, None] & inside[1][None, :, None] & inside[2][None, None, :]

    return succeeds


@pytest.mark.parametrize("spread_ms", [10.0, 25.0, 50.0])
@pytest.mark.parametrize("presses", [1, 2, 3, 6])
def test_one_timed_axis_is_the_normal_coverage_wherever_the_aim_begins(presses: int, spread_ms: float):
    first = 40
    for centre in (first, first + presses - 1, first + 4):
        succeeds = box((first, first + presses - 1), (0, 0), (0, 0))
        chance, step = chance_around(succeeds, (Axis(0, 90), OPEN, OPEN), (centre, 0, 0), TICK_MS, spread_ms)
        assert step == 1
        assert chance == pytest.approx(coverage(presses, spread_ms), abs=2e-3)


def test_three_timed_axes_multiply_only_where_they_are_a_box():
    spread_ms = 25.0
    axes = (Axis(-20, 40), Axis(1, 60), Axis(1, 70))
    succeeds = box((8, 11), (20, 22), (30, 35))
    chance, _ = chance_around(succeeds, axes, (9, 21, 32), TICK_MS, spread_ms)
    product = coverage(4, spread_ms) * coverage(3, spread_ms) * coverage(6, spread_ms)
    assert chance == pytest.approx(product, abs=2e-3)

    def slanted(presses: np.ndarray, holds: np.ndarray, steers: np.ndarray) -> np.ndarray:
        """A later press wants an earlier turn: press + turn = 40."""
        total = presses[:, None, None] + steers[None, None, :] + 0 * holds[None, :, None]
        return total == 40

    chance, _ = chance_around(slanted, (axes[0], OPEN, axes[2]), (9, 0, 31), TICK_MS, spread_ms)
    # the sum of two independent errors has the spread sqrt(2) sigma; ticks round each of them, hence the tolerance
    assert chance == pytest.approx(coverage(1, spread_ms * 2**0.5), abs=5e-3)


def test_an_open_end_takes_all_later_ticks():
    succeeds = box((10, 10**6), (0, 0), (0, 0))
    shut = chance_around(succeeds, (Axis(0, 13), OPEN, OPEN), (11, 0, 0), TICK_MS, 25.0)[0]
    ajar = chance_around(succeeds, (Axis(0, 13, open_high=True), OPEN, OPEN), (11, 0, 0), TICK_MS, 25.0)[0]
    assert shut == pytest.approx(coverage(4, 25.0), abs=2e-3)
    assert ajar == pytest.approx(1.0, abs=1e-4)


def test_long_spreads_are_summed_in_steps():
    tick_ms = 1.0
    succeeds = box((500, 559), (0, 0), (0, 0))
    chance, step = chance_around(succeeds, (Axis(0, 900), OPEN, OPEN), (530, 0, 0), tick_ms, 25.0)
    assert step > 1
    assert chance == pytest.approx(coverage(60, 25.0, tick_ms), abs=0.02)
