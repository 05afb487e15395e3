import math

import pytest

from reach.errors import InputError
from reach.options import CheckOptions


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
