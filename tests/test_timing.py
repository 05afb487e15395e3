"""The timing model against derived tables, the reference library's normal distribution, and its own parts."""

import math

import numpy as np
import pytest
from scipy.stats import norm

from reach.timing import (
    NEWCOMER_SPREAD_MS,
    PRACTISED_SPREAD_MS,
    SMALLEST_SUPPORTED_SPREAD_MS,
    TYPICAL_SPREAD_MS,
    chance_of_window,
    threshold_ticks,
    tick_weights,
    window_ms,
    window_ms_for_chance,
)

SPREADS_MS = (7, 10, 15, 20, 25, 30, 40, 50)

# Derived values: P = erf(W / (2 sqrt(2) sigma)) for W = k ticks of 1000/60 ms, four decimals.
CHANCE_OF_TICKS_AT_60_HZ = {
    1: (0.7661, 0.5953, 0.4215, 0.3231, 0.2611, 0.2188, 0.1650, 0.1324),
    2: (0.9827, 0.9044, 0.7335, 0.5953, 0.4950, 0.4215, 0.3231, 0.2611),
    3: (0.9996, 0.9876, 0.9044, 0.7887, 0.6827, 0.5953, 0.4680, 0.3829),
    4: (1.0000, 0.9991, 0.9737, 0.9044, 0.8176, 0.7335, 0.5953, 0.4950),
    6: (1.0000, 1.0000, 0.9991, 0.9876, 0.9545, 0.9044, 0.7887, 0.6827),
    8: (1.0000, 1.0000, 1.0000, 0.9991, 0.9923, 0.9737, 0.9044, 0.8176),
    12: (1.0000, 1.0000, 1.0000, 1.0000, 0.9999, 0.9991, 0.9876, 0.9545),
}

# The textbook's coverage of a normal variable within +-W/2: the 68-95-99.7 rule (W = 2, 4, 6 sigma) and the odd ones.
CHANCE_OF_WIDTH_IN_SPREADS = {1: 0.382925, 2: 0.682689, 3: 0.866386, 4: 0.954500, 5: 0.987581, 6: 0.997300}


@pytest.mark.small
@pytest.mark.parametrize("ticks", CHANCE_OF_TICKS_AT_60_HZ)
def test_chance_of_ticks_at_60_hz_is_the_derived_table(ticks: int):
    row = [chance_of_window(window_ms(ticks, 1000 / 60), s) for s in SPREADS_MS]
    assert row == pytest.approx(CHANCE_OF_TICKS_AT_60_HZ[ticks], abs=0.5e-4)


@pytest.mark.small
@pytest.mark.parametrize("width", CHANCE_OF_WIDTH_IN_SPREADS)
def test_chance_of_a_width_in_spreads_is_the_normal_coverage(width: int):
    assert chance_of_window(width * 25.0, 25.0) == pytest.approx(CHANCE_OF_WIDTH_IN_SPREADS[width], abs=0.5e-6)


@pytest.mark.parametrize(("bias_ms", "chance"), [(0, 0.7887), (10, 0.7333), (20, 0.5865), (30, 0.3983), (-30, 0.3983)])
def test_a_bias_lowers_the_chance_as_derived(bias_ms: float, chance: float):
    assert chance_of_window(50.0, 20.0, bias_ms) == pytest.approx(chance, abs=0.5e-4)
    # scipy's normal distribution is the outside reference
    outside = norm.cdf(25.0, loc=bias_ms, scale=20.0) - norm.cdf(-25.0, loc=bias_ms, scale=20.0)
    assert chance_of_window(50.0, 20.0, bias_ms) == pytest.approx(outside, rel=1e-12)


@pytest.mark.parametrize(("spread_ms", "chance"), [(10, 0.8825), (20, 0.0931), (30, 0.0056)])
def test_ten_windows_of_three_ticks_in_a_row(spread_ms: float, chance: float):
    assert chance_of_window(50.0, spread_ms) ** 10 == pytest.approx(chance, abs=0.5e-4)


