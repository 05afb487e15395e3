"""Polygons against counting the whole points of small ones, and against exact fractions at the formats' extremes."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reach.kernels import polygon
from reach.level import MAX_SIDE_TILES
from reach.movement import MAX_PX_PER_TICK, SPX_PER_PX
from reach.schema import load_schema

pytestmark = pytest.mark.small

ROOM = 256
WORK = np.zeros(6 * 2 * ROOM, np.int64)
GRID = list(itertools.product(range(-9, 10), range(-9, 10)))

Point = tuple[int, int]

coordinates = st.integers(-7, 7)
clouds = st.lists(st.tuples(coordinates, coordinates), min_size=1, max_size=9)
quick = settings(max_examples=150, deadline=None)


def cross(o: Point, a: Point, b: Point) -> int:
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


def hull(cloud: list[Point]) -> list[Point]:
    """Strictly convex, counter-clockwise from the least point: the next vertex has all others to its left."""
    points = sorted(set(cloud))
    found = [points[0]]
    while len(points) > 1:
        here = found[-1]
        others = [p for p in points if p != here]
        ahead = others[0]
        for p in others[1:]:
            turn = cross(here, ahead, p)
            far = (p[0] - here[0]) ** 2 + (p[1] - here[1]) ** 2 > (ahead[0] - here[0]) ** 2 + (ahead[1] - here[1]) ** 2
            if turn < 0 or (turn == 0 and far):
                ahead = p
        if ahead == found[0]:
            break
        found.append(ahead)
    return found


def arrays(points: list[Point]) -> tuple[np.ndarray, np.ndarray, int]:
    """Room for ROOM vertices, filled with junk behind the given ones."""
    x, v = np.full(ROOM, 77, np.int64), np.full(ROOM, -77, np.int64)
    x[: len(points)] = [p[0] for p in points]
    v[: len(points)] = [p[1] for p in points]
    return x, v, len(points)


def vertices(x: np.ndarray, v: np.ndarray, n: int) -> list[Point]:
    return list(zip(x[:n].tolist(), v[:n].tolist(), strict=True))


def from_least(points: list[Point]) -> list[Point]:
    """The same cycle, begun at its least point."""
    least = points.index(min(points))
    return points[least:] + points[:least]


def inside(points: list[Point], q: tuple[int | Fraction, int | Fraction]) -> bool:
    """Whether a convex polygon, a segment or a point holds a point, by exact arithmetic."""
    n = len(points)
    turns = [cross(points[i], points[(i + 1) % n], q) for i in range(n)]  # type: ignore[arg-type]
    if n <= 2:
        (x0, v0), (x1, v1) = min(points), max(points)
        return all(t == 0 for t in turns) and x0 <= q[0] <= x1 and min(v0, v1) <= q[1] <= max(v0, v1)
    return all(t >= 0 for t in turns)


def whole_points(points: list[Point]) -> set[Point]:
    return {q for q in GRID if inside(points, q)}


def assert_convex(points: list[Point]) -> None:
    """Distinct vertices in counter-clockwise order, none on a side."""
    n = len(points)
    assert len(set(points)) == n
    if n > 2:
        assert all(cross(points[i], points[(i + 1) % n], points[(i + 2) % n]) > 0 for i in range(n))


def crossings(points: list[Point], bound: int, along: int) -> list[Fraction]:
    """Where the sides cross a line, exactly: x at speed `bound` (along 1) or v at x = `bound` (along 0)."""
    found = []
    for a, b in itertools.pairwise([*points, points[0]]):
        if (a[along] - bound) * (b[along] - bound) < 0:
            part = Fraction(bound - a[along], b[along] - a[along])
            found.append(a[1 - along] + part * (b[1 - along] - a[1 - along]))
    return found


def around(kept: list[Point], cuts: list[Fraction], bound: int, along: int) -> set[int]:
    """The ends of a cut, rounded outward."""
    other = [p[1 - along] for p in kept if p[along] == bound] + cuts
    return {math.floor(min(other)), math.ceil(max(other))} if other else set()


def assert_cut(points: list[Point], found: list[Point], bound: int, along: int) -> None:
    """What lies below a bound is there, nothing beyond it, and the cuts are outward by less than one."""
    assert all(q[along] <= bound for q in found)
    assert all(inside(found, a) for a in points if a[along] <= bound)
    for cut in crossings(points, bound, along):
        assert inside(found, (bound, cut) if along == 0 else (cut, bound))
        assert min(abs(q[1 - along] - cut) for q in found if q[along] == bound) < 1


def test_the_hull_of_these_tests() -> None:
    assert hull([(0, 0), (2, 0), (1, 0), (2, 2), (0, 2), (1, 1), (0, 1)]) == [(0, 0), (2, 0), (2, 2), (0, 2)]
    assert hull([(3, 1), (1, 1), (2, 1)]) == [(1, 1), (3, 1)]
    assert hull([(4, 4), (4, 4)]) == [(4, 4)]
    assert whole_points([(0, 0), (2, 0), (0, 2)]) == {(0, 0), (1, 0), (2, 0), (0, 1), (1, 1), (0, 2)}


@quick
@given(clouds)
def test_a_polygon_holds_its_points(cloud: list[Point]) -> None:
    points = hull(cloud)
    x, v, n = arrays(points)
    assert {q for q in GRID if polygon.has_point(x, v, n, *q)} == whole_points(points)
    assert polygon.box(x, v, n) == (
        min(p[0] for p in points),
        max(p[0] for p in points),
        min(p[1] for p in points),
        max(p[1] for p in points),
    )
    to_x, to_v, _ = arrays([])
    assert vertices(to_x, to_v, polygon.copy(x, v, n, to_x, to_v)) == points


@quick
@given(clouds, st.integers(-8, 8), st.booleans())
def test_a_cut_keeps_its_side_and_rounds_outward(cloud: list[Point], bound: int, lower: bool) -> None:
    points = hull(cloud)
    to_x, to_v, _ = arrays([])
    n = polygon.clip_x(*arrays(points), bound, int(lower), to_x, to_v, WORK)
    found = vertices(to_x, to_v, n)
    kept = [p for p in points if (p[0] <= bound if lower else p[0] >= bound)]
    cuts = crossings(points, bound, 0)
    if not kept and not cuts:
        assert n == 0
        return
    assert_convex(found)
    # nothing but the whole numbers next to the exact cuts is added
    assert from_least(found) == hull(kept + [(bound, rounded) for rounded in around(kept, cuts, bound, 0)])


@quick
@given(clouds, clouds)
def test_containing_and_touching(first: list[Point], second: list[Point]) -> None:
    a, b = hull(first), hull(second)
    in_a, in_b = whole_points(a), whole_points(b)
    assert polygon.contains(*arrays(a), *arrays(b)) == (set(b) <= in_a)
    corner = bool(set(b) & in_a or set(a) & in_b)
    assert polygon.touches(*arrays(a), *arrays(b)) == corner
    assert polygon.touches(*arrays(b), *arrays(a)) == corner


@quick
@given(clouds, st.lists(st.tuples(st.integers(-1, 1), st.integers(-1, 1)), min_size=9, max_size=9))
def test_tidying_a_shaken_polygon_gives_its_hull(cloud: list[Point], shakes: list[Point]) -> None:
    points = hull(cloud)
    shaken = [(p[0] + d[0], p[1] + d[1]) for p, d in zip(points, shakes, strict=False)]
    x, v, n = arrays(shaken)
    assert vertices(x, v, polygon.tidy(x, v, n, WORK)) == hull(shaken)


def round_polygon(dice: np.random.Generator, count: int, radius_x: int, radius_v: int) -> list[Point]:
    """A convex polygon of many vertices."""
    angle = np.sort(dice.random(count)) * 2 * np.pi
    return hull([(round(radius_x * np.cos(t)), round(radius_v * np.sin(t))) for t in angle.tolist()])


@pytest.mark.parametrize(("radius_x", "radius_v"), [(60, 60), (4000, 300), (2**35, 2**22), (5, 2**22), (2**35, 3)])
def test_simplifying_never_loses_a_point(radius_x: int, radius_v: int) -> None:
    dice = np.random.default_rng(3)
    fewer = 0
    for count in (3, 5, 17, 40, 120):
        points = round_polygon(dice, count, radius_x, radius_v)
        for limit in (4, 8, 64):
            x, v, n = arrays(points)
            box = polygon.box(x, v, n)
            n = polygon.simplify(x, v, n, limit, WORK)
            found = vertices(x, v, n)
            assert_convex(found)
            assert all(inside(found, p) for p in points)
            assert polygon.box(x, v, n) == box
            assert n <= len(points)
            fewer += n < len(points)
            if min(radius_x, radius_v) > 100:
                assert n <= max(limit, 8)
    assert fewer


def test_products_fit_the_extremes_of_the_formats() -> None:
    tile_px = load_schema("level")["properties"]["tile_px"]["maximum"]
    assert MAX_SIDE_TILES * tile_px * SPX_PER_PX < 2**37
    # a speed before it is cut at the cap: the greatest speed and one tick of the greatest rate
    assert 2 * MAX_PX_PER_TICK * SPX_PER_PX < 2**24


@pytest.mark.parametrize("far", [2**36, 2**37 - 1])
def test_arithmetic_is_exact_at_the_extremes(far: int) -> None:
    dice = np.random.default_rng(far % 1000)
    top = 2**23
    extremes = [(0, -top), (far, -top), (far, top), (0, top)]
    for turn in range(60):
        cloud = [(int(dice.integers(0, far + 1)), int(dice.integers(-top, top + 1))) for _ in range(5)]
        points = hull(cloud + extremes[: turn % 5])
        x, v, n = arrays(points)
        to_x, to_v, _ = arrays([])
        for q in [*cloud, *extremes, (far // 2, 0), (far // 3, top // 5)]:
            assert polygon.has_point(x, v, n, *q) == inside(points, q)
        assert vertices(x, v, polygon.tidy(x, v, n, WORK)) == points
        bound = int(dice.integers(0, far + 1))
        m = polygon.clip_x(x, v, n, bound, 1, to_x, to_v, WORK)
        assert_cut(points, vertices(to_x, to_v, m), bound, 0)


def test_the_rectangle_around_a_polygon() -> None:
    x, v = np.array([0, 5, 3, 0]), np.array([-2, 0, 7, 0])
    assert polygon.enclose(x, v, 4) == 4
    assert list(zip(x.tolist(), v.tolist(), strict=True)) == [(0, -2), (5, -2), (5, 7), (0, 7)]
