"""Pieces and runs of the body's left edge, footholds and standable tiles, against asking at every spot one by one."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reach.kernels import intervals
from reach.kernels.params import Motion, Terrain
from tests.builders import make_motion, make_terrain, random_terrain

pytestmark = pytest.mark.small

EMPTY, SOLID, ONE_WAY, HAZARD, SPRING = range(5)


def overlapped(low: int, size: int, cells: int, tile: int) -> list[int]:
    """The cells of a row or column of so many that [low, low + size) overlaps, each asked for itself."""
    return [cell for cell in range(cells) if low < (cell + 1) * tile and low + size > cell * tile]


def places_inside(columns: int, tile: int, width: int) -> range:
    """Every x at which a body is between the border columns."""
    return range(columns * tile - width + 1)


class Told:
    """What the motion model says of a body whose feet line is on a row's top, at one x after the other."""

    def __init__(self, motion: Motion, terrain: Terrain) -> None:
        self.width, self.height, self.tile = motion.body_w, motion.body_h, terrain.tile
        self.material = terrain.material.tolist()
        self.rows, self.columns = terrain.material.shape
        place = zip(terrain.place_column.tolist(), terrain.place_row.tolist(), terrain.place_ends.tolist(), strict=True)
        self.ends = {(column, row) for column, row, ends in place if ends}

    def under(self, row: int, x: int) -> list[int]:
        """Columns under the body whose tile carries."""
        columns = overlapped(x, self.width, self.columns, self.tile)
        return [column for column in columns if self.material[row][column] in (SOLID, ONE_WAY, SPRING)]

    def over(self, row: int, x: int) -> list[tuple[int, int]]:
        """Tiles that the body overlaps."""
        columns = overlapped(x, self.width, self.columns, self.tile)
        rows = overlapped(row * self.tile - self.height, self.height, self.rows, self.tile)
        return list(itertools.product(columns, rows))

    def fits(self, row: int, x: int) -> bool:
        return all(self.material[r][column] not in (SOLID, SPRING, HAZARD) for column, r in self.over(row, x))

    def kind(self, row: int, x: int) -> int:
        """0 where the body is not carried, else 1, or 2 on a spring."""
        under = self.under(row, x)
        if not under or not self.fits(row, x) or self.ends & set(self.over(row, x)):
            return 0
        return 2 if any(self.material[row][column] == SPRING for column in under) else 1

    def footholds(self) -> Iterable[list[int]]:
        for row in range(self.rows):
            spots = ((self.kind(row, x), x) for x in places_inside(self.columns, self.tile, self.width))
            for kind, run in itertools.groupby(spots, key=lambda spot: spot[0]):
                if kind:
                    xs = [x for _, x in run]
                    columns = [column for x in xs for column in self.under(row, x)]
                    yield [row, xs[0], xs[-1], int(kind == 2), min(columns), max(columns)]

    def standable(self) -> list[list[bool]]:
        xs = places_inside(self.columns, self.tile, self.width)
        return [
            [any(column in self.under(row, x) and self.fits(row, x) for x in xs) for column in range(self.columns)]
            for row in range(self.rows)
        ]


@given(st.integers(1, 9), st.integers(1, 5), st.integers(1, 12))
@settings(max_examples=200, deadline=None)
def test_a_body_overlaps_the_same_columns_all_along_a_piece_and_others_on_the_next(
    columns: int, tile: int, width: int
) -> None:
    pieces = intervals.cut_pieces(columns, tile, width)
    found = [
        (x, list(range(first, last + 1)))
        for low, end, first, last in zip(pieces.edges, pieces.edges[1:], pieces.first, pieces.last, strict=False)
        for x in range(low, end)
    ]
    assert found == [(x, overlapped(x, width, columns, tile)) for x in places_inside(columns, tile, width)]
    assert all(a != b for a, b in itertools.pairwise(zip(pieces.first, pieces.last, strict=True)))


