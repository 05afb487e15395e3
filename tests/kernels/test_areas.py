"""What a job's pool keeps for a tick, and what it keeps to the end."""

import numpy as np
import pytest

from reach.kernels import heap
from reach.kernels.areas import begin_tick, empty_areas, use_area
from reach.kernels.pool import add_polygon


def stored(j: np.ndarray, x: int) -> int:
    """Index of a point stored now."""
    return int(add_polygon(j, np.array([x]), np.array([0]), 1, 0))


def x_of(j: np.ndarray, i: int) -> int:
    at = j[j[heap.POLYGON] + i * heap.POLYGON_WIDTH + heap.FIRST]
    return int(j[j[heap.VERTEX_X] + at])


def test_a_tick_keeps_what_the_tick_before_it_made_and_forgets_what_is_older():
    j = heap.make_job(1, 1, False)
    empty_areas(j)
    first = stored(j, 1)
    begin_tick(j)
    second = stored(j, 2)
    assert second != first and x_of(j, first) == 1
    begin_tick(j)
    assert stored(j, 3) == first
    assert x_of(j, second) == 2


def test_what_lasts_outlives_all_ticks():
    j = heap.make_job(1, 1, False)
    empty_areas(j)
    area = j[heap.AREA]
    use_area(j, heap.LASTING)
    kept = [stored(j, 10), stored(j, 11)]
    use_area(j, area)
    for x in range(6):
        begin_tick(j)
        stored(j, x)
    use_area(j, heap.LASTING)
    kept.append(stored(j, 12))
    assert [x_of(j, i) for i in kept] == [10, 11, 12]


@pytest.mark.parametrize("area", range(heap.AREA_COUNT))
def test_a_full_area_says_so_and_touches_no_other(area):
    j = heap.make_job(1, 1, False)
    empty_areas(j)
    others = [each for each in range(heap.AREA_COUNT) if each != area]
    kept = []
    for each in others:
        use_area(j, each)
        kept.append(stored(j, 100 + each))
    use_area(j, area)
    for x in range(100):
        stored(j, x)
    assert j[heap.FULL] == 1
    assert [x_of(j, i) for i in kept] == [100 + each for each in others]


def test_where_all_is_kept_nothing_goes():
    j = heap.make_job(1, 1, True)
    empty_areas(j)
    made = []
    for x in range(6):
        begin_tick(j)
        made.append(stored(j, x))
        use_area(j, heap.LASTING)
    assert [x_of(j, i) for i in made] == list(range(6))
