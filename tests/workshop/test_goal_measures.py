"""Measured goals against closed forms (motion model, section 6)."""

from dataclasses import replace

from reach.movement import load_movement
from reach.workshop.goal_measures import measure_goals
from tests.builders import PX, make_motion
from tests.checkout import ROOT

COURIER = load_movement(ROOT / "sample_levels" / "movement" / "courier.json")


def test_measures_are_the_closed_forms():
    motion = make_motion(
        body_w=12 * PX,
        walk_accel=4000,
        walk_cap=100000,
        coast=3000,
        jump_launch=20 * 9000,
        jump_gravity_held=9000,
        jump_gravity=9000,
        terminal=500000,
        air_cap=100000,
    )
    got = measure_goals(replace(COURIER, motion=motion))
    assert (got.top_ticks, got.stop_ticks) == (25, 34)
    # launch = q g: the apex g q(q+1)/2 stands at ticks q and q+1; with one gravity the fall takes q+1 ticks, exactly to
    # the ground, which is not landed on yet: one more
    assert (got.jump_spx, got.apex_ticks, got.air_ticks) == (9000 * 20 * 21 // 2, 20, 42)
    assert got.hop_spx == got.jump_spx
    assert got.gap_spx == 42 * 100000 + 12 * PX - 2
    assert got.terminal_spx == 500000


def test_slow_profiles_are_measured_to_the_end():
    motion = make_motion(walk_accel=7, walk_cap=20000, coast=11, jump_gravity_held=300, jump_gravity=300)
    got = measure_goals(replace(COURIER, motion=motion))
    assert (got.top_ticks, got.stop_ticks) == (-(-20000 // 7), -(-20000 // 11))
    assert got.apex_ticks == 260000 // 300 + 1
