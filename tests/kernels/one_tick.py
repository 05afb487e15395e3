"""A tile of 64 spx, a body of 40 x 60 and round speeds, so that a test of one tick can be followed by eye."""

from __future__ import annotations

from typing import Any

from reach.kernels.params import Motion, State, Terrain
from reach.kernels.step import step
from tests.builders import make_motion, make_state, make_terrain, press, standing

T = 64
W, H = 40, 60


def motion_of(**values: Any) -> Motion:
    defaults: dict[str, Any] = {
        "body_w": W,
        "body_h": H,
        "walk_accel": 2,
        "walk_cap": 10,
        "coast": 3,
        "reverse": 5,
        "jump_launch": 30,
        "jump_gravity_held": 2,
        "jump_gravity": 4,
        "terminal": 40,
        "air_accel": 1,
        "air_reverse": 2,
        "air_cap": 10,
    }
    return make_motion(**(defaults | values))


PLAIN = motion_of()
FLOOR = make_terrain(["........"] * 4 + ["########"], tile=T)
SKY = make_terrain(["........"] * 40, tile=T)
FLOOR_Y = 4 * T - H


def on_floor(**values: int) -> State:
    return standing(3, 3, PLAIN, FLOOR, **values)


def in_sky(**values: int) -> State:
    return make_state(3 * T, 20 * T, **values)


def mirrored(text: str) -> str:
    return text.translate(str.maketrans("lr", "rl"))


def tick(state: State, text: str, motion: Motion = PLAIN, terrain: Terrain = FLOOR) -> State:
    return State(*map(int, step(state, press(text), motion, terrain)))
