"""Jumps against closed forms and worked examples: UP1 = OpenStax, University Physics Volume 1, CP2e = OpenStax, College
Physics 2e, g = 9.80 m/s^2. The simulator's sums are first order in the tick, of which there are 1000 a second here.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reach.movement import load_movement
from reach.workshop.jump_arcs import Arc, highest_jump_spx, measure_takeoff_bands
from tests.builders import make_motion
from tests.checkout import ROOT

METRE = 1 << 34
RATE = 1000
G = round(9.80 * METRE / RATE**2)
FAST = 1 << 40


def arc(v0: int, gravity: int, terminal: int = FAST) -> Arc:
    """A jump of one gravity by sums: v0 is the launch, with a gravity more where none acts in the takeoff's tick."""
    apex = v0 // gravity - (v0 % gravity == 0 and v0 > 0)
    height = apex * v0 - gravity * apex * (apex + 1) // 2
    feet, speed, n = height, v0 - apex * gravity, apex
    while feet >= 0:
        n += 1
        speed = max(speed - gravity, -terminal)
        feet += speed
    return Arc(height, apex, n, n - apex, -speed)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 300_000), st.integers(900, 20_000), st.integers(9_000, 400_000), st.booleans())
def test_a_jump_of_one_gravity_is_the_closed_form(launch: int, gravity: int, terminal: int, at_once: bool) -> None:
    motion = make_motion(
        jump_launch=launch,
        jump_gravity_held=gravity,
        jump_gravity=gravity,
        terminal=terminal,
        launch_tick_gravity=int(at_once),
    )
    (band,) = measure_takeoff_bands(motion)
    assert band.held == band.tapped == arc(launch if at_once else launch + gravity, gravity, terminal)
    assert band.buffered is None


def test_a_tapped_jump_goes_on_with_the_other_gravity_and_the_cut_speed() -> None:
    """After one tick the height is the launch; then y = y_1 + m v - g m(m+1)/2 with v cut (motion model, section 6)."""
    motion = make_motion(
        jump_launch=200_000, jump_gravity_held=5000, jump_gravity=9000, terminal=FAST, cut_speed=90_000
    )
    (band,) = measure_takeoff_bands(motion)
    m = 90_000 // 9000 - 1
    assert band.tapped is not None and band.held is not None
    assert band.tapped.height_spx == 200_000 + m * 90_000 - 9000 * m * (m + 1) // 2
    assert band.tapped.apex_ticks == 1 + m
    assert band.held.height_spx == arc(205_000, 5000).height_spx


def test_a_press_let_go_before_touching_down_makes_the_smallest_hop() -> None:
    motion = make_motion(
        jump_launch=200_000, jump_gravity_held=5000, jump_gravity=9000, terminal=FAST, cut_speed=90_000, buffer_ticks=3
    )
    (band,) = measure_takeoff_bands(motion)
    assert band.buffered == arc(99_000, 9000)
    assert band.buffered.height_spx < band.tapped.height_spx < band.held.height_spx


def test_each_band_is_measured_at_its_own_speed_and_bands_out_of_reach_are_told() -> None:
    launches = [100_000, 150_000, 120_000]
    motion = make_motion(
        walk_cap=50_000,
        jump_from=[0, 30_000, 50_001],
        jump_launch=launches,
        jump_gravity_held=[5000] * 3,
        jump_gravity=[5000] * 3,
        terminal=FAST,
    )
    bands = measure_takeoff_bands(motion)
    assert [band.held for band in bands] == [arc(launch + 5000, 5000) for launch in launches]
    assert [(b.from_spx_per_tick, b.to_spx_per_tick) for b in bands] == [(0, 29_999), (30_000, 50_000), (50_001, None)]
    assert [band.is_reached for band in bands] == [True, True, False]


@pytest.mark.parametrize(
    ("source", "v0", "height_m", "half_m", "air_s", "half_s"),
    [
        ("UP1 Ex 3.15", 24.5, 30.6, 0.05, 5.0, 0.05),
        ("CP2e ch. 2 Problems & Exercises 45", 13.0, 8.62, 0.005, 2.65, 0.005),
    ],
)
def test_the_jumps_of_the_textbook(source, v0, height_m, half_m, air_s, half_s) -> None:
    motion = make_motion(
        jump_launch=round(v0 * METRE / RATE),
        jump_gravity_held=G,
        jump_gravity=G,
        terminal=1 << 40,
        launch_tick_gravity=1,
    )
    (band,) = measure_takeoff_bands(motion)
    assert band.held is not None
    assert abs(band.held.height_spx / METRE - height_m) <= half_m + v0 / (2 * RATE), source
    assert abs(band.held.air_ticks / RATE - air_s) <= half_s + 1 / RATE, source
    assert band.held.landing_speed_spx_per_tick / METRE * RATE == pytest.approx(v0, rel=1e-3)


def test_a_jump_without_end_has_no_figure() -> None:
    (band,) = measure_takeoff_bands(make_motion(jump_launch=60_000, jump_gravity_held=1, jump_gravity=1))
    assert band.held is None


def test_the_weighty_sample_jumps_higher_from_a_run_and_falls_at_terminal_speed() -> None:
    """Common practice of the trade: a faster takeoff jumps higher; terminal speed is reached soon and then holds."""
    motion = load_movement(ROOT / "sample_levels/movement/lamplighter.json").motion
    bands = measure_takeoff_bands(motion)
    heights = [band.held.height_spx for band in bands]
    assert heights == sorted(heights) and len(set(heights)) == len(heights)
    assert {band.held.landing_speed_spx_per_tick for band in bands} == {motion.terminal}
    assert all(band.tapped.height_spx < band.held.height_spx for band in bands)


def test_letting_go_in_between_may_jump_highest() -> None:
    """A weaker released gravity and a cut speed: held to the end is lower than let go of late, and so is a tap."""
    motion = make_motion(
        jump_launch=[200_000], jump_gravity_held=[8_000], jump_gravity=[2_000], cut_speed=100_000, terminal=250_000
    )
    (band,) = measure_takeoff_bands(motion)
    assert band.held is not None and band.tapped is not None

    def height(hold: int) -> int:
        """By the sums of motion model 5.3: a launch, held ticks, a cut, released ticks."""
        speed = risen = 200_000
        for tick in range(1, 200):
            speed = (min(speed, 100_000) if tick == hold else speed) - (8_000 if tick < hold else 2_000)
            if speed <= 0:
                break
            risen += speed
        return risen

    highest = highest_jump_spx(motion, [band])
    assert highest == max(height(hold) for hold in range(1, 40))
    assert highest > max(band.held.height_spx, band.tapped.height_spx)
