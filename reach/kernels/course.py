"""The map as plans see it: a grid whose lines may lie anywhere, so that a part of it can be shifted by single pixels.

Plans (how tight a move is) are also tried on changed maps, where a target has come a few px nearer or lower. Tiles
cannot say that, so a course keeps the grid's lines themselves. On an unchanged map its cells are the tiles, with one
cell more on every side: the border columns, solid at every height, and the empty rows above the map and below it (the
void).
"""

from typing import NamedTuple

import numpy as np

from reach.kernels.compiling import compiled
from reach.kernels.params import HAZARD, ONE_WAY, SOLID, SPRING, Terrain

BLOCKS = 1
CARRIES = 2
HURTS = 4
LAUNCHES = 8
ENDS = 16

FAR = 1 << 45
"""Farther than any map reaches, spx."""


class Course(NamedTuple):
    """A map on a grid of lines.

    `x_edges` int64 [columns + 1] and `y_edges` int64 [rows + 1] are the lines (spx, ascending); cell (row, column)
    covers y_edges[row] <= y < y_edges[row + 1] and the same in x. `flags` uint8 [rows, columns] holds BLOCKS, CARRIES
    (from above, on the cell's top line), HURTS, LAUNCHES, ENDS (a place that ends the level); `launch` int64 [rows,
    columns], spx per tick.

    `clear` uint8 [4, rows, columns] is the side, in cells, of the largest square of cells without flags that begins at
    a cell and goes on up and left, up and right, down and left, down and right. The void is no such cell.
    """

    x_edges: np.ndarray
    y_edges: np.ndarray
    flags: np.ndarray
    launch: np.ndarray
    clear: np.ndarray


def make_course(x_edges: np.ndarray, y_edges: np.ndarray, flags: np.ndarray, launch: np.ndarray) -> Course:
    """Return the course of lines, flags and launches, as of `Course`."""
    clear = np.zeros((4, *flags.shape), np.uint8)
    _fill_clear(clear, flags)
    return Course(x_edges, y_edges, flags, launch, clear)


@compiled
def _fill_clear(clear, flags):
    """Write `Course.clear`. Approximation: exact, but that no square is larger than 255 cells."""
    rows, columns = flags.shape
    for way in range(4):
        for i in range(rows):
            row = i if way < 2 else rows - 1 - i
            before = row - 1 if way < 2 else row + 1
            for j in range(columns):
                column = j if way % 2 == 0 else columns - 1 - j
                beside = column - 1 if way % 2 == 0 else column + 1
                if flags[row, column] == 0 and row < rows - 1:
                    side = 0
                    if i > 0 and j > 0:
                        side = min(clear[way, before, column], clear[way, row, beside], clear[way, before, beside])
                    clear[way, row, column] = min(side + 1, 255)


def compile_course(
    terrain: Terrain, moved: np.ndarray | None = None, shift_x: int = 0, shift_y: int = 0, *, keep: bool = False
) -> Course:
    """Return the course of a terrain, some tiles of which are shifted.

    Parameters
    ----------
    terrain : Terrain
    moved : bool [rows, columns], optional
        Tiles to shift, with the places on them that end the level; none unless given.
    shift_x, shift_y : int
        Their shift, spx.
    keep : bool
        Whether the tiles stay where they were as well: the shape grows that way instead of moving.

    Returns
    -------
    Course
        Where a shifted tile comes to lie over another one, the body meets both.
    """
    rows, columns = terrain.material.shape
    ends = np.zeros((rows, columns), np.bool_)
    for place in np.flatnonzero(terrain.place_ends):
        ends[terrain.place_row[place], terrain.place_column[place]] = True
    xs = np.arange(columns + 1, dtype=np.int64) * terrain.tile
    ys = np.arange(rows + 1, dtype=np.int64) * terrain.tile
    x_lines, y_lines = xs, ys
    if moved is not None:
        x_lines = np.unique(np.clip(np.concatenate((xs, xs + shift_x)), 0, xs[-1]))
        y_lines = np.unique(np.clip(np.concatenate((ys, ys + shift_y)), 0, ys[-1]))
    flags = np.zeros((y_lines.size + 1, x_lines.size + 1), np.uint8)
    launch = np.zeros(flags.shape, np.int64)
    flags[:, 0] = flags[:, -1] = BLOCKS | CARRIES
    layers = [(np.ones((rows, columns), np.bool_) if moved is None or keep else ~moved, 0, 0)]
    if moved is not None:
        layers.append((moved, shift_x, shift_y))
    for mask, right, down in layers:
        _paint(flags[1:-1, 1:-1], launch[1:-1, 1:-1], terrain, mask, ends, x_lines[:-1] - right, y_lines[:-1] - down)
    return make_course(
        np.concatenate(([-FAR], x_lines, [FAR])).astype(np.int64),
        np.concatenate(([-FAR], y_lines, [FAR])).astype(np.int64),
        flags,
        launch,
    )


