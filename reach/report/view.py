"""Windows on a map: how large a tile is drawn, how a long map is cut into strips, where its points lie on a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from reach.report.sheet import Box, Point

STRIP_WIDTH_PX = 1640
STRIP_HEIGHT_PX = 1080
"""What is seen at 100 % on a common screen; a larger map is cut into strips."""

LARGEST_TILE_PX = 48
READABLE_TILE_PX = 24
SMALLEST_TILE_PX = 2
LEAST_STRIP_TILE_PX = 12
"""Below this a map is not cut: it is a survey, not something to read tile by tile."""

OVERLAP_TILES = 2
"""Columns or rows that stand at the end of one strip and again at the beginning of the next."""

LARGEST_MAP_PX = 36_000_000
"""Pixels that a map may take in a picture; about 110 MB while it is drawn."""


@dataclass(frozen=True)
class View:
    """A window on the map, and where it lies on a sheet.

    Attributes
    ----------
    first_column, end_column, first_row, end_row : int
        The tiles shown; the ends lie outside.
    tile : int
        Drawn size of a tile in px of the picture.
    tile_px : int
        Size of a tile in px of the map.
    top : int
        Room above the first row, for flights over the map's upper edge.
    """

    first_column: int
    end_column: int
    first_row: int
    end_row: int
    tile: int
    tile_px: int
    top: int = 0

    @property
    def width(self) -> int:
        """Width of the window in px of the picture."""
        return (self.end_column - self.first_column) * self.tile

    @property
    def height(self) -> int:
        """Height of the window in px of the picture, without the room above."""
        return (self.end_row - self.first_row) * self.tile

    def point(self, point_px: Point) -> Point:
        """Where a point of the map, in px of the map, lies on the sheet."""
        enlarged = self.tile / self.tile_px
        x = point_px[0] * enlarged - self.first_column * self.tile
        y = point_px[1] * enlarged - self.first_row * self.tile + self.top
        return x, y

    def tile_box(self, tile: tuple[int, int]) -> Box:
        """The box of a tile on the sheet."""
        left = (tile[0] - self.first_column) * self.tile
        top = (tile[1] - self.first_row) * self.tile + self.top
        return left, top, left + self.tile, top + self.tile

    def centre(self, tile: tuple[int, int]) -> Point:
        """The middle of a tile on the sheet."""
        left, top, right, bottom = self.tile_box(tile)
        return (left + right) / 2, (top + bottom) / 2

    def holds(self, tile: tuple[int, int]) -> bool:
        """Whether the window shows a tile."""
        column, row = tile
        return self.first_column <= column < self.end_column and self.first_row <= row < self.end_row


def pieces(count: int, most: int, overlap: int = OVERLAP_TILES) -> list[tuple[int, int]]:
    """A row of `count` tiles cut into pieces of at most `most` that overlap and are about equally long.

    Parameters
    ----------
    count, most, overlap : int
        In tiles; `most` is above `overlap`.

    Returns
    -------
    list of (int, int)
        First tile and the one past the last, in ascending order.

    Examples
    --------
    >>> pieces(100, 60)
    [(0, 51), (49, 100)]
    >>> pieces(40, 60)
    [(0, 40)]
    """
    if count <= most:
        return [(0, count)]
    number = ceil((count - overlap) / (most - overlap))
    fresh = count - overlap
    ends = [overlap + fresh * (i + 1) // number for i in range(number)]
    firsts = [0, *(end - overlap for end in ends[:-1])]
    return list(zip(firsts, ends, strict=True))


def choose_tile(columns: int, rows: int) -> int:
    """The size at which a map is drawn unless asked otherwise, in px of the picture a tile.

    As large as fits on a screen, within bounds; a map that does not fit is cut into strips at a readable size; one
    whose picture would be too large to handle is drawn smaller.

    Examples
    --------
    >>> choose_tile(12, 6), choose_tile(400, 15), choose_tile(4096, 976)
    (48, 24, 3)
    """
    for tile in range(LARGEST_TILE_PX, READABLE_TILE_PX, -4):
        if columns * tile <= STRIP_WIDTH_PX and rows * tile <= STRIP_HEIGHT_PX:
            return tile
    for tile in (READABLE_TILE_PX, 20, 16, 12, 8, 6, 5, 4, 3):
        if columns * rows * tile * tile <= LARGEST_MAP_PX:
            return tile
    return SMALLEST_TILE_PX


def cut_into_views(columns: range, rows: range, tile: int, tile_px: int) -> list[View]:
    """The windows that show a part of a map whole, in reading order.

    Parameters
    ----------
    columns, rows : range
        The part of the map.
    tile, tile_px : int
        As in `View`.

    Returns
    -------
    list of View
    """
    across, down = len(columns), len(rows)
    if tile >= LEAST_STRIP_TILE_PX:
        across = max(STRIP_WIDTH_PX // tile, 4 * OVERLAP_TILES)
        down = max(STRIP_HEIGHT_PX // tile, 4 * OVERLAP_TILES)
    return [
        View(columns.start + left, columns.start + right, rows.start + upper, rows.start + lower, tile, tile_px)
        for upper, lower in pieces(len(rows), down)
        for left, right in pieces(len(columns), across)
    ]


def first_showing(point_px: Point, views: Sequence[View]) -> int:
    """The index of the first window that shows a point of the map; one outside counts to the nearest tile."""
    tile_px = views[0].tile_px
    column = min(max(int(point_px[0] // tile_px), views[0].first_column), views[-1].end_column - 1)
    row = min(max(int(point_px[1] // tile_px), views[0].first_row), views[-1].end_row - 1)
    return next(i for i, view in enumerate(views) if view.holds((column, row)))
