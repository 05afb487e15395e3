"""Intervals of the body's left edge, against testing every spot one by one."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reach.kernels import intervals


def points(table):
    return {x for low, high in table.tolist() for x in range(low, high + 1)}


def make(spots):
    return intervals.contact_intervals(np.array(spots, dtype=np.bool_), 1, 1)


@pytest.mark.small
@given(st.lists(st.booleans(), min_size=1, max_size=9), st.integers(1, 5), st.integers(1, 12))
@settings(max_examples=200, deadline=None)
def test_contact_is_open_and_flush_is_none(marked, tile, width):
    found = intervals.contact_intervals(np.array(marked, dtype=np.bool_), tile, width)
    expected = set()
    for x in range(-20, 60):
        for column, is_marked in enumerate(marked):
            if is_marked and x < (column + 1) * tile and x + width > column * tile:
                expected.add(x)
    assert points(found) == expected
    flat = found.reshape(-1).tolist()
    assert flat == sorted(flat)
    assert all(found[i + 1, 0] > found[i, 1] + 1 for i in range(len(found) - 1))


@given(st.lists(st.booleans(), min_size=12, max_size=12), st.lists(st.booleans(), min_size=12, max_size=12))
@settings(max_examples=200, deadline=None)
def test_intersection_and_difference_are_those_of_sets(a, b):
    a, b = make(a), make(b)
    assert points(intervals.intersect(a, b)) == points(a) & points(b)
    assert points(intervals.subtract(a, b)) == points(a) - points(b)
