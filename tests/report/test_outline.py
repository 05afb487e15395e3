from itertools import pairwise

import numpy as np
import pytest

from reach.report.outline import outlines


def sides(path):
    """The sides of tiles along a path, each as its two corners."""
    found = []
    for (x1, y1), (x2, y2) in pairwise(path):
        steps = max(abs(x2 - x1), abs(y2 - y1))
        along = ((x2 - x1) // steps, (y2 - y1) // steps)
        corners = [(x1 + i * along[0], y1 + i * along[1]) for i in range(steps + 1)]
        found += pairwise(corners)
    return found


def right_and_left(side):
    """The tiles on the right and on the left hand of a side."""
    (x1, y1), (x2, y2) = side
    if y1 == y2:
        upper, lower = (min(x1, x2), y1 - 1), (min(x1, x2), y1)
        return (lower, upper) if x2 > x1 else (upper, lower)
    before, behind = (x1 - 1, min(y1, y2)), (x1, min(y1, y2))
    return (before, behind) if y2 > y1 else (behind, before)


def test_a_ring_has_a_path_outside_and_one_inside():
    ring = [(c, r) for c in range(3) for r in range(3) if (c, r) != (1, 1)]
    outer, inner = outlines(ring)
    assert outer == [(0, 0), (3, 0), (3, 3), (0, 3), (0, 0)]
    assert inner == [(1, 1), (1, 2), (2, 2), (2, 1), (1, 1)]


def test_tiles_that_touch_with_a_corner_have_paths_of_their_own():
    assert outlines([(0, 0), (1, 1)]) == [
        [(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)],
        [(1, 1), (2, 1), (2, 2), (1, 2), (1, 1)],
    ]
    assert outlines([]) == []


@pytest.mark.parametrize("seed", range(20))
def test_every_border_is_passed_once_with_the_tiles_on_the_right(seed):
    dice = np.random.default_rng(seed)
    tiles = {(int(c), int(r)) for c, r in dice.integers(0, 7, (int(dice.integers(1, 40)), 2))}
    passed = [side for path in outlines(tiles) for side in sides(path)]
    assert len(set(passed)) == len(passed)
    for side in passed:
        right, left = right_and_left(side)
        assert right in tiles and left not in tiles
    beside = [(c + dc, r + dr) for c, r in tiles for dc, dr in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    assert len(passed) == sum(tile not in tiles for tile in beside)


@pytest.mark.parametrize("seed", range(20))
def test_a_path_is_closed_and_turns_at_each_of_its_corners(seed):
    dice = np.random.default_rng(seed)
    for path in outlines({(int(c), int(r)) for c, r in dice.integers(0, 7, (30, 2))}):
        assert path[0] == path[-1]
        directions = [(x1 == x2, y1 == y2) for (x1, y1), (x2, y2) in pairwise(path)]
        assert all(one != other for one, other in pairwise([*directions, directions[0]]))
