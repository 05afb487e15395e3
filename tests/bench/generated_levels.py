"""Levels drawn by a seed, of four shapes: open ground, caves, a tall shaft, and one large map."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

Json = dict[str, Any]
Grid = list[list[str]]

TILE_PX = 16


def _empty(columns: int, rows: int) -> Grid:
    return [["."] * columns for _ in range(rows)]


def _ledge(grid: Grid, column: int, row: int, columns: int, mark: str) -> None:
    for at in range(column, min(column + columns, len(grid[0]))):
        grid[row][at] = mark


def _put_places(grid: Grid, column: int, row: int, dice: random.Random) -> None:
    """The start near a tile, and an ending on the free ground that is farthest from it."""
    ground = [
        (c, r)
        for r in range(1, len(grid) - 1)
        for c in range(1, len(grid[0]) - 1)
        if grid[r][c] == "." and grid[r - 1][c] == "." and grid[r + 1][c] == "#" and grid[r - 1][c + 1] == "."
        if grid[r][c + 1] == "."
    ]
    start = min(ground, key=lambda tile: (abs(tile[0] - column) + abs(tile[1] - row), tile))
    ending = max(ground, key=lambda tile: (abs(tile[0] - start[0]) + abs(tile[1] - start[1]), tile))
    grid[start[1]][start[0]] = "@"
    grid[ending[1]][ending[0]] = "!"
    for _ in range(4):
        column, row = ground[int(dice.random() * len(ground))]
        if grid[row][column] == ".":
            grid[row][column] = "+"


def open_ground(dice: random.Random) -> Grid:
    """A floor with gaps, and ledges at all heights above it."""
    columns, rows = 60, 16
    grid = _empty(columns, rows)
    column = 0
    while column < columns:
        width = 5 + int(dice.random() * 8)
        _ledge(grid, column, rows - 1, width, "#")
        column += width + 1 + int(dice.random() * 4)
    for _ in range(20):
        row = 5 + int(dice.random() * (rows - 8))
        _ledge(grid, int(dice.random() * columns), row, 2 + int(dice.random() * 6), "=" if dice.random() < 0.3 else "#")
    _put_places(grid, 2, rows - 2, dice)
    return grid


def _caves(columns: int, rows: int, dice: random.Random) -> Grid:
    """Rock that was drawn at random and then worn smooth: a tile is what most of the tiles around it are."""
    rock = [[dice.random() < 0.44 for _ in range(columns)] for _ in range(rows)]
    for _ in range(3):
        rock = [
            [
                sum(
                    rock[r][c] if 0 <= r < rows and 0 <= c < columns else 1
                    for r in range(row - 1, row + 2)
                    for c in range(column - 1, column + 2)
                )
                >= 5
                for column in range(columns)
            ]
            for row in range(rows)
        ]
    return [["#" if tile else "." for tile in line] for line in rock]


def cave(dice: random.Random) -> Grid:
    """Caves, all of them on one screen's scale."""
    grid = _caves(60, 30, dice)
    _put_places(grid, 30, 15, dice)
    return grid


def shaft(dice: random.Random) -> Grid:
    """Walls on both sides and ledges of all widths between them, from the bottom to the top."""
    columns, rows = 14, 60
    grid = _empty(columns, rows)
    for row in range(rows):
        grid[row][0] = grid[row][-1] = "#"
    _ledge(grid, 0, rows - 1, columns, "#")
    for row in range(5, rows - 2, 3):
        mark = "=" if dice.random() < 0.4 else "#"
        _ledge(grid, 1 + int(dice.random() * (columns - 5)), row, 2 + int(dice.random() * 4), mark)
    _put_places(grid, 2, rows - 2, dice)
    return grid


def large(dice: random.Random) -> Grid:
    """Wide caves in a map of 400 by 400 tiles, with ledges that one can jump up through."""
    size, scale = 400, 4
    caves = _caves(size // scale, size // scale, dice)
    grid = [[caves[row // scale][column // scale] for column in range(size)] for row in range(size)]
    for _ in range(size):
        row, column, columns = int(dice.random() * size), int(dice.random() * size), 3 + int(dice.random() * 5)
        if all(tile == "." for tile in grid[row][column : column + columns]):
            _ledge(grid, column, row, columns, "=")
    _put_places(grid, size // 2, size // 2, dice)
    return grid


SHAPES: dict[str, Callable[[random.Random], Grid]] = {
    "open": open_ground,
    "cave": cave,
    "shaft": shaft,
    "large": large,
}


def generate(shape: str, seed: int = 1) -> Json:
    """The JSON object of a level; the same for the same shape and seed."""
    grid = SHAPES[shape](random.Random(f"{shape} {seed}"))
    rows = ["".join(line) for line in grid]
    return {"format": "reach-level/1", "name": f"{shape}-{seed}", "tile_px": TILE_PX, "rows": rows}
