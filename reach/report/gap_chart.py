"""The gaps of a movement sheet drawn on a grid of tiles: how far one gets at every height."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil
from typing import TYPE_CHECKING

from reach.report.font import line_height, text_width
from reach.report.movement_sheet_tables import window_words
from reach.report.palette import (
    BLUE,
    BLUISH_GREEN,
    EDGE,
    GRID_FIFTH,
    INK,
    MOVE,
    QUIET_INK,
    SOLID_FILL,
    Rgb,
)
from reach.report.sheet import Point, Sheet, dashed
from reach.workshop.reach_table import height_words

if TYPE_CHECKING:
    from reach.workshop.sheet import MovementSheet

SPX = 65536
SIZE = 13
_MOST_TILE = 36
_NEAR_TILES = 2
_MARGIN = 8
_MARK = 4.5
_ROWS_ABOVE = 1
_ACROSS = "gap in tiles"
_MOST_HEIGHT = 900

_Mark = Callable[[Sheet, Point, Rgb], None]


class GapChart:
    """The chart of one sheet, in a width.

    The grid's x is 0 at the near ledge's end, its y 0 at the near ledge's top, both in tiles.
    """

    def __init__(self, sheet: MovementSheet, width: int) -> None:
        """Find the scale."""
        self.movement = sheet
        rows = [row for row in sheet.reach.rows if row.gap.at_least_spx is not None]
        self.rows = rows
        self.tile_spx = sheet.tile_px * SPX
        widest = max((row.gap.at_least_spx or 0 for row in rows), default=0)
        self.columns = ceil(widest / self.tile_spx) + 1
        peak = max((height for _, height in sheet.reach.path_spx), default=0)
        self.up = max([ceil(peak / self.tile_spx), *(row.height_tiles for row in rows)]) + _ROWS_ABOVE
        self.down = max([1, *(-row.height_tiles for row in rows)])
        words = [_ACROSS, *(height_words(row.height_tiles) for row in rows)]
        self.left = max(text_width(each, SIZE) for each in words) + 10
        across = (width - self.left - _MARGIN) // (self.columns + _NEAR_TILES)
        self.tile = max(1, min(_MOST_TILE, across, _MOST_HEIGHT // (self.up + self.down + 1)))
        self.width = width
        self.top = line_height(SIZE) + 6

    def draw(self) -> Sheet:
        """Return the chart, with its legend under it."""
        grid_height = (self.up + self.down + 1) * self.tile
        legend = self._legend()
        sheet = Sheet(self.width, self.top + grid_height + _MARGIN + legend.height)
        self._grid(sheet)
        self._ledge(sheet)
        path = [self._at(x / self.tile_spx, y / self.tile_spx) for x, y in self.movement.reach.path_spx]
        sheet.strokes([path], MOVE, 2)
        gaps = [(row.gap.at_least_spx, row.height_tiles) for row in self.rows]
        windows = [(row.gap_with_window_spx, row.height_tiles) for row in self.rows]
        self._line(sheet, windows, BLUISH_GREEN, _disc, dash=True)
        self._line(sheet, gaps, BLUE, _square, dash=False)
        sheet.paste(legend, (0, self.top + grid_height + _MARGIN))
        return sheet

    def _at(self, x_tiles: float, up_tiles: float) -> Point:
        return self.left + (_NEAR_TILES + x_tiles) * self.tile, self.top + (self.up - up_tiles) * self.tile

    def _grid(self, sheet: Sheet) -> None:
        right, bottom = (round(end) for end in self._at(self.columns, -self.down - 1))
        left, top = (round(end) for end in self._at(-_NEAR_TILES, self.up))
        for column in range(-_NEAR_TILES, self.columns + 1):
            line = round(self._at(column, 0)[0])
            sheet.rect((line, top, line + 1, bottom), GRID_FIFTH)
        for height in range(-self.down - 1, self.up + 1):
            line = round(self._at(0, height)[1])
            sheet.rect((left, line, right, line + 1), GRID_FIFTH)
        middle = line_height(SIZE) / 2
        before = self._at(0, 0)[0] - 14 - text_width(_ACROSS, SIZE) / 2
        sheet.text_centred((before, middle), _ACROSS, SIZE, ink=QUIET_INK)
        step = -(-text_width(f" {self.columns} ", SIZE) // self.tile)
        for column in range(0, self.columns + 1, step):
            sheet.text_centred((self._at(column, 0)[0], middle), str(column), SIZE, ink=QUIET_INK)
        step = -(-line_height(SIZE) // self.tile)
        for row in self.rows:
            if row.height_tiles % step == 0:
                words = height_words(row.height_tiles)
                at = (self.left - 6 - text_width(words, SIZE) / 2, self._at(0, row.height_tiles)[1])
                sheet.text_centred(at, words, SIZE, ink=QUIET_INK)

    def _ledge(self, sheet: Sheet) -> None:
        left, top = (round(end) for end in self._at(-_NEAR_TILES, 0))
        right, bottom = (round(end) for end in self._at(0, -1))
        sheet.rect((left, top, right, bottom), SOLID_FILL)
        sheet.frame((left, top, right, bottom), EDGE)
        # the body on the last subpixel that carries it
        wide, high = (size / self.tile_spx for size in (self.movement.body_w_spx, self.movement.body_h_spx))
        left, top = (round(end) for end in self._at(0, high))
        sheet.frame((left, top, round(self._at(wide, 0)[0]), round(self._at(0, 0)[1])), MOVE)

    def _line(self, sheet: Sheet, ends: list[tuple[int | None, int]], colour: Rgb, mark: _Mark, *, dash: bool) -> None:
        points = [self._at(x / self.tile_spx, height) for x, height in ends if x is not None]
        if len(points) > 1:
            sheet.strokes(dashed(points, 6, 4) if dash else [points], colour, 2)
        for point in points:
            mark(sheet, point, colour)

    def _legend(self) -> Sheet:
        lines = [
            (BLUE, _square, False, "the widest gap that any input crosses"),
            (BLUISH_GREEN, _disc, True, f"at least so wide with {window_words(self.movement)}"),
            (MOVE, None, False, "the body at the edge, and the path of its foremost foot in the longest jump"),
        ]
        row = line_height(SIZE) + 2
        sheet = Sheet(self.width, row * len(lines))
        for i, (colour, mark, dash, words) in enumerate(lines):
            y = row * i + row / 2
            path = [(float(self.left), y), (self.left + 34.0, y)]
            sheet.strokes(dashed(path, 6, 4) if dash else [path], colour, 2)
            if mark is not None:
                mark(sheet, (self.left + 17, y), colour)
            sheet.text((self.left + 44, y - SIZE * 0.62), words, SIZE, ink=INK)
        return sheet


def _disc(sheet: Sheet, at: Point, colour: Rgb) -> None:
    sheet.disc(at, _MARK + 1, INK)
    sheet.disc(at, _MARK, colour)


def _square(sheet: Sheet, at: Point, colour: Rgb) -> None:
    for size, ink in ((_MARK + 1, INK), (_MARK, colour)):
        x, y = at
        sheet.shape([(x - size, y - size), (x + size, y - size), (x + size, y + size), (x - size, y + size)], ink)
