"""What a position overlaps, stands on and touches, at its edges and against plain counting of subpixels."""

from __future__ import annotations

import numpy as np
import pytest

from reach.kernels import contact
from reach.kernels.params import EMPTY, HAZARD, ONE_WAY, SOLID, SPRING, Terrain
from tests.builders import make_motion, make_terrain

pytestmark = pytest.mark.small

T = 8
BODY = make_motion(body_w=5, body_h=7)


def test_what_blocks_and_what_carries() -> None:
    materials = [EMPTY, SOLID, ONE_WAY, HAZARD, SPRING]
    assert [bool(contact.blocks(m)) for m in materials] == [False, True, False, False, True]
    assert [bool(contact.carries(m)) for m in materials] == [False, True, True, False, True]


def test_cells_are_floor_divisions() -> None:
    assert [contact.first_cell(low, T) for low in (-9, -8, -1, 0, 7, 8)] == [-2, -1, -1, 0, 0, 1]
    assert [contact.last_cell(low, 5, T) for low in (-6, -5, -4, 3, 4)] == [-1, -1, 0, 0, 1]


def cells_by_counting(x: int, y: int, width: int, height: int) -> set[tuple[int, int]]:
    """Every (column, row) of which the body covers at least one spx, counted spx by spx."""
    columns = {np.floor(i / T) for i in range(x, x + width)}
    rows = {np.floor(j / T) for j in range(y, y + height)}
    return {(int(c), int(r)) for c in columns for r in rows}


def material_at(terrain: Terrain, column: int, row: int) -> int:
    rows, columns = terrain.material.shape
    if not 0 <= column < columns:
        return SOLID
    return int(terrain.material[row, column]) if 0 <= row < rows else EMPTY


def test_overlaps_against_counting_subpixels() -> None:
    terrain = make_terrain([".#.^", "=..S", "..^."], tile=T, places=[(1, 2, 1), (0, 2, 0), (3, 1, 1)])
    seen = set()
    for body in (BODY, make_motion(body_w=1, body_h=1), make_motion(body_w=17, body_h=9)):
        for x in range(-6, 34):
            for y in range(-12, 30):
                cells = cells_by_counting(x, y, body.body_w, body.body_h)
                materials = {material_at(terrain, c, r) for c, r in cells}
                inside = {material_at(terrain, c, r) for c, r in cells if 0 <= c < 4}
                blocked = bool(contact.overlaps_blocking(x, y, body, terrain))
                assert blocked == bool(materials & {SOLID, SPRING})
                for material in (SOLID, ONE_WAY, HAZARD, SPRING):
                    assert bool(contact.overlaps_material(x, y, material, body, terrain)) == (material in inside)
                lost = bool(contact.is_lost(x, y, body, terrain))
                assert lost == (HAZARD in inside or y >= 3 * T)
                touched = [] if lost else [i for i, place in enumerate([(1, 2), (0, 2), (3, 1)]) if place in cells]
                table = contact.touch_table(np.array([[x, y]]), body, terrain)
                assert np.flatnonzero(table[0]).tolist() == touched
                overlapped = {(1, 2), (3, 1)} & cells
                assert bool(contact.touches_end(x, y, body, terrain)) == bool(overlapped)
                seen.add((blocked, lost, len(touched)))
    assert {(False, False, 2), (True, True, 0), (False, True, 0), (False, False, 1), (True, False, 2)} <= seen


def test_what_is_underfoot_against_counting_subpixels() -> None:
    terrain = make_terrain(["S..=", "=#S^", "...."], tile=T, launch={(0, 0): 4, (2, 1): 9})
    carried_at = set()
    for x in range(-6, 34):
        for y in range(-2 * T, 5 * T):
            feet = y + BODY.body_h
            columns = {c for c, _ in cells_by_counting(x, y, BODY.body_w, 1)}
            underfoot = {material_at(terrain, c, feet // T) for c in columns}
            carried = feet % T == 0 and bool(underfoot & {SOLID, ONE_WAY, SPRING})
            assert bool(contact.is_carried(x, y, BODY, terrain)) == carried
            if feet % T == 0:
                launches = [int(terrain.launch[feet // T, c]) for c in columns if 0 <= c < 4 and 0 <= feet < 3 * T]
                assert contact.spring_launch(x, y, BODY, terrain) == (max(launches, default=0) or -1)
                assert bool(contact.may_drop(x, y, BODY, terrain)) == (not underfoot & {SOLID, SPRING})
            if carried and columns <= set(range(4)):
                carried_at.add(feet)
    assert carried_at == {0, T}


def test_nothing_below_the_map_carries_and_nothing_above_it_blocks() -> None:
    terrain = make_terrain(["###"], tile=T)
    assert not contact.is_carried(T, 2 * T - BODY.body_h, BODY, terrain)
    assert not contact.is_carried(T, -T - BODY.body_h, BODY, terrain)
    assert not contact.row_blocks(-1, 0, 2, terrain)
    assert not contact.row_blocks(1, 0, 2, terrain)
    assert not contact.row_carries(1, 0, 2, terrain)
    assert contact.is_carried(T, -BODY.body_h, BODY, terrain)


@pytest.mark.parametrize("row", [-5, 0, 7])
def test_the_border_columns_are_solid_at_every_height(row: int) -> None:
    terrain = make_terrain(["..", ".."], tile=T)
    assert contact.column_blocks(-1, row, row, terrain)
    assert contact.column_blocks(2, row, row, terrain)
    assert not contact.column_blocks(1, row, row, terrain)
    assert contact.row_blocks(row, -1, 0, terrain)
    assert contact.row_blocks(row, 1, 2, terrain)
    assert contact.row_carries(row, -1, 0, terrain)
    assert contact.row_carries(row, 1, 2, terrain)


def test_touched_places_of_many_states_at_once() -> None:
    terrain = make_terrain(["+.!", "..^"], tile=T)
    states = np.array([[0, 0], [T - 1, 0], [T, 0], [2 * T - 4, 0], [2 * T, 2], [0, 3 * T]], np.int64)
    table = contact.touch_table(states, BODY, terrain)
    assert table.dtype == np.uint8
    assert table.tolist() == [[1, 0], [1, 0], [0, 0], [0, 1], [0, 0], [0, 0]]


def test_a_terrain_without_places_touches_none() -> None:
    terrain = make_terrain(["..."], tile=T)
    assert contact.touch_table(np.zeros((2, 13), np.int64), BODY, terrain).shape == (2, 0)
