"""The map itself: every material by colour and pattern, and the region that the body can ever cover."""

from __future__ import annotations

import numpy as np
from PIL import Image

from reach.kernels.params import HAZARD, ONE_WAY, SOLID, SPRING
from reach.report.palette import (
    COVERED,
    COVERED_EDGE,
    EDGE,
    HAZARD_FILL,
    PAGE,
    SOLID_FILL,
    SOLID_HATCH,
    WHITE,
    Rgb,
)
from reach.report.sheet import Sheet
from reach.report.view import View

CELLS_A_TILE = 8
LEAST_GRID_TILE_PX = 12
LEAST_PATTERN_TILE_PX = 6
_BAND_PX = 2_000_000
"""Pixels painted at a time, to bound the memory."""


def paint_map(sheet: Sheet, material: np.ndarray, view: View, coverage: np.ndarray | None = None) -> None:
    """Paint the window's tiles, and under them where the body can be.

    Parameters
    ----------
    sheet : Sheet
        Painted from (0, view.top) on.
    material : ndarray of uint8 [rows, columns]
        The whole map's, in the codes of the kernels.
    view : View
    coverage : ndarray of bool [rows * 8, columns * 8], optional
        Cells of an eighth of a tile; None leaves the region out.
    """
    part = material[view.first_row : view.end_row, view.first_column : view.end_column]
    covered = _covered(coverage, part, view)
    rows_a_band = max(1, _BAND_PX // max(1, view.width * view.tile))
    for first in range(0, part.shape[0], rows_a_band):
        rows = slice(first, min(first + rows_a_band, part.shape[0]))
        band = _paint_band(part, rows, view, covered)
        sheet.image.paste(Image.fromarray(band), (0, view.top + rows.start * view.tile))


def _covered(coverage: np.ndarray | None, part: np.ndarray, view: View) -> np.ndarray | None:
    """For every pixel of the window 0 outside the region, 1 inside, 2 on its outline."""
    if coverage is None:
        return None
    cells = coverage[
        view.first_row * CELLS_A_TILE : view.end_row * CELLS_A_TILE,
        view.first_column * CELLS_A_TILE : view.end_column * CELLS_A_TILE,
    ]
    down = np.arange(view.height) * CELLS_A_TILE // view.tile
    across = np.arange(view.width) * CELLS_A_TILE // view.tile
    if view.tile >= CELLS_A_TILE:
        inside = cells[down][:, across]
    else:
        inside = np.logical_or.reduceat(np.logical_or.reduceat(cells, down, axis=0), across, axis=1)
    blocked = _to_pixels((part == SOLID) | (part == SPRING), view.tile)
    outside = np.pad(~inside & ~blocked, 1, constant_values=False)
    beside = outside[:-2, 1:-1] | outside[2:, 1:-1] | outside[1:-1, :-2] | outside[1:-1, 2:]
    if view.tile < LEAST_PATTERN_TILE_PX:
        beside[:] = False
    return inside.astype(np.uint8) + (inside & beside)


def _to_pixels(tiles: np.ndarray, tile: int) -> np.ndarray:
    return tiles.repeat(tile, axis=0).repeat(tile, axis=1)


def _paint_band(part: np.ndarray, rows: slice, view: View, covered: np.ndarray | None) -> np.ndarray:
    """Some rows of tiles as pixels, uint8 [height, width, 3]."""
    tile = view.tile
    tiles = part[rows]
    height, width = tiles.shape[0] * tile, tiles.shape[1] * tile
    band = np.empty((height, width, 3), dtype=np.uint8)
    band[:] = PAGE
    if covered is not None:
        here = covered[rows.start * tile : rows.stop * tile]
        band[here > 0] = COVERED
        band[here == 2] = COVERED_EDGE
    if tile >= LEAST_GRID_TILE_PX:
        _rule_grid(band, view, rows.start)
    blocks = (part == SOLID) | (part == SPRING)
    solid = _to_pixels(tiles == SOLID, tile)
    band[solid] = SOLID_FILL
    band[_to_pixels(tiles == SPRING, tile)] = WHITE if tile >= LEAST_PATTERN_TILE_PX else SOLID_HATCH
    if tile >= LEAST_PATTERN_TILE_PX:
        band[solid & _hatch(height, width, view, rows.start)] = SOLID_HATCH
    band[_outline(blocks, rows, tile)] = EDGE
    for code, (mask, colour) in _stamps(tile).items():
        _stamp(band, _to_pixels(tiles == code, tile), mask, colour)
    return band


def _rule_grid(band: np.ndarray, view: View, first_row: int) -> None:
    """Darken the tiles' borders a little, every fifth a little more."""
    for axis, first in ((0, view.first_row + first_row), (1, view.first_column)):
        index = np.arange(band.shape[axis])
        at_border = index[index % view.tile == 0]
        number = first + at_border // view.tile
        for wanted, share in ((number % 5 != 0, 243), (number % 5 == 0, 226)):
            lines = at_border[wanted]
            if axis == 0:
                band[lines] = (band[lines].astype(np.uint16) * share // 255).astype(np.uint8)
            else:
                band[:, lines] = (band[:, lines].astype(np.uint16) * share // 255).astype(np.uint8)


def _hatch(height: int, width: int, view: View, first_row: int) -> np.ndarray:
    """Rising diagonals that run on from tile to tile and from strip to strip."""
    period = 8 if view.tile >= 16 else 5
    down = np.arange(height) + (view.first_row + first_row) * view.tile
    across = np.arange(width) + view.first_column * view.tile
    return (down[:, None] + across[None, :]) % period < (2 if view.tile >= 16 else 1)


def _outline(blocks: np.ndarray, rows: slice, tile: int) -> np.ndarray:
    """Where blocking ground borders on something open, the inner pixels of that border."""
    thick = 2 if tile >= 16 else 1 if tile >= 4 else 0
    open_around = np.pad(~blocks, 1, constant_values=False)
    here = blocks[rows]
    inner = slice(rows.start + 1, rows.stop + 1)
    above = here & open_around[rows.start : rows.stop, 1:-1]
    below = here & open_around[rows.start + 2 : rows.stop + 2, 1:-1]
    before = here & open_around[inner, :-2]
    after = here & open_around[inner, 2:]
    place_down = np.arange(here.shape[0] * tile)[:, None] % tile
    place_across = np.arange(here.shape[1] * tile)[None, :] % tile
    return (
        (_to_pixels(above, tile) & (place_down < thick))
        | (_to_pixels(below, tile) & (place_down >= tile - thick))
        | (_to_pixels(before, tile) & (place_across < thick))
        | (_to_pixels(after, tile) & (place_across >= tile - thick))
    )


def _stamp(band: np.ndarray, where: np.ndarray, mask: np.ndarray, colour: Rgb) -> None:
    """Lay a tile's pattern on every tile of one material."""
    if not where.any():
        return
    repeats = (where.shape[0] // mask.shape[0], where.shape[1] // mask.shape[1])
    share = np.tile(mask, repeats)[where].astype(np.uint32)[:, None]
    under = band[where].astype(np.uint32)
    band[where] = ((under * (255 - share) + np.array(colour, dtype=np.uint32) * share + 127) // 255).astype(np.uint8)


def _stamps(tile: int) -> dict[int, tuple[np.ndarray, Rgb]]:
    """One tile's pattern for each material that has its own, as a mask and a colour."""
    return {
        ONE_WAY: (_one_way_mask(tile), EDGE),
        HAZARD: (_teeth_mask(tile), HAZARD_FILL),
        SPRING: (_zigzag_mask(tile), HAZARD_FILL),
    }


def _one_way_mask(tile: int) -> np.ndarray:
    """A bar along the top, and ticks that hang from it."""
    sheet = Sheet(tile, tile, (0, 0, 0))
    sheet.rect((0, 0, tile, 2 if tile >= 10 else 1), WHITE)
    if tile >= LEAST_PATTERN_TILE_PX:
        thick = 2 if tile >= 16 else 1
        for i in range(3):
            x = round(tile * (i + 0.5) / 3 - thick / 2)
            sheet.rect((x, 0, x + thick, round(tile * 0.55)), WHITE)
    return _channel(sheet)


def _teeth_mask(tile: int) -> np.ndarray:
    """A row of teeth."""
    sheet = Sheet(tile, tile, (0, 0, 0))
    number = 3 if tile >= 14 else 2 if tile >= 5 else 1
    for i in range(number):
        left, right = tile * i / number, tile * (i + 1) / number
        sheet.shape([(left, tile), ((left + right) / 2, tile * 0.18), (right, tile)], WHITE)
    sheet.rect((0, tile - max(1, tile // 10), tile, tile), WHITE)
    return _channel(sheet)


def _zigzag_mask(tile: int) -> np.ndarray:
    """A coil seen from the side, between two plates."""
    sheet = Sheet(tile, tile, (0, 0, 0))
    if tile >= LEAST_PATTERN_TILE_PX:
        left, right = tile * 0.24, tile * 0.76
        upper, lower = tile * 0.36, tile * 0.86
        turns = 4 if tile >= 16 else 3
        path = [(left if i % 2 else right, upper + (lower - upper) * i / turns) for i in range(turns + 1)]
        thick = max(1.0, tile / 13)
        sheet.strokes([path], WHITE, thick)
        sheet.strokes([[(left, upper), (right, upper)], [(left, lower), (right, lower)]], WHITE, thick)
    return _channel(sheet)


def _channel(sheet: Sheet) -> np.ndarray:
    return np.asarray(sheet.image)[:, :, 0].copy()
