"""Footholds and standable tiles, against trying every spot of small maps one by one."""

import itertools

import numpy as np
import pytest

from reach.kernels.params import EMPTY, HAZARD, ONE_WAY, SOLID, SPRING, Motion, Terrain
from reach.reachability.footholds import find_footholds, standable_tiles

ONE = np.zeros(1, np.int64)


def motion_of(body_w, body_h):
    return Motion(
        body_w=body_w,
        body_h=body_h,
        walk_accel=1,
        walk_cap=1,
        has_run=0,
        run_accel=1,
        run_cap=1,
        run_memory=0,
        coast=1,
        reverse=1,
        jump_from=ONE,
        jump_launch=ONE + 1,
        jump_gravity_held=ONE + 1,
        jump_gravity=ONE + 1,
        cut_speed=-1,
        launch_tick_gravity=0,
        terminal=1,
        air_accel_from=ONE,
        air_accel=ONE + 1,
        air_reverse_from_speed=ONE,
        air_reverse_from_takeoff=ONE,
        air_reverse=ONE + 1,
        air_cap_from=ONE,
        air_cap=ONE + 1,
        drag=0,
        coyote_ticks=0,
        buffer_ticks=0,
        drop_through=0,
    )


def terrain_of(rows, tile, places=()):
    codes = {".": EMPTY, "#": SOLID, "=": ONE_WAY, "^": HAZARD, "*": SPRING}
    material = np.array([[codes[symbol] for symbol in row] for row in rows], dtype=np.uint8)
    table = np.array(places, dtype=np.int64).reshape(-1, 3)
    return Terrain(
        tile=tile,
        material=material,
        launch=(material == SPRING) * np.int64(9),
        place_column=table[:, 0].copy(),
        place_row=table[:, 1].copy(),
        place_ends=table[:, 2].copy(),
    )


def spot(x, row, motion, terrain):
    """(body free, carrying columns, overlaps a spring, overlaps an ending place) for the feet line on the row's top."""
    tile = terrain.tile
    rows, columns = terrain.material.shape
    y = row * tile - motion.body_h
    free, on, spring, ended = True, [], False, False
    for c, r in itertools.product(range(-2, columns + 2), range(-9, rows)):
        overlaps_column = x < (c + 1) * tile and x + motion.body_w > c * tile
        if not overlaps_column:
            continue
        inside = 0 <= c < columns
        material = terrain.material[r, c] if inside and r >= 0 else (EMPTY if inside else SOLID)
        if y < (r + 1) * tile and y + motion.body_h > r * tile:
            free = free and material not in (SOLID, SPRING, HAZARD)
            ended = ended or any(
                terrain.place_ends[i] and (terrain.place_column[i], terrain.place_row[i]) == (c, r)
                for i in range(len(terrain.place_ends))
            )
        if r == row and inside and material in (SOLID, ONE_WAY, SPRING):
            on.append(c)
            spring = spring or material == SPRING
    return free, on, spring, ended


@pytest.mark.small
@pytest.mark.parametrize("seed", range(12))
def test_every_spot_of_small_maps_is_told_right(seed):
    random = np.random.default_rng(seed)
    tile = int(random.integers(2, 6))
    motion = motion_of(int(random.integers(1, 3 * tile)), int(random.integers(1, 3 * tile)))
    rows = ["".join(random.choice(list("....##=^*"), 7)) for _ in range(5)]
    places = [(2, 1, 1), (4, 3, 0)] if seed % 2 else []
    terrain = terrain_of(rows, tile, places)
    standable = np.zeros((5, 7), dtype=bool)
    expected = []
    for row in range(5):
        previous = None
        for x in range(-2 * tile, 9 * tile):
            free, on, spring, ended = spot(x, row, motion, terrain)
            if free and on:
                standable[row, on] = True
            kind = spring if free and on and not ended else None
            if kind is None:
                previous = None
                continue
            if kind != previous:
                expected.append([row, x, x, kind, on[0], on[-1]])
            expected[-1][2] = x
            expected[-1][4] = min(expected[-1][4], on[0])
            expected[-1][5] = max(expected[-1][5], on[-1])
            previous = kind
    found = find_footholds(motion, terrain)
    assert [[f.row, f.left_spx, f.right_spx, f.is_spring, *f.columns] for f in found] == expected
    assert [f.index for f in found] == list(range(len(found)))
    assert np.array_equal(standable_tiles(motion, terrain), standable)


@pytest.mark.small
def test_flush_to_a_wall_and_one_spx_into_it():
    motion = motion_of(3, 4)
    terrain = terrain_of(["#...", "####"], 4)
    (floor,) = (f for f in find_footholds(motion, terrain) if f.row == 1)
    assert (floor.left_spx, floor.right_spx, floor.columns) == (4, 13, (1, 3))


@pytest.mark.small
def test_a_body_wider_than_the_map_stands_nowhere():
    motion = motion_of(9, 4)
    terrain = terrain_of(["..", "##"], 4)
    assert find_footholds(motion, terrain) == ()
    assert not standable_tiles(motion, terrain).any()


@pytest.mark.small
def test_a_shaft_exactly_as_wide_as_the_body_is_a_foothold_of_one_spot():
    motion = motion_of(4, 4)
    terrain = terrain_of(["#.#", "###"], 4)
    floor = [f for f in find_footholds(motion, terrain) if f.row == 1]
    assert [(f.left_spx, f.right_spx, f.columns) for f in floor] == [(4, 4, (1, 1))]


@pytest.mark.small
def test_a_gap_narrower_than_the_body_does_not_part_a_foothold():
    motion = motion_of(5, 4)
    terrain = terrain_of(["...", "#.#"], 4)
    assert [(f.left_spx, f.right_spx, f.columns) for f in find_footholds(motion, terrain)] == [(0, 7, (0, 2))]