@pytest.mark.parametrize(("chance", "width"), [(0.5, 1.3490), (0.9, 3.2897), (0.95, 3.9199), (0.99, 5.1517)])
def test_window_for_a_wanted_chance(chance: float, width: float):
    assert window_ms_for_chance(chance, 1.0) == pytest.approx(width, abs=0.5e-4)
    assert chance_of_window(window_ms_for_chance(chance, 25.0), 25.0) == pytest.approx(chance, rel=1e-12)


@pytest.mark.small
def test_tick_weights_are_the_masses_of_the_ticks_intervals():
    ticks = np.arange(-12, 13)
    weights = tick_weights(ticks, 0.0, 1000 / 60, 25.0)
    assert weights.sum() == pytest.approx(1.0, abs=1e-12)
    edges = norm.cdf((np.arange(-12, 14) - 0.5) * 1000 / 60, scale=25.0)
    np.testing.assert_allclose(weights, np.diff(edges), rtol=1e-9, atol=1e-15)
    # the tick aimed at alone is a window of one tick; with a neighbour, aimed at their border, one of two
    assert weights[12] == pytest.approx(0.2611, abs=0.5e-4)
    assert tick_weights(np.array([3, 4]), 3.5, 1000 / 60, 25.0).sum() == pytest.approx(0.4950, abs=0.5e-4)


def test_open_ends_take_all_the_rest():
    ticks = np.arange(-2, 3)
    closed = tick_weights(ticks, 0.5, 1000 / 60, 25.0)
    both = tick_weights(ticks, 0.5, 1000 / 60, 25.0, open_low=True, open_high=True)
    assert both.sum() == pytest.approx(1.0, abs=1e-15)
    np.testing.assert_array_equal(both[1:-1], closed[1:-1])
    assert both[0] == pytest.approx(norm.cdf(-2.0 * 1000 / 60, scale=25.0), rel=1e-9)
    high = tick_weights(ticks, 0.5, 1000 / 60, 25.0, open_high=True)
    assert high[-1] == pytest.approx(norm.sf(1000 / 60, scale=25.0), rel=1e-9)
    assert high[0] == closed[0]


def test_several_aims_have_the_weights_of_each():
    ticks, aims = np.arange(-3, 9), [-2.5, 0.0, 0.5, 1 / 3, 8.0]
    for ends in ({}, {"open_low": True}, {"open_low": True, "open_high": True}):
        several = tick_weights(ticks, aims, 1000 / 60, 25.0, **ends)
        np.testing.assert_array_equal(several, [tick_weights(ticks, aim, 1000 / 60, 25.0, **ends) for aim in aims])


def test_mean_error_of_the_model_is_the_half_normal_mean():
    # mean |error| = sigma sqrt(2 / pi) = 0.7979 sigma, a textbook property of the normal distribution
    ticks = np.arange(-4000, 4001)
    weights = tick_weights(ticks, 0.0, 0.1, 25.0)
    assert float(np.abs(ticks * 0.1) @ weights) / 25.0 == pytest.approx(math.sqrt(2 / math.pi), abs=1e-4)


def test_default_spreads_are_ordered_above_the_smallest_that_a_source_supports():
    assert SMALLEST_SUPPORTED_SPREAD_MS < PRACTISED_SPREAD_MS < TYPICAL_SPREAD_MS < NEWCOMER_SPREAD_MS


@pytest.mark.parametrize(
    ("threshold_ms", "hz", "ticks"), [(60, 60, 4), (50, 60, 3), (50.01, 60, 4), (0, 60, 1), (60, 100, 6), (16.6, 60, 1)]
)
def test_a_window_of_so_many_ticks_is_not_under_the_threshold(threshold_ms, hz, ticks):
    assert threshold_ticks(threshold_ms, hz) == ticks
    assert ticks * 1000 / hz >= threshold_ms and (ticks == 1 or (ticks - 1) * 1000 / hz < threshold_ms)
