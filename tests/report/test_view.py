"""Windows on a map: no tile is left out, and pictures stay within bounds."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reach.report.view import (
    LARGEST_MAP_PX,
    LEAST_STRIP_TILE_PX,
    OVERLAP_TILES,
    STRIP_HEIGHT_PX,
    STRIP_WIDTH_PX,
    View,
    choose_tile,
    cut_into_views,
    first_showing,
    pieces,
)


@given(st.integers(1, 5000), st.integers(OVERLAP_TILES + 1, 200))
def test_pieces_cover_a_row_and_overlap(count, most):
    parts = pieces(count, most)
    assert parts[0][0] == 0
    assert parts[-1][1] == count
    assert all(0 < end - first <= most for first, end in parts)
    assert all(before[1] - after[0] == OVERLAP_TILES for before, after in pairwise(parts))
    lengths = [end - first for first, end in parts]
    assert max(lengths) - min(lengths) <= 1 + OVERLAP_TILES


# The file format's own limit: at most 4096 x 4096 tiles and 4 million in all.
@given(st.integers(1, 4096), st.integers(1, 4096))
def test_a_chosen_size_keeps_the_picture_within_bounds(columns, rows):
    if columns * rows <= 4_000_000:
        tile = choose_tile(columns, rows)
        assert columns * rows * tile * tile <= LARGEST_MAP_PX


@pytest.mark.parametrize("size", [(12, 6), (100, 20), (400, 15), (30, 160)])
def test_usual_maps_are_drawn_readably(size):
    assert choose_tile(*size) >= 20


def test_every_tile_of_a_part_is_shown_once_or_in_an_overlap():
    views = cut_into_views(range(5, 305), range(2, 102), 24, 16)
    shown = [(c, r) for v in views for c in range(v.first_column, v.end_column) for r in range(v.first_row, v.end_row)]
    assert set(shown) == {(c, r) for c in range(5, 305) for r in range(2, 102)}
    assert all(view.width <= STRIP_WIDTH_PX and view.height <= STRIP_HEIGHT_PX for view in views)
    assert len(views) > 1


def test_a_survey_is_not_cut():
    assert len(cut_into_views(range(4000), range(900), LEAST_STRIP_TILE_PX - 1, 16)) == 1


def test_points_and_tiles_agree():
    view = View(3, 13, 2, 8, 24, 16, top=10)
    assert view.tile_box((3, 2)) == (0, 10, 24, 34)
    assert view.point((3 * 16, 2 * 16)) == (0, 10)
    assert view.point((4 * 16, 3 * 16)) == (24, 34)
    assert view.centre((4, 3)) == (36, 46)


def test_a_point_belongs_to_the_first_window_that_shows_it():
    views = [View(0, 10, 0, 5, 24, 16), View(8, 18, 0, 5, 24, 16)]
    assert first_showing((9 * 16.0, 0.0), views) == 0
    assert first_showing((10 * 16.0, 0.0), views) == 1
    assert first_showing((400.0, -90.0), views) == 1
