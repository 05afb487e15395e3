"""Arcs, run-ups and stops against their closed forms, to the subpixel.

The scheme is semi-implicit (symplectic) Euler: velocity first, then position with the new velocity ("first order
semi-implicit Euler method", PETSc manual, TSBASICSYMPLECTICSIEULER). With whole numbers per tick its sums are exact:
v_n = v0 - n*g and y_n = n*v0 - g*n(n+1)/2, by induction from 1 + 2 + ... + n = n(n+1)/2. No gravity acts in the tick of
a takeoff, so a launch L takes the place of v0 = L + g; with gravity in that tick, v0 = L.
"""

from __future__ import annotations

from fractions import Fraction
from math import floor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reach.kernels.params import Motion, State
from tests.builders import make_motion, make_state, make_terrain, play

T = 1 << 20
FLOOR_ROW = 40
FLOOR = make_terrain(["." * 60] * FLOOR_ROW + ["#" * 60], tile=T)
BODY = {"body_w": 1000, "body_h": 1000}
FEET = FLOOR_ROW * T


def tri(n: int) -> int:
    return n * (n + 1) // 2


def jump(launch: int, gravity: int, ticks: int, **values: int) -> list[State]:
    """A jump with the button held all the way and one gravity throughout."""
    motion = make_motion(
        **{**BODY, "jump_launch": launch, "jump_gravity_held": gravity, "jump_gravity": gravity, "terminal": 1 << 40}
        | values
    )
    return play(make_state(10 * T, FEET - 1000, grounded=1), motion, FLOOR, (ticks, "j"))


def height(state: State) -> int:
    return FEET - 1000 - state.y


launches = st.integers(1, 60_000)
gravities = st.integers(1, 6000)


@pytest.mark.small
@settings(max_examples=60, deadline=None, derandomize=True)
@given(launches, gravities, st.booleans())
def test_a_held_jump_is_the_closed_form_at_every_tick_until_it_lands(launch: int, gravity: int, at_once: bool) -> None:
    v0 = launch if at_once else launch + gravity
    states = jump(launch, gravity, 120, launch_tick_gravity=int(at_once))
    for n, state in enumerate(states[1:], 1):
        if v0 * n - gravity * tri(n) < 0:
            assert height(state) == 0
            assert state.grounded
            break
        assert state.vy == n * gravity - v0
        assert height(state) == n * v0 - gravity * tri(n)


@pytest.mark.small
@pytest.mark.parametrize("q", [1, 2, 7, 20])
def test_the_apex_of_a_designed_jump_stands_at_two_ticks(q: int) -> None:
    gravity = 900
    for at_once, launch in ((0, q * gravity), (1, (q + 1) * gravity)):
        states = jump(launch, gravity, q + 3, launch_tick_gravity=at_once)
        apex = gravity * q * (q + 1) // 2
        heights = [height(s) for s in states]
        assert max(heights) == apex
        assert [n for n, h in enumerate(heights) if h == apex] == [q, q + 1]


# (v0, g, apex ticks, apex, first tick with y <= 0, y and v there, samples {tick: (v, y)}), whole numbers per tick.
TABLE = [
    (1280, 64, [19, 20], 12160, 39, 0, -1216,
     {1: (1216, 1216), 2: (1152, 2368), 5: (960, 5440), 10: (640, 9280), 19: (64, 12160), 20: (0, 12160),
      21: (-64, 12096), 38: (-1152, 1216), 39: (-1216, 0)}),
    (1000, 64, [15], 7320, 31, -744, -984,
     {1: (936, 936), 2: (872, 1808), 5: (680, 4040), 10: (360, 6480), 14: (104, 7280), 15: (40, 7320), 16: (-24, 7296),
      30: (-920, 240)}),
    (1300, 70, [18], 11430, 37, -1110, -1290, {}),
    (2048, 96, [21], 20832, 42, -672, -1984, {}),
]  # fmt: skip


