"""Which speeds walking and running lead to, against every input played by the scalar simulator."""

from __future__ import annotations

import numpy as np
import pytest

import reach.workshop.takeoff_speeds as takeoff_speeds
from reach.kernels.params import Motion, State
from reach.kernels.step import run_script
from reach.workshop.one_ledge import endless_ledge, middle_of, on_ledge
from reach.workshop.takeoff_speeds import reached_bands
from tests.builders import make_motion


def speeds_played(motion: Motion) -> set[int]:
    """Every speed on level ground, by playing each input from each new state."""
    terrain = endless_ledge()
    first = on_ledge(terrain, motion, middle_of(terrain))
    seen, waiting = {(0, 0)}, [(0, 0)]
    while waiting:
        speed, memory = waiting.pop()
        state = first._replace(vx=speed, run_memory=memory)
        for direction in (-1, 0, 1):
            for run in (0, 1):
                after = State(*run_script(state, np.array([[direction, 0, run, 0]]), motion, terrain)[-1].tolist())
                key = (abs(after.vx), after.run_memory)
                if key not in seen:
                    seen.add(key)
                    waiting.append(key)
    return {speed for speed, _ in seen}


@pytest.mark.parametrize("seed", range(12))
def test_a_band_is_reached_exactly_where_some_input_takes_off_in_it(seed: int) -> None:
    dice = np.random.default_rng(seed)
    accel, coast, reverse = (int(n) for n in dice.integers(2, 9, 3))
    values = {"walk_accel": accel, "walk_cap": int(dice.integers(10, 40)), "coast": coast, "reverse": reverse}
    if seed % 2:
        values |= {"run_accel": int(dice.integers(2, 9)), "run_cap": int(dice.integers(20, 60)), "run_memory": seed % 3}
    motion = make_motion(**values)
    played = speeds_played(motion)
    reached = reached_bands(motion, [(speed, speed) for speed in range(70)])
    assert reached == tuple(speed in played for speed in range(70))
    assert not all(reached)


def test_a_narrow_band_between_two_ticks_is_not_reached() -> None:
    motion = make_motion(walk_accel=600, walk_cap=6000, coast=600, reverse=600)
    assert reached_bands(motion, [(0, 599), (601, 1199), (1200, None)]) == (True, False, True)


def test_what_is_not_decided_in_time_is_left_open(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(takeoff_speeds, "MOST_STATES", 10)
    motion = make_motion(walk_accel=7, walk_cap=6000, coast=5, reverse=3)
    assert reached_bands(motion, [(0, 6), (6001, None)]) == (True, None)
