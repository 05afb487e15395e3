"""What the body overlaps, stands on and touches: exact questions about one position.

Everything here is int64 in subpixels, tiles are (column, row), divisions are floor divisions. Columns left and right of
the map are solid at every height; rows above and below it are empty.
"""

import numpy as np

from reach.kernels.compiling import inlined
from reach.kernels.params import HAZARD, ONE_WAY, SOLID, SPRING, Motion, Terrain


@inlined
def blocks(material):
    """True where a tile of this material may never be overlapped. Approximation: exact."""
    return material == SOLID or material == SPRING


@inlined
def carries(material):
    """True where a tile of this material can be stood on. Approximation: exact."""
    return material == SOLID or material == ONE_WAY or material == SPRING


@inlined
def first_cell(low, tile):
    """Column or row of the subpixel `low`, the first one covered. Approximation: exact."""
    return low // tile


@inlined
def last_cell(low, size, tile):
    """Last column or row that [low, low + size) overlaps. Approximation: exact."""
    return (low + size - 1) // tile


@inlined
def column_blocks(column, first_row, last_row, terrain):
    """True where some tile of the column blocks in the rows `first_row` to `last_row`. Approximation: exact."""
    rows, columns = terrain.material.shape
    if column < 0 or column >= columns:
        return True
    for row in range(max(first_row, 0), min(last_row, rows - 1) + 1):
        if blocks(terrain.material[row, column]):
            return True
    return False


@inlined
def row_blocks(row, first_column, last_column, terrain):
    """True where some tile of the row blocks in the columns `first_column` to `last_column`. Approximation: exact."""
    rows, columns = terrain.material.shape
    if first_column < 0 or last_column >= columns:
        return True
    if row < 0 or row >= rows:
        return False
    for column in range(first_column, last_column + 1):
        if blocks(terrain.material[row, column]):
            return True
    return False


@inlined
def row_carries(row, first_column, last_column, terrain):
    """True where some tile of the row carries in the columns `first_column` to `last_column`. Approximation: exact."""
    rows, columns = terrain.material.shape
    if first_column < 0 or last_column >= columns:
        return True
    if row < 0 or row >= rows:
        return False
    for column in range(first_column, last_column + 1):
        if carries(terrain.material[row, column]):
            return True
    return False


@inlined
def is_carried(x, y, motion, terrain):
    """True where the feet line is on the top of a carrying tile under the body's columns. Approximation: exact.

    Parameters
    ----------
    x, y : int64
        Top-left corner of the body, spx.
    motion : Motion
    terrain : Terrain
    """
    feet = y + motion.body_h
    row = feet // terrain.tile
    if row * terrain.tile != feet:
        return False
    return row_carries(row, first_cell(x, terrain.tile), last_cell(x, motion.body_w, terrain.tile), terrain)


@inlined
def may_drop(x, y, motion, terrain):
    """True where every carrying tile under a grounded body is one_way. Approximation: exact."""
    row = (y + motion.body_h) // terrain.tile
    return not row_blocks(row, first_cell(x, terrain.tile), last_cell(x, motion.body_w, terrain.tile), terrain)


@inlined
def spring_launch(x, y, motion, terrain):
    """Greatest launch among the springs in the row under a grounded body's feet, spx per tick; -1 without a spring.

    Approximation: exact.
    """
    rows, columns = terrain.material.shape
    row = (y + motion.body_h) // terrain.tile
    launch = -1
    if 0 <= row < rows:
        first_column = max(first_cell(x, terrain.tile), 0)
        last_column = min(last_cell(x, motion.body_w, terrain.tile), columns - 1)
        for column in range(first_column, last_column + 1):
            if terrain.material[row, column] == SPRING:
                launch = max(launch, terrain.launch[row, column])
    return launch


@inlined
def overlaps_blocking(x, y, motion, terrain):
    """True where the body overlaps a blocking tile or the map's border columns. Approximation: exact."""
    first_row = first_cell(y, terrain.tile)
    last_row = last_cell(y, motion.body_h, terrain.tile)
    for column in range(first_cell(x, terrain.tile), last_cell(x, motion.body_w, terrain.tile) + 1):
        if column_blocks(column, first_row, last_row, terrain):
            return True
    return False


@inlined
def overlaps_material(x, y, material, motion, terrain):
    """True where the body overlaps a tile of the given material inside the map. Approximation: exact."""
    rows, columns = terrain.material.shape
    first_row = max(first_cell(y, terrain.tile), 0)
    last_row = min(last_cell(y, motion.body_h, terrain.tile), rows - 1)
    first_column = max(first_cell(x, terrain.tile), 0)
    last_column = min(last_cell(x, motion.body_w, terrain.tile), columns - 1)
    for row in range(first_row, last_row + 1):
        for column in range(first_column, last_column + 1):
            if terrain.material[row, column] == material:
                return True
    return False


@inlined
def is_lost(x, y, motion, terrain):
    """True where the body overlaps a hazard or its top is in the void below the map. Approximation: exact."""
    return y >= terrain.material.shape[0] * terrain.tile or overlaps_material(x, y, HAZARD, motion, terrain)


@inlined
def touches_place(x, y, place, motion, terrain):
    """True where the body overlaps the tile of the place with this index. Approximation: exact."""
    left = terrain.place_column[place] * terrain.tile
    top = terrain.place_row[place] * terrain.tile
    return x < left + terrain.tile and x + motion.body_w > left and y < top + terrain.tile and y + motion.body_h > top


@inlined
def touches_end(x, y, motion, terrain):
    """True where the body overlaps a place that ends the level. Approximation: exact."""
    for place in range(terrain.place_ends.shape[0]):
        if terrain.place_ends[place] != 0 and touches_place(x, y, place, motion, terrain):
            return True
    return False


def touch_table(states: np.ndarray, motion: Motion, terrain: Terrain) -> np.ndarray:
    """Tell which places each state touches, uint8 [states, places], 1 where it does; a lost body touches none.

    Approximation: exact.

    Parameters
    ----------
    states : int64 [states, fields]
        The first two columns are x and y, spx.
    motion : Motion
    terrain : Terrain
    """
    x, y = states[:, :1], states[:, 1:2]
    left = terrain.place_column * terrain.tile
    top = terrain.place_row * terrain.tile
    table = x < left + terrain.tile
    table &= x + motion.body_w > left
    table &= y < top + terrain.tile
    table &= y + motion.body_h > top
    table &= ~_lost(x, y, motion, terrain)
    return table.astype(np.uint8)


def _lost(x: np.ndarray, y: np.ndarray, motion: Motion, terrain: Terrain) -> np.ndarray:
    """`is_lost` of bodies at x, y [n, 1]: bool [n, 1]."""
    rows, columns = terrain.material.shape
    column = x // terrain.tile + np.arange(-(-motion.body_w // terrain.tile) + 1)
    overlapped = (column <= (x + motion.body_w - 1) // terrain.tile) & (column >= 0) & (column < columns)
    column = np.clip(column, 0, columns - 1)
    lost: np.ndarray = y >= rows * terrain.tile
    for ahead in range(-(-motion.body_h // terrain.tile) + 1):
        row = y // terrain.tile + ahead
        inside = (row <= (y + motion.body_h - 1) // terrain.tile) & (row >= 0) & (row < rows)
        hurts = terrain.material[np.clip(row, 0, rows - 1), column] == HAZARD
        lost |= inside & (hurts & overlapped).any(axis=1, keepdims=True)
    return lost