@pytest.mark.small
@pytest.mark.parametrize(("v0", "g", "apex_ticks", "apex", "landing", "y_there", "v_there", "samples"), TABLE)
@pytest.mark.parametrize("at_once", [False, True])
def test_the_table_of_jumps(
    v0: int, g: int, apex_ticks: list[int], apex: int, landing: int, y_there: int, v_there: int,
    samples: dict[int, tuple[int, int]], at_once: bool,
) -> None:  # fmt: skip
    launch = v0 if at_once else v0 - g
    states = jump(launch, g, landing + 3, launch_tick_gravity=int(at_once))
    heights = [height(s) for s in states]
    assert max(heights) == apex
    assert [n for n, h in enumerate(heights) if h == apex] == apex_ticks
    for n, (v, y) in samples.items():
        assert (-states[n].vy, heights[n]) == (v, y)
    assert landing * v0 - g * tri(landing) == y_there
    # An exact touch does not land: the feet must be strictly past the top, which then is a tick later.
    landed = landing + 1 if y_there == 0 else landing
    assert [s.grounded for s in states[: landed + 1]] == [1] + [0] * (landed - 1) + [1]
    assert -states[landed - 1].vy == (v_there if y_there == 0 else v_there + g)


@pytest.mark.small
@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(2000, 60_000), st.integers(1000, 6000))
def test_apex_and_landing_ticks(launch: int, gravity: int) -> None:
    v0 = launch + gravity
    states = jump(launch, gravity, 150)
    heights = [height(s) for s in states]
    q = v0 // gravity
    assert heights[q] == max(heights) == q * v0 - gravity * tri(q)
    remainder = v0 - q * gravity
    identity = Fraction(v0**2, 2 * gravity) - Fraction(v0, 2) + Fraction(remainder * (gravity - remainder), 2 * gravity)
    assert heights[q] == identity
    landed = next(n for n, s in enumerate(states) if n > 0 and s.grounded)
    # First n with y_n < 0, as landing is strict: n > 2 v0 / g - 1.
    assert landed == floor(Fraction(2 * v0, gravity) - 1) + 1


@pytest.mark.small
@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(5000, 60_000), st.integers(1000, 6000), st.integers(1, 200_000))
def test_ticks_at_or_above_a_level(launch: int, gravity: int, level: int) -> None:
    """|2 g n - b| <= sqrt(disc) with b = 2 v0 - g, disc = b^2 - 8 g level; never where disc < 0."""
    v0 = launch + gravity
    states = jump(launch, gravity, 150)
    landed = next(n for n, s in enumerate(states) if n > 0 and s.grounded)
    b = 2 * v0 - gravity
    disc = b * b - 8 * gravity * level
    above = [n for n in range(1, landed) if height(states[n]) >= level]
    assert above == [n for n in range(1, landed) if (2 * gravity * n - b) ** 2 <= disc]


@pytest.mark.small
def test_a_released_jump_goes_on_with_the_other_gravity() -> None:
    """y_(k+m) = y_k + m v_k - g2 m(m+1)/2 from the state at the release; a cut replaces v_k."""
    for cut_speed, cut in ((-1, None), (4000, 4000)):
        motion = make_motion(
            **BODY, jump_launch=30_000, jump_gravity_held=700, jump_gravity=1900, terminal=1 << 40, cut_speed=cut_speed
        )
        states = play(make_state(10 * T, FEET - 1000, grounded=1), motion, FLOOR, (9, "j"), (12, ""))
        k = 9
        speed = -states[k].vy if cut is None else min(-states[k].vy, cut)
        for m in range(1, 13):
            assert height(states[k + m]) == height(states[k]) + m * speed - 1900 * tri(m)


@pytest.mark.small
def test_a_spring_is_its_launch_with_the_released_gravity_from_the_next_tick() -> None:
    terrain = make_terrain(["...."] * 30 + ["SSSS"], tile=T, launch=50_000)
    motion = make_motion(**BODY, jump_gravity_held=700, jump_gravity=1300, terminal=1 << 40)
    states = play(make_state(T, 30 * T - 1000, grounded=1), motion, terrain, (1, ""), (60, "j"))
    for n in range(61):
        assert states[1].y - states[1 + n].y == n * 50_000 - 1300 * tri(n)


def fall(motion: Motion, ticks: int) -> list[State]:
    return play(make_state(10 * T, T), motion, FLOOR, (ticks, ""))


@pytest.mark.small
def test_the_table_of_a_clamped_fall() -> None:
    states = fall(make_motion(**BODY, jump_gravity=64, terminal=800), 30)
    for n, (v, drop) in {
        1: (64, 64),
        5: (320, 960),
        12: (768, 4992),
        13: (800, 5792),
        20: (800, 11392),
        30: (800, 19392),
    }.items():
        assert (states[n].vy, states[n].y - T) == (v, drop)


