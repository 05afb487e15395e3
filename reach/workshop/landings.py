"""Landings at speed: how narrow a foothold may be on which the body still stops, or from which it still jumps again.

The body comes from one side and lands on the foothold's first subpixel that carries it. How far it goes from there is
played by the scalar simulator.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.workshop.one_ledge import endless_ledge, held, middle_of, play_until

if TYPE_CHECKING:
    from reach.kernels.params import Motion

_X, _VX, _GROUNDED = (State._fields.index(name) for name in ("x", "vx", "grounded"))


@dataclass(frozen=True)
class Landing:
    """The narrowest footholds for a landing at one speed, spx; None where it takes longer than `one_ledge.MOST_TICKS`.

    `braking_spx` is the distance from the landing to rest, by the quicker of coasting and reversing. `stop_spx` is the
    narrowest foothold on which the very first spot is landed on and the body stops; `stop_in_window_spx` the narrowest
    on which it stops from all the spots of so many consecutive ticks as the sheet's window has.

    `jump_spx` is the narrowest foothold from which a jump at once, with the direction held on, works for one tick of
    pressing; `jump_in_window_spx` from which it works for all the ticks of the window. Presses before the landing (jump
    buffer) and after the foothold's end (coyote time) are counted in.
    """

    name: str
    speed_spx_per_tick: int
    braking_spx: int | None
    stop_spx: int | None
    stop_in_window_spx: int | None
    jump_spx: int
    jump_in_window_spx: int


def measure_landings(motion: Motion, window_ticks: int) -> tuple[Landing, ...]:
    """Return the figures for each gait's top speed and for the greatest that the air leads to, each once."""
    speeds = {"walk's top speed": motion.walk_cap}
    if motion.has_run:
        speeds["run's top speed"] = motion.run_cap
    speeds["top speed in the air"] = _top_in_the_air(motion)
    return tuple(
        _landing(motion, name, speed, window_ticks)
        for name, speed in speeds.items()
        if next(other for other, same in speeds.items() if same == speed) == name
    )


def _top_in_the_air(motion: Motion) -> int:
    """The greatest top speed of jumps at the speed of the ground, or at what an earlier jump left of its own."""
    takeoff, fastest = max(motion.walk_cap, motion.run_cap), 0
    while True:
        caps = zip(motion.air_cap.tolist(), motion.air_cap_from.tolist(), strict=True)
        steered = max(cap for cap, begin in caps if begin <= takeoff)
        if steered <= fastest:
            return fastest
        # the tick of the next takeoff coasts what is faster than the ground allows
        takeoff, fastest = max(takeoff, steered - motion.coast), steered


def _landing(motion: Motion, name: str, speed: int, window_ticks: int) -> Landing:
    distances = [d for direction in (0, -1) if (d := _braking(motion, speed, direction)) is not None]
    braking = min(distances, default=None)
    stop = None if braking is None else narrowest(motion, braking)
    slack = (window_ticks - 1) * speed
    onward = _onward(motion, speed, window_ticks)
    free = motion.buffer_ticks + motion.coyote_ticks
    return Landing(
        name,
        speed,
        braking,
        stop,
        None if braking is None else narrowest(motion, braking + slack),
        narrowest(motion, onward[0]),
        narrowest(motion, onward[max(0, window_ticks - free - 1)]),
    )


def narrowest(motion: Motion, distance_spx: int) -> int:
    """Return the length of a foothold whose first and last spots that carry the body lie so far apart."""
    return max(1, distance_spx - motion.body_w + 2)


def landing_at(motion: Motion, x_spx: int, top_spx: int, speed_spx_per_tick: int) -> State:
    """Return a falling body that lands at x, on a top, with that speed, in the next tick if no direction is pressed."""
    vx = speed_spx_per_tick + motion.drag
    return State(x_spx - speed_spx_per_tick, top_spx - motion.body_h, vx, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)


def _braking(motion: Motion, speed: int, direction: int) -> int | None:
    """How far the body goes from the landing until it stands, with one direction pressed."""
    terrain = endless_ledge()
    landed = middle_of(terrain)
    state = landing_at(motion, landed, terrain.tile, speed)
    states = play_until(
        state,
        held(1),
        held(1, direction),
        lambda s: (s[:, _GROUNDED] != 0) & (s[:, _VX] <= 0),
        motion,
        terrain,
    )
    return None if states is None else int(states[-1, _X]) - landed


def _onward(motion: Motion, speed: int, ticks: int) -> list[int]:
    """How far the body has gone after each tick from the landing on, going on in its gait; the landing's is 0."""
    terrain = endless_ledge()
    landed = middle_of(terrain)
    state = landing_at(motion, landed, terrain.tile, speed)
    run = int(speed > motion.walk_cap)
    inputs = np.concatenate([held(1, run=run), held(max(ticks, 1), 1, run=run)])
    return (run_script(state, inputs, motion, terrain)[1:, _X] - landed).tolist()
