"""The closure check over as many random worlds as it takes: `python -m tests.soundness --successors 5000000`.

Two sample levels come first, a twentieth of the successors each. Half of the other worlds are levels of
`random_levels`, half have a random motion and a random map of a random tile size, from 16 subpixels, where every
rounding shows, to 16 px, where numbers are as fine as they get. Exits 1 and describes the first state whose successor
the stored sets lack.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from dataclasses import dataclass, field

import numpy as np

from reach.kernels.params import Motion, State, Terrain
from reach.level import compile_terrain, level_from_dict, load_level
from reach.movement import load_movement, movement_from_dict
from reach.simulator import start_state
from tests.builders import PX, random_motion, random_start, random_terrain
from tests.checkout import ROOT
from tests.closure_check import Checked, Happened, Stored, check_closure
from tests.random_levels import generate

TILES = (16, 24, 32, 4096, 16 * PX)
MOST_S = 30.0
"""Worlds that take longer to explore are passed over in the long run."""

SAMPLES = "quarry", "bell_tower"
"""In the second, hulls on the ground grow so often that they snap to a coarser grid."""

World = tuple[Motion, Terrain, State]


def sample_world(name: str) -> World:
    """A sample level with the movement that it is made for."""
    level = load_level(ROOT / "sample_levels" / "island" / f"{name}.json")
    movement = load_movement(ROOT / "sample_levels" / "movement" / "lamplighter.json")
    return movement.motion, compile_terrain(level, movement), start_state(level, movement, level.start.id)


def level_world(seed: int) -> World:
    """A level of `random_levels`."""
    level_json, movement_json = generate(seed)
    level, movement = level_from_dict(level_json), movement_from_dict(movement_json)
    return movement.motion, compile_terrain(level, movement), start_state(level, movement, level.start.id)


def made_world(seed: int) -> World | None:
    """A random motion on a random map, None where no start was found; every third one is up to three times as fast."""
    dice = np.random.default_rng(seed)
    tile = TILES[seed % len(TILES)]
    motion, terrain = random_motion(dice, tile), random_terrain(dice, tile)
    if seed % 3 == 0:
        motion = motion._replace(
            walk_cap=3 * motion.walk_cap,
            walk_accel=3 * motion.walk_accel,
            run_cap=3 * motion.run_cap,
            air_cap=3 * motion.air_cap,
        )
    if motion.body_w > tile * terrain.material.shape[1]:
        return None
    starts = [random_start(dice, motion, terrain) for _ in range(20)]
    start = next((s for s in starts if s is not None and not s.ended), None)
    return None if start is None else (motion, terrain, start)


@dataclass
class Tally:
    """What has been checked so far."""

    worlds: int = 0
    passed_over: int = 0
    polygon_ticks: int = 0
    successors: int = 0
    happened: Counter[Happened] = field(default_factory=Counter)

    def add(self, stored: Stored, checked: Checked) -> None:
        """Count one world."""
        self.worlds += 1
        self.polygon_ticks += stored.exploration.polygon_ticks
        self.successors += checked.successors
        self.happened.update(checked.happened)


class NotClosedError(AssertionError):
    """Some successor of a stored state is not stored."""


def check_world(world: World, tally: Tally, seed: int, limit: int, most_s: float | None = None) -> None:
    """Explore a world and check that what is stored is closed.

    Raises
    ------
    NotClosedError
        With the first state, input and successor.
    """
    options = {} if most_s is None else {"deadline": time.monotonic() + most_s}
    stored = Stored(*world, **options)
    if not stored.exploration.complete:
        tally.passed_over += 1
        return
    if not stored.begins_with(world[2]):
        raise NotClosedError(f"the start is not stored:\n{world[2]}")
    checked = check_closure(stored, np.random.default_rng(seed), points=8, limit=limit)
    if checked.escapes:
        state, buttons, after = checked.described[0]
        raise NotClosedError(
            f"{checked.escapes} of {checked.successors} successors escape:\n{state}\n{buttons}\n{after}"
        )
    tally.add(stored, checked)


def main(arguments: list[str] | None = None) -> int:
    """Check until so many successors have been looked up; returns the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.soundness", description=__doc__)
    parser.add_argument("--successors", type=int, default=5_000_000, help="how many to look up")
    parser.add_argument("--seed", type=int, default=0, help="of the first world")
    parser.add_argument("--a-world", type=int, default=40_000, help="how many to look up in a random world at most")
    parser.add_argument("--random-only", action="store_true", help="leave the sample levels out")
    given = parser.parse_args(arguments)
    tally = Tally()
    what = ""
    try:
        for name in () if given.random_only else SAMPLES:
            what = name
            check_world(sample_world(name), tally, given.seed, given.successors // 20)
        seed = given.seed
        while tally.successors < given.successors:
            for kind, world in (("level", level_world(seed)), ("world", made_world(seed))):
                what = f"{kind} of seed {seed}"
                if world is not None:
                    check_world(world, tally, seed, given.a_world, MOST_S)
            seed += 1
    except NotClosedError as error:
        print(f"{what}: {error}", file=sys.stderr)
        return 1
    print(f"{tally.worlds} worlds, {tally.polygon_ticks} polygon ticks, {tally.passed_over} passed over")
    print(f"{tally.successors} successors, all stored")
    for each in Happened:
        print(f"{tally.happened[each]:>9} {each.name.lower().replace('_', ' ')}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