@pytest.mark.small
@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(1, 3000), st.integers(1, 60_000))
def test_a_fall_to_the_terminal_speed_is_the_closed_form(gravity: int, terminal: int) -> None:
    m = terminal // gravity
    for n, state in enumerate(fall(make_motion(**BODY, jump_gravity=gravity, terminal=terminal), 80)):
        mm = min(n, m)
        assert state.vy == min(n * gravity, terminal)
        assert state.y - T == gravity * tri(mm) + (n - mm) * terminal


def on_floor(vx: int, motion: Motion, *steps: tuple[int, str]) -> list[State]:
    return play(make_state(2 * T, FEET - 1000, grounded=1, vx=vx), motion, FLOOR, *steps)


@pytest.mark.small
def test_the_tables_of_a_run_up_and_of_braking() -> None:
    motion = make_motion(**BODY, walk_accel=24, walk_cap=512, coast=24)
    up = on_floor(0, motion, (24, "r"))
    assert next(n for n, s in enumerate(up) if s.vx == 512) == 22
    assert up[22].x - up[0].x == 6056
    stop = on_floor(512, motion, (24, ""))
    assert next(n for n, s in enumerate(stop) if s.vx == 0) == 22
    assert stop[-1].x - stop[0].x == 5208


@pytest.mark.small
@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(1, 3000), st.integers(1, 60_000), st.booleans())
def test_a_run_up_is_the_closed_form(rate: int, cap: int, in_the_air: bool) -> None:
    if in_the_air:
        motion = make_motion(**BODY, air_accel=rate, air_cap=cap, jump_gravity=1, terminal=1)
        states = play(make_state(2 * T, T), motion, FLOOR, (60, "r"))
    else:
        motion = make_motion(**BODY, walk_accel=rate, walk_cap=cap)
        states = on_floor(0, motion, (60, "r"))
    m = cap // rate
    for n, state in enumerate(states):
        mm = min(n, m)
        assert state.vx == min(n * rate, cap)
        assert state.x - 2 * T == rate * tri(mm) + (n - mm) * cap


@pytest.mark.small
@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 60_000), st.integers(700, 5000), st.sampled_from(["coast", "reverse", "drag"]))
def test_stopping_is_the_closed_form(speed: int, rate: int, how: str) -> None:
    motion = make_motion(**{**BODY, "jump_gravity": 1, "terminal": 1, "walk_cap": 70_000, "air_cap": 70_000, how: rate})
    if how == "drag":
        states = play(make_state(2 * T, T, vx=speed), motion, FLOOR, (90, ""))
        stopped = next(n for n, s in enumerate(states) if s.vx == 0)
    else:
        states = on_floor(speed, motion, (90, "" if how == "coast" else "l"))
        stopped = next(n for n, s in enumerate(states) if s.vx <= 0)
    q = speed // rate
    assert stopped == -(-speed // rate)
    assert states[stopped].vx == 0
    assert states[stopped].x - 2 * T == q * speed - rate * tri(q)


@pytest.mark.small
def test_no_speed_is_lost_in_flight_without_drag_opposing_input_or_wall() -> None:
    motion = make_motion(**BODY, jump_launch=60_000, jump_gravity_held=900, jump_gravity=1400, air_cap=3000)
    states = on_floor(5000, motion._replace(walk_cap=5000), (1, "rj"), (30, "j"), (20, "r"), (20, "d"))
    assert {s.vx for s in states} == {5000}
    assert states[-1].x - states[0].x == 71 * 5000


@pytest.mark.small
def test_rounding_of_speed_and_gravity_moves_an_arc_by_no_more_than_its_bound() -> None:
    """|dv0| <= 1/2 and |dg| <= 1/2 give |dy_n| <= n/2 + n(n+1)/4."""
    v0, g = Fraction(50_001, 2), Fraction(1801, 2)
    states = jump(round(v0), round(g), 50)
    for n in range(1, 50):
        exact = n * (v0 + g) - g * tri(n)
        assert abs(height(states[n]) - exact) <= Fraction(n, 2) + Fraction(n * (n + 1), 4)
