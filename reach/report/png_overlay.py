"""The picture of a check: the level, and over it what can be reached, how, and what was found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

from reach.errors import InputError, Problem
from reach.files import write_bytes
from reach.findings import Report, Tile
from reach.report.blocks import stack
from reach.report.finding_layer import NumberedFinding
from reach.report.key import key_block
from reach.report.legend import MOST_LISTED, findings_block, note_block, route_block, shows_timing, title_block
from reach.report.map_strip import Strip, draw_strips
from reach.report.sheet import Box, Sheet, TextItem
from reach.report.view import (
    LARGEST_MAP_PX,
    READABLE_TILE_PX,
    STRIP_WIDTH_PX,
    View,
    choose_tile,
    cut_into_views,
)

if TYPE_CHECKING:
    from reach.level import Level

MARGIN = 28
LEAST_WIDTH = 940
"""Width of the text's part of a page, however small the map is."""

_GAP = 24


@dataclass(frozen=True)
class Overlay:
    """A finished picture and what stands where on it, so that it can be checked without eyes.

    Attributes
    ----------
    image : PIL.Image.Image
    texts : tuple of TextItem
        Every line of text written.
    labels : tuple of Box
        The boxes of all labels on the map.
    windows : tuple of (View, (int, int))
        The parts of the map shown, and where the upper left corner of each lies in the picture.
    """

    image: Image.Image
    texts: tuple[TextItem, ...]
    labels: tuple[Box, ...]
    windows: tuple[tuple[View, tuple[int, int]], ...]

    def tile_box(self, tile: Tile) -> Box:
        """The box of a tile in the picture, in the first window that shows it."""
        view, (left, top) = next((view, at) for view, at in self.windows if view.holds(tile))
        x1, y1, x2, y2 = view.tile_box(tile)
        return x1 + left, y1 + top, x2 + left, y2 + top


def draw_overlay(level: Level, report: Report, scale: int | None = None) -> Image.Image:
    """Draw a check over its level.

    Parameters
    ----------
    level : Level
    report : Report
        Of this level.
    scale : int, optional
        Pixels of the picture for each pixel of the map, at least 1; by default as large as is readable on a screen.

    Returns
    -------
    PIL.Image.Image
        RGB. Long maps are cut into strips. Equal input gives equal pixels.

    Raises
    ------
    InputError
        If the map at this scale would make a picture too large to handle.
    """
    return compose_overlay(level, report, scale).image


def compose_overlay(level: Level, report: Report, scale: int | None = None) -> Overlay:
    """Draw a check over its level, as `draw_overlay`, and keep what stands where."""
    tile = tile_size(level, scale)
    views = cut_into_views(range(level.columns), range(level.rows), tile, level.tile_px)
    listed = gravest_first(report)[:MOST_LISTED]
    strips = draw_strips(level, report, listed, views)
    sizes = [(strip.sheet.width, strip.sheet.height) for strip in strips]
    corners = set_side_by_side(sizes, STRIP_WIDTH_PX)
    ends = [(x + size[0], y + size[1]) for (x, y), size in zip(corners, sizes, strict=True)]
    width = max(LEAST_WIDTH, *(x for x, _ in ends))
    maps_height = max(y for _, y in ends)
    above = title_block(level.name, report, width, _scale_note(level, tile, scale))
    below = stack(
        [
            findings_block(listed, len(report.findings) - len(listed), width),
            route_block(report, width),
            key_block(level, report, width),
            *([note_block(width)] if shows_timing(report) else []),
        ],
        _GAP,
    )
    maps_top = MARGIN + above.height + _GAP
    page = Sheet(width + 2 * MARGIN, maps_top + maps_height + _GAP + below.height + MARGIN)
    page.paste(above, (MARGIN, MARGIN))
    corners = [(x + MARGIN, y + maps_top) for x, y in corners]
    for strip, corner in zip(strips, corners, strict=True):
        page.paste(strip.sheet, corner)
    page.paste(below, (MARGIN, maps_top + maps_height + _GAP))
    return _overlay(page, strips, corners)


def _overlay(page: Sheet, strips: Sequence[Strip], corners: Sequence[tuple[int, int]]) -> Overlay:
    labels = [
        (left + x1, top + y1, left + x2, top + y2)
        for strip, (left, top) in zip(strips, corners, strict=True)
        for x1, y1, x2, y2 in strip.labels
    ]
    windows = [
        (strip.view, (left + strip.map_at[0], top + strip.map_at[1]))
        for strip, (left, top) in zip(strips, corners, strict=True)
    ]
    return Overlay(page.image, tuple(page.texts), tuple(labels), tuple(windows))


def gravest_first(report: Report) -> list[NumberedFinding]:
    """The findings with their numbers: errors, warnings, notes, and last those that the level file accepts."""
    ordered = sorted(report.findings, key=lambda finding: (finding.accepted is not None, -finding.severity.rank))
    return [NumberedFinding(number, finding) for number, finding in enumerate(ordered, start=1)]


def tile_size(level: Level, scale: int | None) -> int:
    """The size of a tile in the picture in px.

    Raises
    ------
    InputError
        If `scale` is below 1 or makes the picture too large to handle.
    """
    if scale is None:
        return choose_tile(level.columns, level.rows)
    tile = level.tile_px * scale
    megapixels = level.columns * level.rows * tile * tile / 1e6
    if scale < 1 or megapixels * 1e6 > LARGEST_MAP_PX:
        found = f"{scale}" + (f", a map of {megapixels:.0f} megapixels" if scale >= 1 else "")
        allowed = f"a whole number from 1 on with which the map takes at most {LARGEST_MAP_PX // 10**6} megapixels"
        raise InputError([Problem("<arguments>", "scale", found, f"{allowed}, or none to have it chosen")])
    return tile


def _scale_note(level: Level, tile: int, scale: int | None) -> str:
    if scale is not None or tile >= READABLE_TILE_PX:
        return ""
    megapixels = level.columns * level.rows * READABLE_TILE_PX**2 / 1e6
    usual = f"at the usual {READABLE_TILE_PX} px this map would take {megapixels:.0f} megapixels."
    return f"Drawn small, {tile} px a tile: {usual}" + (
        " Tiles and verdicts are shown without patterns." if tile < 6 else ""
    )


def set_side_by_side(sizes: Sequence[tuple[int, int]], width: int, gap: int = _GAP) -> list[tuple[int, int]]:
    """Where the upper left corners of boxes go that stand beside one another as long as they fit, then below."""
    corners: list[tuple[int, int]] = []
    x, y, row_height = 0, 0, 0
    for box_width, box_height in sizes:
        if x and x + box_width > width:
            x, y, row_height = 0, y + row_height + gap, 0
        corners.append((x, y))
        x += box_width + gap
        row_height = max(row_height, box_height)
    return corners


def save_image(image: Image.Image, path: str | Path) -> None:
    """Write a picture as PNG, whole or not at all.

    Parameters
    ----------
    image : PIL.Image.Image
    path : str or Path

    Raises
    ------
    OutputError
        If it cannot be written. The file is then as it was before.
    """
    data = BytesIO()
    image.save(data, format="PNG", optimize=False, compress_level=6)
    write_bytes(path, data.getvalue())
