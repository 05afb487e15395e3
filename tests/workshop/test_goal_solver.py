"""Profiles from goals: what is asked is got to the tick, or it is told what gave way."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from reach.errors import InputError
from reach.kernels.params import State
from reach.movement import movement_from_dict
from reach.workshop.design_goals import Goals
from reach.workshop.flat_ground import at_rest, play_flat
from reach.workshop.gap_limits import over_limits
from reach.workshop.goal_solver import design_profile, fall_ticks, hop_spx
from tests.builders import PX, inputs, make_motion

Y, GROUNDED = State._fields.index("y"), State._fields.index("grounded")


def tiles(spx, goals):
    return spx / (goals.tile_px * PX)


def test_every_goal_is_met_where_they_go_together():
    goals = Goals(
        jump_tiles=Fraction(4),
        ticks_to_apex=24,
        air_ticks=42,
        hop_tiles=Fraction(1),
        gap_tiles=Fraction(7),
        ticks_to_top=20,
        ticks_to_stop=9,
        terminal_px_per_s=Fraction(300),
    )
    design = design_profile(goals, "keeper")
    got = design.measured
    assert design.gave_way == ()
    assert (got.apex_ticks, got.air_ticks, got.top_ticks, got.stop_ticks) == (24, 42, 20, 9)
    assert tiles(got.jump_spx, goals) == pytest.approx(4, abs=0.001)
    assert tiles(got.hop_spx, goals) == pytest.approx(1, abs=0.001)
    assert 7 <= tiles(got.gap_spx, goals) < 7.01
    assert got.terminal_spx == 300 * PX // 60
    # a hop lower than the fall's gravity gives needs a cut speed
    assert "cut_speed" in design.data["jump"]["on_release"]


def test_the_gap_is_what_the_exploration_says():
    design = design_profile(Goals(gap_tiles=Fraction(6)), "keeper")
    ledge = 400 * PX
    limits = over_limits(design.movement.motion, ledge, (0,))
    assert limits.gaps_spx == (design.measured.gap_spx,)


def random_goals(dice):
    def pick(low, high, chance=0.5):
        return int(dice.integers(low, high)) if dice.random() < chance else None

    def share(low, high, chance=0.5):
        number = pick(low * 8, high * 8, chance)
        return None if number is None else Fraction(number, 8)

    return Goals(
        jump_tiles=share(1, 7),
        hop_tiles=share(0, 4),
        ticks_to_apex=pick(8, 40),
        air_ticks=pick(16, 80),
        gap_tiles=share(1, 12),
        ticks_to_top=pick(1, 60),
        ticks_to_stop=pick(1, 40),
        terminal_px_per_s=share(50, 500),
        tile_px=int(dice.choice([8, 16, 32])),
        tick_rate_hz=int(dice.choice([30, 50, 60])),
    )


def test_a_goal_is_met_or_named():
    dice = np.random.default_rng(7)
    solved, refused, gave = 0, 0, set()
    for _ in range(250):
        goals = random_goals(dice)
        try:
            design = design_profile(goals, "keeper")
        except InputError:
            refused += 1
            continue
        solved += 1
        got, missed = design.measured, {each.goal for each in design.gave_way}
        gave |= {(each.goal, each.to) for each in design.gave_way}
        assert missed <= design.wanted.asked
        assert got.hop_spx <= got.jump_spx, goals
        for goal, asked, found in (
            ("apex", goals.ticks_to_apex, got.apex_ticks),
            ("air", goals.air_ticks, got.air_ticks),
            ("top", goals.ticks_to_top, got.top_ticks),
            ("stop", goals.ticks_to_stop, got.stop_ticks),
        ):
            assert asked is None or asked == found or goal in missed, (goals, goal)
        for goal, asked, spx in (
            ("jump", goals.jump_tiles, got.jump_spx),
            ("hop", goals.hop_tiles, got.hop_spx),
            ("gap", goals.gap_tiles, got.gap_spx),
        ):
            assert asked is None or abs(tiles(spx, goals) - asked) < 0.0101 or goal in missed, (goals, goal)
        asked = goals.terminal_px_per_s
        assert asked is None or "terminal" in missed or abs(got.terminal_spx * goals.tick_rate_hz / PX - asked) < 3
        assert movement_from_dict(design.data).motion.walk_cap == design.movement.motion.walk_cap
    assert solved > 100
    assert refused > 20
    assert {("hop", "air"), ("hop", "jump"), ("terminal", "air")} <= gave


@pytest.mark.parametrize(
    ("goals", "goal", "to"),
    [
        (Goals(jump_tiles=Fraction(4), ticks_to_apex=24, air_ticks=42, hop_tiles=Fraction(5, 2)), "hop", "air"),
        (Goals(hop_tiles=Fraction(1, 10)), "hop", "jump"),
        (Goals(air_ticks=42, terminal_px_per_s=Fraction(100)), "terminal", "air"),
        (Goals(jump_tiles=Fraction(10), ticks_to_apex=20, air_ticks=22), "air", "jump"),
        (Goals(tick_rate_hz=1000, gap_tiles=Fraction(1), ticks_to_top=1999), "top", ""),
    ],
)
def test_what_gives_way_is_told_with_the_reason(goals, goal, to):
    design = design_profile(goals, "keeper")
    (gave,) = design.gave_way
    assert (gave.goal, gave.to) == (goal, to)
    assert len(gave.why) > 20


def test_ticks_that_no_rate_gives_are_the_nearest_of_all_rates_and_speeds_for_the_gap():
    goals = Goals(ticks_to_stop=500, ticks_to_top=500, gap_tiles=Fraction(1))
    design = design_profile(goals, "keeper")
    got, motion = design.measured, design.movement.motion
    assert {each.goal for each in design.gave_way} == {"top", "stop"}
    assert all("the nearest found" in each.why for each in design.gave_way)
    least = -(-(16 * PX - motion.body_w + 2) // got.air_ticks)
    speeds = range(least, least + 16 * PX // 100 // got.air_ticks + 1)
    nearest = min(abs(-(-speed // rate) - 500) for speed in speeds for rate in range(1, 40))
    assert abs(got.top_ticks - 500) == abs(got.stop_ticks - 500) == nearest == 9
    assert 1 <= tiles(got.gap_spx, goals) < 1.0101


def test_another_top_speed_for_the_gap_may_meet_the_ticks():
    goals = Goals(ticks_to_stop=150, ticks_to_top=200, gap_tiles=Fraction(1), ticks_to_apex=9)
    design = design_profile(goals, "keeper")
    assert design.gave_way == ()
    assert (design.measured.top_ticks, design.measured.stop_ticks) == (200, 150)


def test_the_apex_gives_way_to_a_jump_that_no_gravity_makes_in_so_many_ticks():
    goals = Goals(jump_tiles=Fraction(1, 100), ticks_to_apex=500)
    design = design_profile(goals, "keeper")
    (gave,) = design.gave_way
    assert (gave.goal, gave.to) == ("apex", "jump")
    # one subpixel a tick^2 rises 145 * 146 / 2 subpixels in 145 ticks, a hundredth more than asked
    assert (design.measured.apex_ticks, design.measured.jump_spx) == (145, 10585)
    aired = design_profile(replace(goals, air_ticks=700), "keeper")
    assert ("apex", "jump") in {(each.goal, each.to) for each in aired.gave_way}
    assert abs(aired.measured.jump_spx - 16 * PX / 100) < 16 * PX / 10000
    # a jump that is a default is not kept
    assert design_profile(Goals(ticks_to_apex=1000), "keeper").measured.apex_ticks == 1000


def heights(design):
    """The height of a jump whose button is down for so many ticks."""
    motion, most = design.movement.motion, design.measured.apex_ticks + 2
    for held in range(1, most + 1):
        played = play_flat(motion, inputs((held, "j"), (design.measured.air_ticks * 3, "")))
        yield int((at_rest(motion).y - played[:, Y]).max())


@pytest.mark.parametrize("air_ticks", [30, 47, 48, 49, 50, 60, 90])
@pytest.mark.parametrize("hop", [None, Fraction(1), Fraction(3)])
@pytest.mark.parametrize("terminal", [None, Fraction(128)])
def test_no_release_makes_a_jump_higher_than_a_hold(air_ticks, hop, terminal):
    goals = Goals(
        jump_tiles=Fraction(4), ticks_to_apex=24, air_ticks=air_ticks, hop_tiles=hop, terminal_px_per_s=terminal
    )
    design = design_profile(goals, "keeper")
    assert design.measured.air_ticks == air_ticks
    assert max(heights(design)) == design.measured.jump_spx
    assert design.stops_rise == (design.data["jump"]["on_release"] == {"cut_speed": 0})


def test_a_fall_slower_than_the_rise_makes_a_release_stop_it():
    goals = Goals(jump_tiles=Fraction(4), ticks_to_apex=24, air_ticks=60)
    design = design_profile(goals, "keeper")
    assert design.stops_rise
    assert design.gave_way == ()
    assert design.measured.hop_spx == design.measured.jump_spx * 2 // 25
    (gave,) = design_profile(replace(goals, hop_tiles=Fraction(1)), "keeper").gave_way
    assert (gave.goal, gave.to) == ("hop", "air")
    # a low terminal speed slows the fall without a weak gravity
    assert not design_profile(replace(goals, terminal_px_per_s=Fraction(128)), "keeper").stops_rise


def test_a_terminal_speed_alone_lengthens_the_fall_only():
    free = design_profile(Goals(), "keeper")
    slow = design_profile(Goals(terminal_px_per_s=Fraction(60)), "keeper")
    assert slow.gave_way == ()
    assert slow.data["jump"] == free.data["jump"]
    assert slow.measured.air_ticks > free.measured.air_ticks
    assert slow.measured.terminal_spx == PX


def test_a_hop_as_high_as_the_jump_is_one_gravity():
    design = design_profile(Goals(jump_tiles=Fraction(3), hop_tiles=Fraction(3)), "keeper")
    assert design.measured.hop_spx == design.measured.jump_spx
    assert design.gave_way == ()


@pytest.mark.parametrize("gravity", [7000, 21000, 60000])
@pytest.mark.parametrize("cut", [None, 50000])
def test_falls_and_hops_are_the_simulator_s(gravity, cut):
    motion = make_motion(
        jump_launch=200000, jump_gravity_held=8000, jump_gravity=gravity, cut_speed=-1 if cut is None else cut
    )
    hop = play_flat(motion, inputs((1, "j"), (200, "")))
    assert hop_spx(200000, gravity, cut) == (at_rest(motion).y - hop[:, Y]).max()
    full = play_flat(motion, inputs((200, "j")))
    heights = at_rest(motion).y - full[:, Y]
    apex, landed = int(np.flatnonzero(heights == heights.max())[-1]), int(np.flatnonzero(full[1:, GROUNDED])[0]) + 1
    assert fall_ticks(int(heights.max()), gravity, motion.terminal) == landed - apex
