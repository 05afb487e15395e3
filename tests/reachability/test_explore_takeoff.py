"""Explorations from one takeoff: they hold everything that any input leads to from it, and no other takeoff."""

from __future__ import annotations

import numpy as np
import pytest

from reach.kernels.params import State
from reach.kernels.step import run_script, takeoff_vy
from reach.reachability.explore import Explorer
from tests.builders import PX, make_motion, make_state, make_terrain, random_inputs, random_motion, random_terrain

TILE = 16 * PX
MOTION = make_motion(
    jump_from=[0, 50000], jump_launch=[200000, 300000], jump_gravity_held=[9000, 9000], jump_gravity=[9000, 9000]
)


def apex_spx(launch):
    """The closed form of a held jump (motion model, section 6), whatever is released."""
    return max(n * launch - 9000 * n * (n - 1) // 2 for n in range(80))


@pytest.mark.parametrize(("speed", "launch"), [(0, 200000), (49999, 200000), (50000, 300000), (-50000, 300000)])
def test_a_takeoff_has_the_band_of_its_own_speed(speed, launch):
    rows = 20
    terrain = make_terrain(["." * 60] * rows + ["#" * 60])
    takeoff = make_state(30 * TILE, rows * TILE - MOTION.body_h, vx=speed)
    explored = Explorer(MOTION, terrain).explore(takeoff=takeoff)
    assert explored.complete
    # The coverage map has eighths of a tile: the topmost that the body's top can come to, and none above.
    top = (takeoff.y - apex_spx(launch)) * 8 // TILE
    covered = np.flatnonzero(explored.coverage.any(axis=1))
    # The body lands and may jump again at any speed; that of the faster band is the highest.
    again = (takeoff.y - apex_spx(300000)) * 8 // TILE
    assert covered.min() == min(top, again)
    flown = Explorer(MOTION, make_terrain(["." * 60] * rows)).explore(takeoff=takeoff)
    assert np.flatnonzero(flown.coverage.any(axis=1)).min() == top


@pytest.mark.parametrize("seed", range(40))
def test_everything_that_follows_a_takeoff_is_in_it(seed):
    dice = np.random.default_rng(seed)
    motion, terrain = random_motion(dice, TILE), random_terrain(dice, TILE)
    rows, columns = terrain.material.shape
    if motion.body_w > columns * TILE:
        return
    speed = int(dice.integers(-motion.walk_cap, motion.walk_cap + 1))
    empty = make_terrain(["." * columns] * rows)
    x = int(dice.integers(0, columns * TILE - motion.body_w + 1))
    takeoff = make_state(x, int(dice.integers(0, rows * TILE)), vx=speed)
    explored = Explorer(motion, empty).explore(takeoff=takeoff)
    assert explored.complete
    after = takeoff._replace(takeoff=abs(speed), held=1, vy=takeoff_vy(abs(speed), 1, motion), jump_was_down=1)
    after = State(*map(int, after._replace(y=takeoff.y + after.vy)))
    for _ in range(10):
        script = random_inputs(dice, 40)
        for state in run_script(after, script, motion, empty).tolist():
            x, y = state[0], state[1]
            if y >= rows * TILE:
                break
            if y >= 0 and y + motion.body_h <= rows * TILE:
                eighth = TILE // 8
                cells = explored.coverage[
                    y // eighth : (y + motion.body_h - 1) // eighth + 1,
                    x // eighth : (x + motion.body_w - 1) // eighth + 1,
                ]
                assert cells.all()


def test_a_takeoff_does_not_go_with_another_beginning():
    explorer = Explorer(MOTION, make_terrain(["....", "####"]))
    with pytest.raises(ValueError, match="or a takeoff"):
        explorer.explore(make_state(0, 0), takeoff=make_state(0, 0))