@given(st.lists(st.integers(0, 3), min_size=1, max_size=9), st.integers(1, 5), st.integers(1, 12))
@settings(max_examples=200, deadline=None)
def test_what_a_body_overlaps_is_that_of_its_columns(values: list[int], tile: int, width: int) -> None:
    pieces = intervals.cut_pieces(len(values), tile, width)
    row = np.array([values])
    at = [[values[column] for column in range(a, b + 1)] for a, b in zip(pieces.first, pieces.last, strict=True)]
    assert intervals.any_overlapped(row > 0, pieces).tolist() == [[any(some) for some in at]]
    assert intervals.greatest_overlapped(row, pieces).tolist() == [[max(some) for some in at]]


@given(st.lists(st.lists(st.integers(0, 2), min_size=5, max_size=5), min_size=1, max_size=3), st.integers(1, 3))
@settings(max_examples=200, deadline=None)
def test_runs_are_as_long_as_can_be_and_hold_one_value(values: list[list[int]], tile: int) -> None:
    pieces = intervals.cut_pieces(5, tile, tile)
    assert pieces.edges.tolist() == sorted({*range(0, 4 * tile + 1, tile), *range(1, 4 * tile + 2, tile)})
    table = np.array([np.repeat(row, 2)[: len(pieces.first)] for row in values])
    expected = [
        [row, spots[0], spots[-1], value]
        for row, some in enumerate(table.tolist())
        for value, run in itertools.groupby(
            [(v, x) for p, v in enumerate(some) for x in range(pieces.edges[p], pieces.edges[p + 1])],
            key=lambda spot: spot[0],
        )
        for spots in [[x for _, x in run]]
        if value
    ]
    assert np.column_stack(intervals.find_runs(table, pieces)).tolist() == expected


def test_rows_off_the_map_hold_nothing() -> None:
    marked = np.array([[1, 0, 0], [0, 1, 0]], np.bool_)
    first, end = np.array([-3, -1, 0, 1, 1, 2]), np.array([-1, 1, 2, 1, 5, 9])
    told = intervals.any_row(marked, first, end)
    assert told.tolist() == [
        [any(marked[r, c] for r in range(max(a, 0), min(b, 2))) for c in range(3)]
        for a, b in zip(first, end, strict=True)
    ]


def check_tables(motion: Motion, terrain: Terrain) -> None:
    told = Told(motion, terrain)
    footholds = intervals.foothold_table(motion, terrain)
    assert footholds.dtype == np.int64
    assert footholds.shape[1] == 6
    assert footholds.tolist() == list(told.footholds())
    assert intervals.standable_table(motion, terrain).tolist() == told.standable()


@pytest.mark.parametrize("body_w", [1, 3, 4, 5, 8, 9, 23, 24])
@pytest.mark.parametrize("body_h", [1, 4, 5, 13])
def test_bodies_wider_than_a_tile_and_narrower(body_w: int, body_h: int) -> None:
    rows = ["..!..#", ".^..=.", "#=S.S#", "#.#^S.", "..=..S"]
    check_tables(make_motion(body_w=body_w, body_h=body_h), make_terrain(rows, tile=4))


@pytest.mark.parametrize("seed", range(40))
def test_random_maps(seed: int) -> None:
    dice = np.random.default_rng(seed)
    tile = int(dice.integers(1, 6))
    terrain = random_terrain(dice, tile)
    width = int(dice.integers(1, min(terrain.material.shape[1], 4) * tile + 1))
    check_tables(make_motion(body_w=width, body_h=int(dice.integers(1, 4 * tile + 1))), terrain)


def test_a_body_wider_than_the_map_is_nowhere() -> None:
    terrain = make_terrain(["...", "#=S"], tile=4)
    for width in (13, 14, 30):
        assert intervals.foothold_table(make_motion(body_w=width, body_h=4), terrain).shape == (0, 6)
        assert not intervals.standable_table(make_motion(body_w=width, body_h=4), terrain).any()
