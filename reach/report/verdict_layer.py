"""The verdict on every standable tile, as a band along its top: it can be stood on, it cannot, or that is not known."""

from __future__ import annotations

from collections.abc import Iterable

from reach.findings import Tile, Verdict
from reach.report.palette import BLACK, EDGE, VERDICT_COLOUR, WHITE
from reach.report.sheet import Point, Sheet
from reach.report.view import View

LEAST_PATTERN_TILE_PX = 12


def band_height(tile: int) -> int:
    """Height of the band in px of the picture, its dark upper line and its white lower line included."""
    return max(1, min(9, round(tile * 0.3)))


def paint_verdicts(sheet: Sheet, tiles: dict[Verdict, list[Tile]], view: View) -> None:
    """Paint the bands of the tiles that the window shows.

    Parameters
    ----------
    sheet : Sheet
    tiles : dict
        Standable tiles by verdict; others than the window's are left out.
    view : View
    """
    for verdict, those in tiles.items():
        stamp = verdict_band(verdict, view.tile).image
        for tile in those:
            if view.holds(tile):
                left, top, _, _ = view.tile_box(tile)
                sheet.image.paste(stamp, (left, top))


def verdict_band(verdict: Verdict, tile: int) -> Sheet:
    """One tile's band: green and whole, red slashes on white, or yellow dots on black.

    It brings its own ground, so that its contrast is the same on every material.
    """
    height = band_height(tile)
    colour = VERDICT_COLOUR[verdict]
    sheet = Sheet(tile, height, BLACK if verdict is Verdict.UNDECIDED else WHITE)
    if tile < LEAST_PATTERN_TILE_PX:
        _paint_small(sheet, verdict)
        return sheet
    if verdict is Verdict.REACHABLE:
        sheet.rect((0, 1, tile, height - 1), colour)
    elif verdict is Verdict.UNREACHABLE:
        sheet.strokes(_slashes(tile, height), colour, max(1.8, tile / 12))
    else:
        number = max(2, tile // 8)
        for i in range(number):
            sheet.disc((tile * (i + 0.5) / number, (height + 1) / 2), height * 0.27, colour)
    sheet.rect((0, 0, tile, 1), EDGE)
    return sheet


def _slashes(tile: int, height: int) -> Iterable[list[Point]]:
    number = max(2, tile // 8)
    lean = height * 0.45
    for i in range(-1, number + 1):
        x = tile * (i + 0.5) / number
        yield [(x - lean, height + 0.5), (x + lean, 0.5)]


def _paint_small(sheet: Sheet, verdict: Verdict) -> None:
    """Bands too small for a pattern: whole, every other pixel, or with dark gaps."""
    colour = VERDICT_COLOUR[verdict]
    step = {Verdict.REACHABLE: 1, Verdict.UNREACHABLE: 2, Verdict.UNDECIDED: 3}[verdict]
    for x in range(0, sheet.width, step):
        sheet.rect((x, 0, x + 1, sheet.height), colour)
