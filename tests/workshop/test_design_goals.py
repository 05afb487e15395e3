"""Goals filled in, and goals that contradict each other beyond letting one go."""

from fractions import Fraction

import pytest

from reach.errors import InputError
from reach.workshop.design_goals import Goals, complete
from tests.builders import PX


def test_without_goals_there_are_defaults():
    wanted = complete(Goals())
    assert wanted.asked == frozenset()
    assert wanted.jump_spx == Fraction(7, 2) * 16 * PX
    assert (wanted.rise_ticks, wanted.fall_ticks) == (24, 18)
    assert (wanted.body_w_spx, wanted.body_h_spx) == (12 * PX, 24 * PX)


def test_ticks_follow_the_tick_rate_and_lengths_the_tile():
    wanted = complete(Goals(tick_rate_hz=30, tile_px=32, jump_tiles=Fraction(2)))
    assert (wanted.rise_ticks, wanted.to_top_ticks, wanted.to_stop_ticks) == (12, 9, 6)
    assert wanted.jump_spx == 64 * PX
    assert wanted.asked == {"jump"}


def test_an_air_time_alone_is_shared_out():
    wanted = complete(Goals(air_ticks=43))
    assert wanted.rise_ticks + 1 + wanted.fall_ticks == 43
    assert (wanted.rise_ticks, wanted.fall_ticks) == (24, 18)
    assert complete(Goals(air_ticks=43, ticks_to_apex=30)).fall_ticks == 12


@pytest.mark.parametrize(
    ("goals", "option"),
    [
        (Goals(air_ticks=25, ticks_to_apex=24), "--air-ticks"),
        (Goals(air_ticks=2), "--air-ticks"),
        (Goals(hop_tiles=Fraction(4), jump_tiles=Fraction(3)), "--hop-tiles"),
        (Goals(gap_tiles=Fraction(1, 2)), "--gap-tiles"),
        (Goals(jump_tiles=Fraction(900), ticks_to_apex=3), "--jump-tiles"),
        (Goals(gap_tiles=Fraction(900)), "--gap-tiles"),
        (Goals(terminal_px_per_s=Fraction(64 * 60 + 1)), "--terminal-px-per-s"),
    ],
)
def test_what_cannot_be_is_one_message_that_names_the_goal(goals, option):
    with pytest.raises(InputError) as caught:
        complete(goals)
    (problem,) = caught.value.problems
    assert problem.place == option
    assert problem.allowed


def test_every_contradiction_is_told_at_once():
    with pytest.raises(InputError) as caught:
        complete(Goals(air_ticks=25, ticks_to_apex=24, hop_tiles=Fraction(9)))
    assert [problem.place for problem in caught.value.problems] == ["--air-ticks", "--hop-tiles"]
