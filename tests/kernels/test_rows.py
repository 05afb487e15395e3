"""The interval tables of rows and spans against asking `contact` at every subpixel of small maps."""

from __future__ import annotations

import numpy as np
import pytest
from numba import njit

from reach.kernels import heap, rows
from reach.kernels.contact import (
    first_cell,
    last_cell,
    overlaps_blocking,
    overlaps_material,
    row_blocks,
    row_carries,
    spring_launch,
    touches_end,
)
from reach.kernels.params import HAZARD, Motion, Terrain
from reach.kernels.world import make_world
from reach.reachability.footholds import find_footholds
from tests.builders import make_motion, make_terrain, random_terrain

pytestmark = pytest.mark.small

CARRIED, UNDER_CEILING, LAUNCH = range(3)
FREE, DEADLY, ENDING = range(3)


@njit
def ask_rows(motion, terrain, width):
    """What `contact` says of every row and x: int64 [3, rows, width] (carried, under a ceiling, launch or 0)."""
    count = terrain.material.shape[0]
    told = np.zeros((3, count, width), np.int64)
    for row in range(count):
        y = row * terrain.tile - motion.body_h
        for x in range(width):
            first = first_cell(x, terrain.tile)
            last = last_cell(x, motion.body_w, terrain.tile)
            told[CARRIED, row, x] = row_carries(row, first, last, terrain)
            told[UNDER_CEILING, row, x] = row_blocks(row, first, last, terrain)
            told[LAUNCH, row, x] = max(0, spring_launch(x, y, motion, terrain))
    return told


@njit
def ask_heights(motion, terrain, ys, width):
    """What `contact` says at every height and x: int64 [3, heights, width] (free, deadly, ending)."""
    told = np.zeros((3, ys.shape[0], width), np.int64)
    for i in range(ys.shape[0]):
        for x in range(width):
            told[FREE, i, x] = not overlaps_blocking(x, ys[i], motion, terrain)
            told[DEADLY, i, x] = overlaps_material(x, ys[i], HAZARD, motion, terrain)
            told[ENDING, i, x] = touches_end(x, ys[i], motion, terrain)
    return told


def world_of(motion: Motion, terrain: Terrain) -> np.ndarray:
    table = [(f.row, f.left_spx, f.right_spx, int(f.is_spring)) for f in find_footholds(motion, terrain)]
    return make_world(motion, terrain, np.array(table, np.int64).reshape(-1, 4), np.zeros((0, 5), np.int64))


def intervals(w: np.ndarray, name: int, i: int) -> list[list[int]]:
    at = heap.region(w, name)
    return heap.region(w, heap.INTERVALS, heap.INTERVAL_WIDTH)[at[i] : at[i + 1]].tolist()


def marked(found: list[list[int]], width: int) -> np.ndarray:
    """The intervals as one number a spot (1, or their launch), after their order has been looked at."""
    spots = np.zeros(width, np.int64)
    end = -2
    for low, high, more in found:
        assert 0 <= low <= high < width
        assert low > end
        # with nothing between them they would be one, unless they launch differently
        assert low > end + 1 or spots[end] != more > 0
        spots[low : high + 1] = more or 1
        end = high
    return spots