def _paint(
    flags: np.ndarray,
    launch: np.ndarray,
    terrain: Terrain,
    mask: np.ndarray,
    ends: np.ndarray,
    lefts: np.ndarray,
    tops: np.ndarray,
) -> None:
    """Add the tiles of `mask` to the cells whose left and top lines are given in the tiles' own coordinates."""
    rows, columns = mask.shape
    of_column, of_row = lefts // terrain.tile, tops // terrain.tile
    inside = np.ix_((of_row >= 0) & (of_row < rows), (of_column >= 0) & (of_column < columns))
    tiles = np.ix_(of_row[(of_row >= 0) & (of_row < rows)], of_column[(of_column >= 0) & (of_column < columns)])
    material = np.where(mask, terrain.material, 0)
    blocks = np.isin(material, (SOLID, SPRING))
    flags[inside] |= np.where(blocks, BLOCKS | CARRIES, 0).astype(np.uint8)[tiles]
    flags[inside] |= np.where(material == HAZARD, HURTS, 0).astype(np.uint8)[tiles]
    flags[inside] |= np.where(material == SPRING, LAUNCHES, 0).astype(np.uint8)[tiles]
    flags[inside] |= np.where(mask & ends, ENDS, 0).astype(np.uint8)[tiles]
    # A one_way tile that a line cuts in two carries on its own top alone.
    tops_inside = (tops % terrain.tile == 0)[(of_row >= 0) & (of_row < rows)]
    flags[inside] |= np.where((material == ONE_WAY)[tiles] & tops_inside[:, None], CARRIES, 0).astype(np.uint8)
    launch[inside] = np.maximum(launch[inside], np.where(mask, terrain.launch, 0)[tiles])


@compiled
def cell_at(edges, value):
    """Index of the cell with edges[i] <= value < edges[i + 1]. Approximation: exact."""
    low = 0
    high = edges.shape[0] - 1
    while high - low > 1:
        middle = (low + high) >> 1
        if edges[middle] <= value:
            low = middle
        else:
            high = middle
    return low


@compiled
def any_flag(flags, first_row, last_row, first_column, last_column):
    """Flags that some cell of a block of cells has (both ends included). Approximation: exact."""
    found = 0
    for row in range(first_row, last_row + 1):
        for column in range(first_column, last_column + 1):
            found |= flags[row, column]
    return found


@compiled
def course_sideways(x, vx, first_row, last_row, body_w, course):
    """(x, vx) after a sideways move in the rows overlapped before it (rule 4 of `step`). Approximation: exact."""
    edges = course.x_edges
    if vx > 0:
        last = x + vx + body_w - 1
        column = cell_at(edges, x + body_w - 1) + 1
        while edges[column] <= last:
            if any_flag(course.flags, first_row, last_row, column, column) & BLOCKS:
                return edges[column] - body_w, 0
            column += 1
    elif vx < 0:
        column = cell_at(edges, x) - 1
        while column >= 0 and edges[column + 1] > x + vx:
            if any_flag(course.flags, first_row, last_row, column, column) & BLOCKS:
                return edges[column + 1], 0
            column -= 1
    return x + vx, vx


@compiled
def course_vertically(y, vy, first_column, last_column, body_h, course):
    """(y, vy, hit) after an airborne body's vertical move (rule 5); hit is 1 on landing, 2 on a ceiling, else 0.

    Approximation: exact.
    """
    edges = course.y_edges
    if vy > 0:
        feet = y + body_h
        row = cell_at(edges, feet - 1) + 1
        while edges[row] < feet + vy:
            if any_flag(course.flags, row, row, first_column, last_column) & CARRIES:
                return edges[row] - body_h, 0, 1
            row += 1
    elif vy < 0:
        row = cell_at(edges, y) - 1
        while row >= 0 and edges[row + 1] > y + vy:
            if any_flag(course.flags, row, row, first_column, last_column) & BLOCKS:
                return edges[row + 1], 0, 2
            row -= 1
    return y + vy, vy, 0
