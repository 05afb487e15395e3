"""The superset of every input against an exhaustive search of single states, on random small levels."""

from __future__ import annotations

import numpy as np
import pytest

from reach.level import compile_terrain, level_from_dict
from reach.movement import movement_from_dict
from reach.reachability.explore import Explorer
from reach.reachability.footholds import standable_tiles
from reach.simulator import start_state
from tests.oracle_files import compile_case, search
from tests.random_levels import generate

PARTS = 4
LEVELS = 120


@pytest.mark.parametrize("part", range(PARTS))
def test_nothing_that_single_states_reach_is_missing_from_the_superset(part: int) -> None:
    standing = out_of_reach = too_many = 0
    for seed in range(part, LEVELS, PARTS):
        level_data, movement_data = generate(seed)
        found = search(compile_case(level_data, movement_data))
        level, movement = level_from_dict(level_data), movement_from_dict(movement_data)
        terrain = compile_terrain(level, movement)
        seen = Explorer(movement.motion, terrain).explore(start_state(level, movement))
        assert seen.complete
        reached = np.zeros_like(seen.carried)
        for column, row in found.tiles:
            reached[row, column] = True
        assert not (reached & ~seen.carried).any(), f"seed {seed}"
        touched = {level.places[i].id for i in np.flatnonzero(seen.touched)}
        assert found.places <= touched, f"seed {seed}"
        if found.ended:
            standable = standable_tiles(movement.motion, terrain)
            standing += int(standable.sum())
            out_of_reach += int((standable & ~reached).sum())
            too_many += int((seen.carried & standable & ~reached).sum())
    print(f"{standing} standable tiles, {out_of_reach} out of reach, {too_many} too many in the superset")
    assert out_of_reach >= 0.2 * standing
    assert too_many <= 0.01 * standing