def check_world(motion: Motion, terrain: Terrain) -> None:
    w = world_of(motion, terrain)
    count, columns = terrain.material.shape
    width = columns * terrain.tile - motion.body_w + 1
    told = ask_rows(motion, terrain, width)
    for row in range(count):
        assert (marked(intervals(w, heap.CARRY, row), width) == told[CARRIED, row]).all()
        assert (marked(intervals(w, heap.CEILING, row), width) == told[UNDER_CEILING, row]).all()
        assert (marked(intervals(w, heap.SPRING, row), width) == told[LAUNCH, row]).all()
    # from far above the map to the last height before the void
    ys = np.arange(-motion.body_h - 3 * terrain.tile, count * terrain.tile)
    told = ask_heights(motion, terrain, ys, width)
    for i, y in enumerate(ys.tolist()):
        span = int(rows.span_of(w, y))
        first, end = (int(r) for r in rows.span_rows(w, span))
        overlapped = {
            r for r in range(y // terrain.tile, (y + motion.body_h - 1) // terrain.tile + 1) if 0 <= r < count
        }
        assert set(range(first, end)) == overlapped
        for name, kind in ((heap.FREE, FREE), (heap.DEADLY, DEADLY), (heap.ENDING, ENDING)):
            assert (marked(intervals(w, name, span), width) == told[kind, i]).all(), (y, span)


def test_bodies_wider_than_a_tile_and_narrower() -> None:
    terrain = make_terrain(["..!..#", ".^..=.", "#=S.S#", "#.#^S.", ".....S"], tile=8, launch={
        (2, 2): 5, (4, 2): 9, (4, 3): 9, (5, 4): 1,
    })  # fmt: skip
    for body_w in (1, 2, 7, 8, 9, 15, 16, 17, 24, 25, 47, 48):
        for body_h in (1, 8, 9, 20):
            check_world(make_motion(body_w=body_w, body_h=body_h), terrain)


@pytest.mark.parametrize("seed", range(12))
def test_random_maps(seed: int) -> None:
    dice = np.random.default_rng(seed)
    tile = int(dice.choice([8, 9, 13]))
    terrain = random_terrain(dice, tile)
    most = terrain.material.shape[1] * tile
    motion = make_motion(body_w=int(dice.integers(1, min(most, 4 * tile) + 1)), body_h=int(dice.integers(1, 4 * tile)))
    check_world(motion, terrain)


def test_contact_is_open() -> None:
    """A run of columns [a, b] is overlapped exactly from a*T - W + 1 to (b + 1)*T - 1."""
    w = world_of(make_motion(body_w=5, body_h=8), make_terrain(["........", "..##....", "...==..."], tile=8))
    assert intervals(w, heap.CEILING, 1) == [[2 * 8 - 5 + 1, 4 * 8 - 1, 0]]
    assert intervals(w, heap.CARRY, 2) == [[3 * 8 - 5 + 1, 5 * 8 - 1, 0]]
    span = rows.span_of(w, 8)
    assert intervals(w, heap.FREE, span) == [[0, 2 * 8 - 5, 0], [4 * 8, 8 * 8 - 5, 0]]


def test_neighbouring_springs_launch_by_the_greatest_overlapped() -> None:
    terrain = make_terrain(["....", "SS.S"], tile=8, launch={(0, 1): 4, (1, 1): 6, (3, 1): 6})
    w = world_of(make_motion(body_w=6, body_h=8), terrain)
    # from x = 3 on the body reaches into column 1, from x = 19 on into column 3
    assert intervals(w, heap.SPRING, 1) == [[0, 2, 4], [3, 15, 6], [19, 26, 6]]


def test_looking_intervals_up() -> None:
    terrain = make_terrain(["........", ".#..##.."], tile=8)
    w = world_of(make_motion(body_w=4, body_h=8), terrain)
    solid = [(8 - 3, 15), (32 - 3, 47)]
    width = 8 * 8 - 4 + 1
    for x in range(width):
        found = rows.first_not_before(w, heap.CEILING, 1, x)
        ahead = [pair for pair in solid if pair[1] >= x]
        if ahead:
            assert (w[found + heap.LOW], w[found + heap.HIGH]) == ahead[0]
        else:
            assert found == rows.end_of(w, heap.CEILING, 1)
        for length in (0, 3, 20):
            expected = any(low <= x + length and x <= high for low, high in solid)
            assert bool(rows.meets(w, heap.CEILING, 1, x, x + length)) == expected
    span = rows.span_of(w, 8)
    assert rows.corridor(w, span, 0) == (0, 4)
    assert rows.corridor(w, span, 4) == (0, 4)
    assert rows.corridor(w, span, 20) == (16, 28)
    assert rows.corridor(w, span, width - 1) == (48, width - 1)
