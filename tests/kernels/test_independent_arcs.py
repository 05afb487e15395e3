"""Arcs against two general-purpose libraries: an integrator of differential equations and a rigid-body engine."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pymunk
import pytest
from scipy.integrate import solve_ivp

from reach.kernels.params import State
from reach.kernels.step import run_script
from tests.builders import make_motion, make_state, make_terrain

PX = 1 << 40
"""A pixel in these tests, in spx: so fine that rounding does not show beside the error of the tick."""

GROUNDED = State._fields.index("grounded")


def per_tick(px_per_s: float, rate: int) -> int:
    return round(px_per_s * PX / rate)


def per_tick2(px_per_s2: float, rate: int) -> int:
    return round(px_per_s2 * PX / rate**2)


# A jump from vx 50 px/s, steering right: air acceleration 150 px/s^2 up to 110 px/s, launch 260 px/s, gravity
# 500 px/s^2 until the release after 0.3 s, then 1300 px/s^2 up to a terminal speed of 240 px/s; a floor 64 px below.
VX, AIR, CAP, LAUNCH, HELD, RELEASED, TERMINAL, RELEASE_S, DROP = 50, 150, 110, 260, 500, 1300, 240, 0.3, 64


def continuous_jump() -> tuple[float, float, float]:
    """(landing time s, landing x px, apex px) of the same jump as a differential equation, heights upward."""

    def rates(t: float, s: np.ndarray) -> list[float]:
        _, _, vx, vy = s
        gravity = HELD if t < RELEASE_S else RELEASED
        return [vx, vy, AIR if vx < CAP else 0.0, -gravity if vy > -TERMINAL else 0.0]

    def lands(t: float, s: np.ndarray) -> float:
        return s[1] + DROP

    def turns(t: float, s: np.ndarray) -> float:
        return s[3]

    lands.terminal, lands.direction, turns.direction = True, -1, -1  # type: ignore[attr-defined]
    solution = solve_ivp(rates, (0, 3), [0, 0, VX, LAUNCH], events=[lands, turns], max_step=1e-3, rtol=1e-9, atol=1e-9)
    return float(solution.t_events[0][0]), float(solution.y_events[0][0][0]), float(solution.y_events[1][0][1])


def simulated_jump(rate: int) -> tuple[float, float, float]:
    tile = DROP * PX
    motion = make_motion(
        body_w=1,
        body_h=1,
        walk_cap=per_tick(VX, rate),
        air_accel=per_tick2(AIR, rate),
        air_cap=per_tick(CAP, rate),
        jump_launch=per_tick(LAUNCH, rate),
        jump_gravity_held=per_tick2(HELD, rate),
        jump_gravity=per_tick2(RELEASED, rate),
        terminal=per_tick(TERMINAL, rate),
    )
    terrain = make_terrain(["#...", "####"], tile=tile)
    inputs = np.zeros((2 * rate, 4), np.int64)
    inputs[:, 0] = 1
    inputs[: round(RELEASE_S * rate), 3] = 1
    states = run_script(make_state(tile - 1, -1, vx=per_tick(VX, rate), grounded=1), inputs, motion, terrain)
    landing = int(np.flatnonzero(states[1:, GROUNDED])[0]) + 1
    assert states[landing, 1] == tile - 1
    return landing / rate, (states[landing, 0] - states[0, 0]) / PX, -(states[:, 1].min() + 1) / PX


def test_a_steered_released_clamped_jump_comes_to_the_integrated_one() -> None:
    exact = continuous_jump()
    errors = {}
    for rate in (100, 400, 1600, 6400):
        errors[rate] = [abs(a - b) for a, b in zip(simulated_jump(rate), exact, strict=True)]
        # One tick of landing, one of the steps of either gravity, and what half a tick of launch speed adds.
        assert errors[rate][0] <= 3 / rate
        assert errors[rate][1] <= 3 * CAP / rate
        assert errors[rate][2] <= LAUNCH / rate
    for coarse, fine in pairwise([100, 400, 1600, 6400]):
        assert errors[coarse][2] / errors[fine][2] == pytest.approx(4, rel=0.1)


def test_a_run_up_to_the_cap_and_a_stop_come_to_the_integrated_ones() -> None:
    acceleration, cap, deceleration, hold = 160.0, 80.0, 260.0, 1.0

    def rates(t: float, s: np.ndarray) -> list[float]:
        if t < hold:
            return [s[1], acceleration if s[1] < cap else 0.0]
        return [s[1], -deceleration if s[1] > 0 else 0.0]

    exact = solve_ivp(rates, (0, 1.5), [0, 0], max_step=1e-3, rtol=1e-9, atol=1e-9).y[0, -1]
    errors = []
    for rate in (100, 200, 400, 800):
        motion = make_motion(
            body_w=1,
            body_h=1,
            walk_accel=per_tick2(acceleration, rate),
            walk_cap=per_tick(cap, rate),
            coast=per_tick2(deceleration, rate),
        )
        inputs = np.zeros((round(1.5 * rate), 4), np.int64)
        inputs[: round(hold * rate), 0] = 1
        terrain = make_terrain(["..", "##"], tile=1000 * PX)
        states = run_script(make_state(0, 1000 * PX - 1, grounded=1), inputs, motion, terrain)
        errors.append(abs(states[-1, 0] / PX - exact))
        assert errors[-1] <= cap / rate
    assert all(fine <= coarse * 0.6 + 0.02 for coarse, fine in pairwise(errors))


# --- a rigid-body engine: arc and first contact only, as it resolves penetration softly ---

SPEED, RISE, GRAVITY, LEDGE = 200.0, 400.0, 800.0, 60.0
WIDTH, HEIGHT = 16.0, 24.0


def engine_contact(rate: int) -> tuple[int, float, list[float]]:
    """(first step in contact, x then, feet heights up to then). It moves, then applies gravity: one tick is added."""
    space = pymunk.Space()
    space.gravity = (0, -GRAVITY)
    space.damping = 1
    body = pymunk.Body(mass=1, moment=float("inf"))
    body.position = (0, HEIGHT / 2)
    body.velocity = (SPEED, RISE - GRAVITY / rate)
    box = pymunk.Poly.create_box(body, (WIDTH, HEIGHT))
    ledge = pymunk.Poly(space.static_body, [(120, LEDGE), (600, LEDGE), (600, LEDGE - 40), (120, LEDGE - 40)])
    for shape in (box, ledge):
        shape.friction = shape.elasticity = 0
    space.add(body, box, ledge)
    touched = []
    space.on_collision(0, 0, begin=lambda arbiter, space, data: touched.append(True))
    feet = [0.0]
    while not touched:
        space.step(1 / rate)
        feet.append(body.position.y - HEIGHT / 2)
    return len(feet) - 1, body.position.x, feet


@pytest.mark.parametrize(
    ("rate", "tick", "x", "apex"),
    [(60, 48, 160.0, 96.6667), (120, 97, 161.6667, 98.3333), (240, 195, 162.5, 99.1667), (1000, 815, 163.0, 99.8)],
)
def test_a_jump_onto_a_ledge_touches_down_in_the_step_of_a_rigid_body_engine(
    rate: int, tick: int, x: float, apex: float
) -> None:
    tile = int(LEDGE) * PX
    motion = make_motion(
        body_w=int(WIDTH) * PX,
        body_h=int(HEIGHT) * PX,
        walk_cap=per_tick(SPEED, rate),
        air_cap=per_tick(SPEED, rate),
        jump_launch=per_tick(RISE, rate),
        jump_gravity_held=per_tick2(GRAVITY, rate),
        jump_gravity=per_tick2(GRAVITY, rate),
        launch_tick_gravity=1,
        terminal=1 << 60,
    )
    terrain = make_terrain(["...######", "#........"], tile=tile)
    start = make_state(tile - int(WIDTH) * PX // 2, tile - int(HEIGHT) * PX, vx=per_tick(SPEED, rate), grounded=1)
    inputs = np.tile(np.array([1, 0, 0, 1], np.int64), (rate, 1))
    states = run_script(start, inputs, motion, terrain)
    landing = int(np.flatnonzero(states[1:, GROUNDED])[0]) + 1
    heights = (start.y - states[:, 1]) / PX
    moved = (states[:, 0] - start.x) / PX

    steps, engine_x, feet = engine_contact(rate)
    assert landing == steps == tick
    assert moved[landing] == pytest.approx(engine_x, abs=1e-6)
    assert moved[landing] == pytest.approx(x, abs=1e-3)
    assert heights[landing] == LEDGE
    # In the last step the engine's feet are inside the ledge; until then the two arcs are one.
    assert heights[:landing] == pytest.approx(feet[:landing], abs=1e-6)
    assert feet[landing] < LEDGE
    assert heights.max() == pytest.approx(apex, abs=1e-3)
