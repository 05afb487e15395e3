"""Polygons in rising order against hulls of points, and against the same order made of any other."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reach.kernels import polygon, rising
from tests.kernels.test_polygon import (
    Point,
    around,
    arrays,
    assert_convex,
    assert_cut,
    clouds,
    crossings,
    from_least,
    hull,
    inside,
    quick,
    round_polygon,
    vertices,
    whole_points,
)

pytestmark = pytest.mark.small

FAR = 1 << 60


def rising_order(points: list[Point]) -> list[Point]:
    """The same cycle, begun at the right end of its lowest edge."""
    start = points.index(min(points, key=lambda p: (p[1], -p[0])))
    return points[start:] + points[:start]


def rising_hull(cloud: list[Point]) -> list[Point]:
    return rising_order(hull(cloud))


@quick
@given(clouds)
def test_any_polygon_is_brought_into_order(cloud: list[Point]) -> None:
    points = hull(cloud)
    to_x, to_v, _ = arrays([])
    rising.begin_lowest(*arrays(points), to_x, to_v)
    found = vertices(to_x, to_v, len(points))
    assert found == rising_order(points)
    top = rising.peak(to_v, len(points))
    assert found[top] == max(points, key=lambda p: (p[1], p[0]))
    first, last = rising.left_side(to_v, len(points), top)
    left = [found[i % len(points)] for i in range(first, last + 1)]
    assert left[0] == max(points, key=lambda p: (p[1], -p[0]))
    assert left[-1] == min(points, key=lambda p: (p[1], p[0]))


@quick
@given(clouds, st.integers(-4, 4), st.integers(0, 5))
def test_the_sum_with_a_segment_sheared_is_exact(cloud: list[Point], down: int, length: int) -> None:
    up = down + length
    points = rising_hull(cloud)
    to_x, to_v, _ = arrays([])
    n = rising.sum_and_shear(*arrays(points), down, up, to_x, to_v)
    found = vertices(to_x, to_v, n)
    assert n <= len(points) + 2
    assert found == rising_hull([(x + w, w) for x, v in points for w in (v + down, v + up)])
    # and one by one: each point of the polygon with each new speed
    for x, v in whole_points(points):
        assert all(polygon.has_point(to_x, to_v, n, x + w, w) for w in range(v + down, v + up + 1))


@quick
@given(clouds, st.integers(-8, 8), st.integers(-2, 16))
def test_a_cut_keeps_the_speeds_and_rounds_outward(cloud: list[Point], low: int, length: int) -> None:
    points = rising_hull(cloud)
    high = low + length
    to_x, to_v, _ = arrays([])
    n = rising.cut_speeds(*arrays(points), low, high, to_x, to_v)
    found = vertices(to_x, to_v, n)
    kept = [p for p in points if low <= p[1] <= high]
    exact = list(kept)
    for bound in {low, high} if low <= high else ():
        exact += [(x, bound) for x in around(kept, crossings(points, bound, 1), bound, 1)]
    if not exact:
        assert n == 0
        return
    # nothing but the whole numbers next to the exact cuts is added
    assert found == rising_hull(exact)


@quick
@given(clouds, clouds)
def test_a_join_is_the_convex_hull_of_both(first: list[Point], second: list[Point]) -> None:
    a, b = rising_hull(first), rising_hull(second)
    to_x, to_v, _ = arrays([])
    n = rising.join(*arrays(a), *arrays(b), to_x, to_v)
    assert vertices(to_x, to_v, n) == rising_hull(a + b)


@quick
@given(clouds, clouds)
def test_holding_and_meeting(first: list[Point], second: list[Point]) -> None:
    a, b = rising_hull(first), rising_hull(second)
    assert rising.holds(*arrays(a), *arrays(b)) == (set(b) <= whole_points(a))
    for speed, meet in ((min, rising.meet_lowest), (max, rising.meet_highest)):
        at = [speed(p[1] for p in points) for points in (a, b)]
        # the edges at the bottom (or the top) of both, as if they were at the same speed
        spans = [[p[0] for p in points if p[1] == level] for points, level in zip((a, b), at, strict=True)]
        touching = min(spans[0]) <= max(spans[1]) and min(spans[1]) <= max(spans[0])
        assert meet(*arrays(a), *arrays(b)) == touching


@pytest.mark.parametrize("count", [5, 30, 110])
def test_many_vertices_at_the_extremes_of_the_formats(count: int) -> None:
    dice = np.random.default_rng(count)
    for _ in range(25):
        far, top = int(dice.choice([2**36, 2**37 - 1, 4000])), int(dice.choice([2**22, 2**23, 300]))
        points = rising_order(round_polygon(dice, count, far // 2, top))
        other = [(x // 2 + int(dice.integers(0, far // 4)), v // 3) for x, v in points]
        to_x, to_v, _ = arrays([])
        bound = int(dice.integers(-top, top + 1))
        m = rising.cut_speeds(*arrays(points), -FAR, bound, to_x, to_v)
        below = vertices(to_x, to_v, m)
        if below:
            assert_convex(below)
            assert below == rising_order(below)
        assert_cut(points, below, bound, 1)
        m = rising.sum_and_shear(*arrays(points), -top, top, to_x, to_v)
        sheared = hull([(p[0] + w, w) for p in points for w in (p[1] - top, p[1] + top)])
        assert from_least(vertices(to_x, to_v, m)) == sheared
        m = rising.join(*arrays(points), *arrays(rising_hull(other)), to_x, to_v)
        joined = vertices(to_x, to_v, m)
        assert_convex(joined)
        assert joined == rising_order(joined)
        assert all(inside(joined, p) for p in points + other)
        assert set(joined) <= set(points + other)
        assert rising.holds(*arrays(joined), *arrays(points))
