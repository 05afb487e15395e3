"""Maps for random levels: dice, a grid, and drawings that each bring out some part of the motion model."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import Any


class Dice:
    """Random choices built on `random.Random.random` alone, the one method that stays the same between versions."""

    def __init__(self, seed: int) -> None:
        self._source = random.Random(seed)

    def chance(self, probability: float) -> bool:
        return self._source.random() < probability

    def below(self, count: int) -> int:
        return int(self._source.random() * count)

    def between(self, least: int, most: int) -> int:
        return least + self.below(most - least + 1)

    def pick(self, choices: Sequence[Any]) -> Any:
        return choices[self.below(len(choices))]


class Grid:
    """A map being drawn: characters by column and row.

    `leap` and `rise` say about how many tiles far and high the body can jump: drawings put things near that limit.
    `start` is the tile (column, row) from which a drawing would be played.
    """

    def __init__(self, columns: int, rows: int, leap: int, rise: int) -> None:
        self.columns, self.rows = columns, rows
        self.leap, self.rise = leap, rise
        self.start: tuple[int, int] | None = None
        self.cells = [["."] * columns for _ in range(rows)]

    def fill(self, left: int, top: int, right: int, bottom: int, character: str) -> None:
        """Fill columns left..right and rows top..bottom, both ends included, as far as they lie in the map."""
        for row in range(max(0, top), min(self.rows - 1, bottom) + 1):
            for column in range(max(0, left), min(self.columns - 1, right) + 1):
                self.cells[row][column] = character

    def empty_cells(self) -> list[tuple[int, int]]:
        return [(c, r) for r in range(self.rows) for c in range(self.columns) if self.cells[r][c] == "."]


# Drawings. Each draws into the columns left..right of the grid; `floor` is the row whose top is the ground there.


def draw_gap(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """Two grounds with a gap between, its bottom open, deadly or a pit."""
    start = left + dice.between(1, 3)
    end = min(right, start + dice.between(2, 5))
    grid.fill(left, floor, right, grid.rows - 1, "#")
    grid.fill(start, floor, end - 1, grid.rows - 1, ".")
    if dice.chance(0.5):
        far = max(1, floor + dice.between(-2, 1))
        grid.fill(end, far, right, grid.rows - 1, "#")
    bottom = dice.pick((".", ".", "^", "#"))
    grid.fill(start, grid.rows - 1, end - 1, grid.rows - 1, bottom)


def draw_steps(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """Platforms at several heights over a ground."""
    grid.fill(left, floor, right, grid.rows - 1, "#")
    row, column = floor, left + dice.between(0, 2)
    while row > 1 and column <= right:
        row -= dice.between(1, 3)
        length = dice.between(1, 3)
        grid.fill(column, row, column + length - 1, row, dice.pick(("#", "#", "=")))
        column += dice.between(1, 3)


def draw_tunnel(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """A low passage, its roof solid or deadly, with a hole or spikes in its floor."""
    grid.fill(left, floor, right, grid.rows - 1, "#")
    roof = floor - dice.between(2, 4)
    grid.fill(left + 1, 0, right, roof, "#")
    grid.fill(left + 1, roof, right, roof, dice.pick(("#", "^", "^")))
    start = left + dice.between(2, 3)
    width = dice.between(1, 3)
    if dice.chance(0.5):
        grid.fill(start, floor, start + width - 1, grid.rows - 1, ".")
    else:
        grid.fill(start, floor - 1, start + min(width, 2) - 1, floor - 1, "^")


def draw_ledges(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """One-way floors between two walls, the lowest over a closed room."""
    grid.fill(left, floor, right, grid.rows - 1, "#")
    top = dice.between(1, max(1, floor - 2))
    grid.fill(left, top, left, floor, "#")
    grid.fill(right, top + dice.between(0, 1), right, floor, "#")
    row = top
    while row < floor:
        grid.fill(left + 1, row, right - 1, row, "=")
        row += dice.between(2, 3)
    if dice.chance(0.3):
        grid.fill(left + dice.between(1, 2), floor, right - 1, grid.rows - 1, ".")


def draw_spring(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """A spring in the ground or in a pit, and something high to get to."""
    grid.fill(left, floor, right, grid.rows - 1, "#")
    column = left + dice.between(1, max(1, right - left - 1))
    depth = dice.between(0, 1)
    grid.fill(column, 0, column, floor + depth - 1, ".")
    grid.fill(column, floor + depth, column, floor + depth, "S")
    row = max(1, floor - dice.between(2, 5))
    far = left if column > (left + right) // 2 else right - 1
    grid.fill(far, row, far + 1, row, dice.pick(("#", "=")))


def draw_shaft(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """A narrow way down or up, as wide as a tile or two."""
    grid.fill(left, floor, right, grid.rows - 1, "#")
    top = max(0, floor - dice.between(2, 4))
    column = left + dice.between(1, 2)
    width = dice.between(1, 2)
    grid.fill(left + 1, top, right - 1, floor - 1, "#")
    grid.fill(column, top, column + width - 1, floor + dice.between(-1, 2), ".")
    if dice.chance(0.4):
        grid.fill(column + width, floor - 1, right, floor - 1, ".")


def draw_noise(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """Tiles of every kind anywhere."""
    grid.fill(left, floor, right, grid.rows - 1, "#")
    for row in range(1, floor):
        for column in range(left, right + 1):
            if dice.chance(0.2):
                grid.cells[row][column] = dice.pick(("#", "#", "#", "=", "=", "^", "S"))


def draw_widening_gaps(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """Pillars with a wider gap after each, about as wide as the leap: somewhere along them it ends."""
    column = left + dice.between(2, 4)
    gap = max(1, grid.leap + dice.pick((-1, 0, 1, 1, 2)))
    grid.fill(column, grid.rows - 1, right, grid.rows - 1, dice.pick((".", ".", "^")))
    grid.fill(left, floor, column - 1, grid.rows - 1, "#")
    grid.start = left + (column - left) // 2, floor - 1
    while column + gap <= right:
        column += gap
        length = dice.between(1, 4)
        top = max(1, floor + dice.pick((0, 0, 0, -1)))
        grid.fill(column, top, column + length - 1, grid.rows - 1, "#")
        column += length
        gap += 1


def draw_growing_steps(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """A stair with a higher step after each, about as high as the jump: somewhere along it the jump ends."""
    grid.fill(left, floor, right, grid.rows - 1, "#")
    column, row, rise = left + dice.between(1, 3), floor, max(1, grid.rise - dice.between(0, 1))
    while column <= right and row - rise >= 0:
        row -= rise
        grid.fill(column, row, right, floor, "#")
        column += dice.between(1, 3)
        rise += 1


def draw_low_hop(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """A hole to be crossed under a deadly roof: only a low hop does it. Before the roof there may be open sky."""
    grid.fill(left, floor, right, grid.rows - 1, "#")
    room = dice.pick((2, 2, 3))
    roof = max(0, floor - room - 1)
    mouth = left + dice.between(0, 3)
    grid.fill(mouth, roof, right, roof, "^")
    hole = mouth + dice.between(1, 4)
    grid.fill(hole, floor, hole + dice.between(1, 2), grid.rows - 1, ".")


def draw_overhang(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """A shelf above a ledge over an abyss and farther out than the ledge: out, up, and back in the air."""
    ledge = left + dice.between(1, 3)
    grid.fill(left, floor, ledge, floor, "#")
    grid.start = left, floor - 1
    row = max(1, floor - dice.pick((2, 3, 3, 3)))
    grid.fill(left, row, ledge + dice.pick((0, 1, 1, 1)), row, "#")
    grid.fill(left, row - 3, right, row - 1, ".")


def draw_perch(grid: Grid, dice: Dice, left: int, right: int, floor: int) -> None:
    """A pillar with hardly room for a run-up, and a higher ground on one side of it."""
    perch, side = (left + right) // 2, dice.pick((-1, 1))
    grid.fill(perch, floor, perch, grid.rows - 1, "#")
    grid.start = perch, floor - 1
    near = perch + side * dice.between(2, 4)
    row = max(1, floor - dice.between(1, 2))
    grid.fill(min(near, near + side), row, max(near, near + side), row, dice.pick(("#", "=")))


Draw = Callable[[Grid, Dice, int, int, int], None]
DRAWINGS: tuple[Draw, ...] = (
    draw_gap,
    draw_steps,
    draw_tunnel,
    draw_ledges,
    draw_spring,
    draw_shaft,
    draw_noise,
    draw_widening_gaps,
    draw_growing_steps,
    draw_low_hop,
    draw_overhang,
    draw_perch,
)
WHOLE_WIDTH = (draw_widening_gaps, draw_growing_steps, draw_low_hop, draw_overhang, draw_perch)
"""Drawings that may take the whole map."""
