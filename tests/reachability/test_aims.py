"""The aims of nearest misses against asking `contact` at every subpixel of small maps."""

from __future__ import annotations

import numpy as np
import pytest

from reach.kernels.contact import (
    is_carried,
    overlaps_blocking,
    overlaps_material,
    spring_launch,
    touches_end,
    touches_place,
)
from reach.kernels.params import HAZARD, Motion, Terrain
from reach.reachability.aims import find_aims
from reach.reachability.footholds import find_footholds
from tests.builders import make_motion, make_terrain, random_terrain

pytestmark = pytest.mark.small

Position = tuple[int, int]


def told(motion: Motion, terrain: Terrain) -> list[list[Position]]:
    """The positions of each place's rectangles."""
    found: list[list[Position]] = [[] for _ in terrain.place_row]
    for place, left, right, top, bottom in find_aims(motion, terrain, find_footholds(motion, terrain)).tolist():
        found[place] += [(x, y) for x in range(left, right + 1) for y in range(top, bottom + 1)]
    return found


def asked(motion: Motion, terrain: Terrain, place: int) -> set[Position]:
    """Where a body touches the place, free of walls and hazards, and where it stands and walks up to such a spot."""
    rows, columns = terrain.material.shape
    touching = [
        (x, y)
        for x in range(-motion.body_w, columns * terrain.tile + 1)
        for y in range(-motion.body_h, rows * terrain.tile + 1)
        if touches_place(x, y, place, motion, terrain)
    ]
    free = {at for at in touching if is_free(*at, motion, terrain)} or set(touching)
    return free | {(x, y) for start in free for step in (-1, 1) for x, y in walk(*start, step, motion, terrain)}


def walk(x: int, y: int, step: int, motion: Motion, terrain: Terrain) -> list[Position]:
    """The spots to one side of a position on which a body stands, up to where it does not."""
    found = []
    while stands(x := x + step, y, motion, terrain):
        found.append((x, y))
    return found


def is_free(x: int, y: int, motion: Motion, terrain: Terrain) -> bool:
    return not overlaps_blocking(x, y, motion, terrain) and not overlaps_material(x, y, HAZARD, motion, terrain)


def stands(x: int, y: int, motion: Motion, terrain: Terrain) -> bool:
    at_rest = is_free(x, y, motion, terrain) and is_carried(x, y, motion, terrain)
    return at_rest and spring_launch(x, y, motion, terrain) < 0 and not touches_end(x, y, motion, terrain)


@pytest.mark.parametrize("seed", range(12))
def test_the_rectangles_hold_just_what_touches_the_place_and_what_walks_up_to_it(seed: int) -> None:
    rng = np.random.default_rng(seed)
    tile = int(rng.integers(2, 6))
    terrain = random_terrain(rng, tile)
    motion = make_motion(body_w=int(rng.integers(1, 2 * tile + 2)), body_h=int(rng.integers(1, 2 * tile + 2)))
    for place, found in enumerate(told(motion, terrain)):
        assert set(found) == asked(motion, terrain, place)


def test_a_place_that_the_body_does_not_fit_beside_is_aimed_at_through_the_walls() -> None:
    motion = make_motion(body_w=3, body_h=5)
    terrain = make_terrain(["....", "....", "####", "#.##", "####"], tile=4, places=[(1, 3, 0)])
    (aim,) = find_aims(motion, terrain, find_footholds(motion, terrain)).tolist()
    assert aim == [0, 4 - 3 + 1, 8 - 1, 12 - 5 + 1, 16 - 1]


def test_a_ledge_is_aimed_at_as_a_whole_where_an_ending_place_cuts_it() -> None:
    """Two wide on a ledge from 8 to 20, one stands from 7 to 10 before the goal in column 3, from 16 to 18 behind."""
    motion = make_motion(body_w=2, body_h=3)
    terrain = make_terrain([".....", "...!.", "..###", "....."], tile=4)
    aims = find_aims(motion, terrain, find_footholds(motion, terrain)).tolist()
    assert [0, 7, 10, 8 - 3, 8 - 3] in aims and [0, 16, 18, 8 - 3, 8 - 3] in aims
    assert [0, 11, 15, 4 - 3 + 1, 8 - 3] in aims
