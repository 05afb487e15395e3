"""Where bodies can stand on changed maps, against footholds found on maps drawn anew."""

from __future__ import annotations

import random

import numpy as np
import pytest

from reach.kernels.course import compile_course
from reach.reachability.cures import stands
from reach.reachability.footholds import find_footholds
from tests.builders import PX, make_motion, make_terrain


def random_rows(dice: random.Random) -> list[str]:
    columns = dice.randint(3, 14)
    return ["".join(dice.choice("......##==^S!.") for _ in range(columns)) for _ in range(dice.randint(3, 8))]


@pytest.mark.parametrize("seed", range(3))
def test_stands_on_an_unchanged_map_are_its_footholds(seed: int):
    dice = random.Random(seed)
    for _ in range(80):
        terrain = make_terrain(random_rows(dice))
        motion = make_motion(body_w=dice.choice([5, 12, 16, 20]) * PX + dice.randint(0, 3))
        course = compile_course(terrain)
        footholds = find_footholds(motion, terrain)
        expected = sorted((f.row, f.left_spx, f.right_spx, f.is_spring) for f in footholds)
        found = [
            (row, left, right, spring)
            for row in range(terrain.material.shape[0])
            for spring in (False, True)
            for left, right in stands(motion, course, row * terrain.tile - motion.body_h, spring)
        ]
        assert sorted(found) == expected


@pytest.mark.parametrize("seed", range(3))
def test_stands_on_a_map_shifted_by_tiles_are_those_of_the_map_drawn_so(seed: int):
    """A shift by a whole tile can be drawn: an island moves one tile down or aside."""
    dice = random.Random(100 + seed)
    columns, rows = 12, 8

    def draw(column: int, row: int, length: int, kind: str) -> list[str]:
        lines = [["."] * columns for _ in range(rows)]
        lines[-1] = ["#"] * columns
        lines[row][column : column + length] = kind * length
        return ["".join(line) for line in lines]

    for _ in range(60):
        left, top, length = dice.randint(1, 6), dice.randint(2, 4), dice.randint(1, 4)
        right, down = dice.choice([(0, 1), (1, 0), (-1, 0), (0, 2)])
        kind = dice.choice("#=S")
        terrain = make_terrain(draw(left, top, length, kind))
        moved = np.zeros(terrain.material.shape, np.bool_)
        moved[top, left : left + length] = True
        course = compile_course(terrain, moved, right * terrain.tile, down * terrain.tile)
        drawn = make_terrain(draw(left + right, top + down, length, kind))
        motion = make_motion()
        expected = sorted((f.row, f.left_spx, f.right_spx, f.is_spring) for f in find_footholds(motion, drawn))
        found = [
            (row, first, last, spring)
            for row in range(rows)
            for spring in (False, True)
            for first, last in stands(motion, course, row * terrain.tile - motion.body_h, spring)
        ]
        assert sorted(found) == expected
