"""The integer inputs of every kernel: what a movement profile and a level compile to.

Units: spx = subpixel, 65536 to a pixel; speeds spx per tick; accelerations spx per tick per tick.
"""

from typing import NamedTuple

import numpy as np

EMPTY = 0
SOLID = 1
ONE_WAY = 2
HAZARD = 3
SPRING = 4


class Motion(NamedTuple):
    """A compiled movement profile. Arrays are int64 and ascend by threshold; the first threshold is 0.

    `run_accel` and `run_cap` equal the walk's where `has_run` is 0; `cut_speed` is -1 where releasing the jump cuts
    nothing. The two-key list of air reverse decelerations keeps both thresholds of entry i at index i.
    """

    body_w: int
    body_h: int
    walk_accel: int
    walk_cap: int
    has_run: int
    run_accel: int
    run_cap: int
    run_memory: int
    coast: int
    reverse: int
    jump_from: np.ndarray
    jump_launch: np.ndarray
    jump_gravity_held: np.ndarray
    jump_gravity: np.ndarray
    cut_speed: int
    launch_tick_gravity: int
    terminal: int
    air_accel_from: np.ndarray
    air_accel: np.ndarray
    air_reverse_from_speed: np.ndarray
    air_reverse_from_takeoff: np.ndarray
    air_reverse: np.ndarray
    air_cap_from: np.ndarray
    air_cap: np.ndarray
    drag: int
    coyote_ticks: int
    buffer_ticks: int
    drop_through: int


class Terrain(NamedTuple):
    """A compiled level. `material` is uint8 [rows, columns], `launch` int64 [rows, columns] (spx per tick, 0 but on
    springs).

    `place_*` are int64 arrays, one entry a place in the level's order; `place_ends` is 1 where touching it ends the
    level.
    """

    tile: int
    material: np.ndarray
    launch: np.ndarray
    place_column: np.ndarray
    place_row: np.ndarray
    place_ends: np.ndarray


class State(NamedTuple):
    """One state of the body (motion model, section 4); flags are 0 or 1."""

    x: int
    y: int
    vx: int
    vy: int
    grounded: int
    takeoff: int
    held: int
    run_memory: int
    coyote: int
    buffer: int
    jump_was_down: int
    lost: int
    ended: int


class Buttons(NamedTuple):
    """The input of one tick; `direction` is -1, 0 or +1, the rest 0 or 1."""

    direction: int
    down: int
    run: int
    jump: int
