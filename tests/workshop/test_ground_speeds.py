"""Walking and running against closed forms and the worked examples of two textbooks.

UP1 = OpenStax, University Physics Volume 1; CP2e = OpenStax, College Physics 2e. The simulator's sums are first order
in the tick: a distance is off by half a tick at the speed, which 1000 ticks a second make small.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reach.movement import load_movement
from reach.workshop.ground_speeds import Change, measure_ground_speeds
from tests.builders import make_motion
from tests.checkout import ROOT

METRE = 1 << 34
RATE = 1000


def tri(n: int) -> int:
    return n * (n + 1) // 2


def stopping(speed: int, rate: int) -> Change:
    """q ticks of motion, q * v - d * q(q+1)/2 (motion model, section 6), and a tick more unless d divides v."""
    q = speed // rate
    return Change(-(-speed // rate), q * speed - rate * tri(q))


def starting(cap: int, rate: int) -> Change:
    """a * n(n+1)/2 below the cap (motion model, section 6), and a tick at the cap where that is no multiple of a."""
    n = cap // rate
    short = 0 if n * rate == cap else 1
    return Change(n + short, rate * tri(n) + short * cap)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(50, 4000), st.integers(1, 90_000), st.integers(50, 4000), st.integers(50, 4000))
def test_all_figures_are_the_closed_forms(accel: int, cap: int, coast: int, reverse: int) -> None:
    motion = make_motion(walk_accel=accel, walk_cap=cap, coast=coast, reverse=reverse)
    (walk,) = measure_ground_speeds(motion)
    assert (walk.gait, walk.top_speed_spx_per_tick) == ("walk", cap)
    assert walk.to_top == starting(cap, accel)
    assert walk.coasting == stopping(cap, coast)
    assert walk.reversing == stopping(cap, reverse)
    turned = stopping(cap, reverse)
    assert walk.turning == Change(turned.ticks + starting(cap, accel).ticks, turned.distance_spx)


def test_a_run_has_figures_of_its_own() -> None:
    motion = make_motion(walk_accel=500, walk_cap=9000, run_accel=700, run_cap=20000, coast=300, reverse=900)
    walk, run = measure_ground_speeds(motion)
    assert (walk.gait, run.gait) == ("walk", "run")
    assert walk.to_top == starting(9000, 500) and run.to_top == starting(20000, 700)
    assert run.coasting == stopping(20000, 300)
    assert run.turning == Change(stopping(20000, 900).ticks + starting(20000, 700).ticks, run.reversing.distance_spx)


@pytest.mark.parametrize(
    ("source", "v", "d", "published_m", "half_unit_m"),
    [("UP1 Ex 3.10 (= CP2e Ex 2.12), dry", 30, 7.00, 64.3, 0.05), ("the same, wet", 30, 5.00, 90.0, 0.05)],
)
def test_the_stopping_distances_of_the_textbook(source, v, d, published_m, half_unit_m) -> None:
    motion = make_motion(walk_cap=round(v * METRE / RATE), coast=round(d * METRE / RATE**2))
    (walk,) = measure_ground_speeds(motion)
    metres = walk.coasting.distance_spx / METRE
    assert metres == pytest.approx(v**2 / (2 * d) - v / (2 * RATE), rel=1e-4)
    assert abs(metres - published_m) <= half_unit_m + v / (2 * RATE), source


def test_the_times_to_a_speed_and_to_rest_of_the_textbook() -> None:
    """CP2e ch. 2 Problems & Exercises 23: 80.0 km/h at 1.35 m/s^2 takes 16.5 s, and stops at 1.65 m/s^2 in 13.5 s."""
    motion = make_motion(
        walk_cap=round(80 / 3.6 * METRE / RATE),
        walk_accel=round(1.35 * METRE / RATE**2),
        coast=round(1.65 * METRE / RATE**2),
    )
    (walk,) = measure_ground_speeds(motion)
    assert walk.to_top.ticks / RATE == pytest.approx(16.5, abs=0.05)
    assert walk.coasting.ticks / RATE == pytest.approx(13.5, abs=0.05)


def test_what_takes_too_long_has_no_figure() -> None:
    (walk,) = measure_ground_speeds(make_motion(walk_accel=1, walk_cap=40_000, coast=40_000))
    assert walk.to_top is None and walk.turning is None
    assert walk.coasting == Change(1, 0)


def test_the_weighty_sample_brakes_faster_by_reversing_than_by_coasting() -> None:
    """Common practice of the trade for a weighty body."""
    for gait in measure_ground_speeds(load_movement(ROOT / "sample_levels/movement/lamplighter.json").motion):
        assert gait.reversing.ticks < gait.coasting.ticks
        assert gait.reversing.distance_spx < gait.coasting.distance_spx
