"""What one would otherwise write: visiting every single state, compiled, beside the exploration of sets.

The same level and the same movement three times, in finer and finer units. The finer the units, the more single
states there are; sets do not grow by it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from reach.kernels import book as b
from reach.kernels import single_states as k
from reach.kernels.params import Motion, State, Terrain
from reach.kernels.search import begin
from reach.reachability import single_states
from reach.reachability.explore import Explorer
from reach.reachability.footholds import standable_tiles
from reach.reachability.search_room import make_book
from tests.bench.measuring import timed
from tests.builders import make_motion, make_terrain, standing

UNITS_PER_TILE = (56, 72, 96)

ROWS = (
    "............",
    "............",
    "..........##",
    "............",
    "......##....",
    "A...........",
    "###..###..##",
)

TILES_PER_TICK = {
    "body_w": 0.69,
    "body_h": 0.91,
    "walk_accel": 0.0171,
    "walk_cap": 0.113,
    "coast": 0.0213,
    "reverse": 0.0373,
    "jump_launch": 0.437,
    "jump_gravity_held": 0.0371,
    "jump_gravity": 0.0773,
    "terminal": 0.413,
    "air_accel": 0.0147,
    "air_reverse": 0.0219,
    "air_cap": 0.113,
}
"""Lengths in tiles, speeds and rates in tiles per tick (per tick)."""


@dataclass(frozen=True)
class World:
    """The level and the movement in whole units."""

    motion: Motion
    terrain: Terrain
    start: State


def make_world(units_per_tile: int) -> World:
    """The level in these units, with every number of the movement rounded to one of them."""
    motion = make_motion(**{name: round(value * units_per_tile) for name, value in TILES_PER_TICK.items()})
    rows = [line.replace("A", ".") for line in ROWS]
    terrain = make_terrain(rows, tile=units_per_tile)
    row = next(index for index, line in enumerate(ROWS) if "A" in line)
    return World(motion, terrain, standing(ROWS[row].index("A"), row, motion, terrain))


def explored_tiles(world: World) -> np.ndarray:
    """The tiles that carry the body in the superset, bool [rows, columns]."""
    exploration = Explorer(world.motion, world.terrain).explore(world.start)
    return exploration.carried & standable_tiles(world.motion, world.terrain)


def visited_tiles(world: World, most: int) -> tuple[np.ndarray, int] | None:
    """The tiles that carry the body in some state, and the number of states; None if there are more than `most`."""
    explorer = Explorer(world.motion, world.terrain)
    wanted = standable_tiles(world.motion, world.terrain)
    book = make_book(world.motion, world.terrain, explorer.footholds, wanted, np.zeros(0, bool))
    begin(world.start, book, world.motion, world.terrain)
    singles = single_states._room(most, world.motion)
    k.add_roots(np.zeros(1, np.int64), singles, book)
    while not k.visit_states(single_states.STATES_IN_TURN, singles, book, world.motion, world.terrain):
        if singles.counts[k.OVERFLOW]:
            return None
    tiles = np.zeros(wanted.shape, bool)
    tiles[wanted] = book.reach[: int(wanted.sum()), b.REACH_NODE] >= 0
    return tiles, int(singles.counts[k.FOUND])


MOST_STATES = 12_000_000
"""Room for the finest of them, about 3 GiB."""


def lines(finenesses: int, runs: int) -> Iterator[str]:
    """What the search and the exploration take for the first finenesses, line by line."""
    yield f"{'units a tile':>12} {'single states':>13} {'search s':>24} {'exploration s':>24} {'ratio':>7}  tiles"
    explored_tiles(make_world(UNITS_PER_TILE[0]))
    visited_tiles(make_world(UNITS_PER_TILE[0]), 1000)
    for units in UNITS_PER_TILE[:finenesses]:
        world = make_world(units)
        searched, found = timed(lambda world=world: visited_tiles(world, MOST_STATES), runs)
        explored, superset = timed(lambda world=world: explored_tiles(world), max(runs, 51))
        if found is None:
            yield f"{units:>12} more than {MOST_STATES} single states: the search has no room"
            continue
        tiles, states = found
        if (tiles & ~superset).any():
            raise AssertionError(f"{units} units a tile: the search reaches a tile that the superset lacks")
        alike = "the same" if (tiles == superset).all() else "more in the superset"
        ratio = searched.median / explored.median
        yield f"{units:>12} {states:>13} {searched!s:>24} {explored!s:>24} {ratio:>7.0f}  {alike}"
