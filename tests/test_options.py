import math
import threading

import pytest

from reach.errors import InputError
from reach.options import MOST_TIME_S, MOST_WINDOW_MS, CheckOptions


def test_the_report_states_every_option_but_the_place_to_begin_at():
    assert CheckOptions(time_limit_s=3.5).stated() == {
        "memory_limit_mib": None,
        "time_limit_s": 3.5,
        "timing_spread_ms": 25.0,
        "window_threshold_ms": 60.0,
    }


@pytest.mark.parametrize(
    "wrong",
    [
        {"window_threshold_ms": -1.0},
        {"window_threshold_ms": math.nan},
        {"timing_spread_ms": 0.0},
        {"timing_spread_ms": math.inf},
        {"time_limit_s": 0.0},
        {"memory_limit_mib": -5},
        {"window_threshold_ms": 1000.1},
        {"window_threshold_ms": math.inf},
        {"time_limit_s": 864_000.5},
        {"time_limit_s": math.inf},
    ],
)
def test_numbers_that_mean_nothing_are_the_users_mistake(wrong):
    (name,) = wrong
    with pytest.raises(InputError, match=name):
        CheckOptions(**wrong)


def test_all_of_them_are_told_at_once():
    with pytest.raises(InputError) as caught:
        CheckOptions(window_threshold_ms=-1.0, timing_spread_ms=-1.0)
    assert len(caught.value.problems) == 2


def test_a_threshold_of_nothing_is_allowed():
    assert CheckOptions(window_threshold_ms=0.0).window_threshold_ms == 0


def test_the_largest_window_and_the_longest_time_are_told_and_allowed():
    assert CheckOptions(window_threshold_ms=MOST_WINDOW_MS, time_limit_s=MOST_TIME_S).time_limit_s == 864_000
    assert MOST_TIME_S < threading.TIMEOUT_MAX
    with pytest.raises(InputError, match="a number from 0 to 1000"):
        CheckOptions(window_threshold_ms=1e9)
    with pytest.raises(InputError, match="greater than 0 and at most 864000"):
        CheckOptions(time_limit_s=1e12)


def test_a_memory_limit_beyond_any_machine_is_none():
    assert CheckOptions(memory_limit_mib=10**400).memory_limit_mib == 10**400
