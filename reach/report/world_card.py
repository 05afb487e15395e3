"""The card of a level on a contact sheet: its id, its map in small, how it stands in a sign, words and numbers."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from reach.findings import Severity, Tile, Verdict
from reach.kernels.params import HAZARD, ONE_WAY, SOLID, SPRING
from reach.report.font import line_height, shorten, text_width, wrap
from reach.report.palette import (
    BLACK,
    BLUE,
    BLUISH_GREEN,
    HAZARD_FILL,
    INK,
    ORANGE,
    PAGE,
    QUIET_INK,
    RULER,
    SOLID_FILL,
    SOLID_HATCH,
    VERDICT_COLOUR,
    VERMILLION,
    WHITE,
    YELLOW,
    Rgb,
    text_colour_on,
)
from reach.report.sheet import Sheet
from reach.report.world_table import Standing, standing_of
from reach.wording import count_words

if TYPE_CHECKING:
    from reach.level import Level
    from reach.world.result import LevelResult, Spot, WorldReport

CARD_WIDTH_PX = 224
GREYED: Rgb = (232, 235, 239)
STANDING_COLOUR = {
    Standing.FAILED: BLACK,
    Standing.NOT_ENTERED: VERMILLION,
    Standing.ERRORS: VERMILLION,
    Standing.NOT_FINISHED: YELLOW,
    Standing.UNDECIDED: YELLOW,
    Standing.WARNINGS: ORANGE,
    Standing.GOOD: BLUISH_GREEN,
    Standing.NOT_GRAVE: BLUISH_GREEN,
    Standing.LEFT_OUT: RULER,
}
BEGINS = "> begins here"

_MAP_PX = (204, 108)
_LARGEST_TILE_PX = 12
_INDENT = 10
_TITLE_SIZE = 15
_TITLE_AT = 8
_MOST_TITLE_LINES = 5
_BELOW_TITLE_PX = 200
_SIZE = 12
_PILL_PX = 20
GROUND = {SOLID: SOLID_FILL, SPRING: SOLID_HATCH, ONE_WAY: SOLID_HATCH, HAZARD: HAZARD_FILL}
"""Colours of the materials, where nothing is known of a tile."""
_OVER = (Verdict.REACHABLE, Verdict.UNDECIDED, Verdict.UNREACHABLE)
"""What is shown where several tiles share a pixel: the last of them."""


def title_height(report: WorldReport) -> int:
    """Return the height in px that the longest of the levels' ids takes."""
    return line_height(_TITLE_SIZE) * max(len(_title_lines(level.id)) for level in report.levels)


def card_height(title_px: int) -> int:
    """Return the least height of a card in px."""
    return title_px + _BELOW_TITLE_PX


def _title_lines(level_id: str) -> list[str]:
    """An id on as many lines as it needs, broken after hyphens where that is possible."""
    room = CARD_WIDTH_PX - 2 * _INDENT
    if " " in level_id:
        return wrap(level_id, room, _TITLE_SIZE, True, _MOST_TITLE_LINES)
    lines = wrap(level_id.replace("-", "- "), room, _TITLE_SIZE, True, _MOST_TITLE_LINES)
    return [line.replace("- ", "-") for line in lines]


def draw_card(
    report: WorldReport, result: LevelResult, level: Level | None, distance: int | None, height: int, title_px: int
) -> Sheet:
    """Draw the card of a level.

    Parameters
    ----------
    report : WorldReport
    result : LevelResult
        The level's, of the report.
    level : Level, optional
        None where its file could not be read.
    distance : int, optional
        The least number of links from the start of the game to it.
    height : int
        In px, at least what `card_height` says of a title of this height.
    title_px : int
        Height of the title; what stands below begins at the same height on every card.
    """
    standing = standing_of(report, result)
    begins = report.start is not None and report.start[0] == result.id
    grey = result.verdict is Verdict.UNREACHABLE
    paper = GREYED if grey or result.left_out else PAGE
    width = CARD_WIDTH_PX
    sheet = Sheet(width, height, paper)
    if grey:
        hatch(sheet, (0, 0, width, height))
    sheet.frame((0, 0, width, height), BLUE if begins else QUIET_INK, 4 if begins else 2 if grey else 1)
    y = _TITLE_AT
    for line in _title_lines(result.id):
        _line(sheet, y, line, _TITLE_SIZE, True, INK, paper)
        y += line_height(_TITLE_SIZE)
    y = _TITLE_AT + title_px + 4
    _put_map(sheet, (_INDENT, y), level, tile_verdicts(report, result), grey)
    y += _MAP_PX[1] + 7
    x = _INDENT + draw_pill(sheet, (_INDENT, y), standing.value, STANDING_COLOUR[standing]) + 6
    if begins:
        draw_pill(sheet, (x, y), BEGINS, BLUE)
    y = _line(sheet, y + _PILL_PX + 4, _counts(report, result), _SIZE, False, INK, paper)
    _line(sheet, y, _way(report, result, distance), _SIZE, False, QUIET_INK, paper)
    return sheet


def draw_pill(sheet: Sheet, at: tuple[int, int], text: str, colour: Rgb) -> int:
    """Draw words on a coloured ground with a dark edge, and return its width in px."""
    left, top = at
    width = pill_width(text)
    sheet.pill((left, top, left + width, top + _PILL_PX), 6, INK)
    sheet.pill((left + 1, top + 1, left + width - 1, top + _PILL_PX - 1), 5, colour)
    middle = (left + width / 2, top + _PILL_PX / 2)
    sheet.text_centred(middle, text, _SIZE, True, text_colour_on(colour), colour)
    return width


def pill_width(text: str) -> int:
    """Return the width of words on a coloured ground in px."""
    return text_width(text, _SIZE, True) + 14


def hatch(sheet: Sheet, box: tuple[int, int, int, int]) -> None:
    """Draw rising diagonals over a box."""
    left, top = box[:2]
    pixels = np.asarray(sheet.image.crop(box)).copy()
    down, across = np.indices(pixels.shape[:2])
    pixels[(down + top + across + left) % 9 == 0] = RULER
    sheet.image.paste(Image.fromarray(pixels), (left, top))


def tile_verdicts(report: WorldReport, result: LevelResult) -> dict[Tile, Verdict]:
    """Return the verdict on every standable tile of a level from all its entrances together.

    A tile is reachable if it is from an entrance that a player reaches, unreachable if it is from every entrance that
    may be reached, and where one of those could not be checked it is not called so.
    """
    found: dict[Tile, Verdict] = {}
    failed = result.failed
    for outcome in result.outcomes:
        if outcome.report is None:
            continue
        entered = entrance_verdict(report, (result.id, outcome.job.entrance))
        for verdict, tiles in outcome.report.tiles.items():
            for tile in tiles:
                said = Verdict.UNDECIDED
                if verdict is Verdict.UNREACHABLE and not failed:
                    said = Verdict.UNREACHABLE
                elif verdict is Verdict.REACHABLE and entered is Verdict.REACHABLE:
                    said = Verdict.REACHABLE
                before = found.get(tile, said)
                found[tile] = said if said is before else _either(said, before)
    return found


def entrance_verdict(report: WorldReport, entrance: Spot) -> Verdict:
    """Return whether a player gets to an entrance: the best that is known of the links that lead to it.

    A report on a part of the world does not look at that, and is drawn as if one did.
    """
    if not report.linked or report.changed_since or report.start == entrance:
        return Verdict.REACHABLE
    known = {link.verdict for link in report.links if link.target == entrance}
    best = (Verdict.REACHABLE, Verdict.UNDECIDED)
    return next((verdict for verdict in best if verdict in known), Verdict.UNREACHABLE)


def _either(one: Verdict, other: Verdict) -> Verdict:
    return Verdict.REACHABLE if Verdict.REACHABLE in (one, other) else Verdict.UNDECIDED


def thumbnail(level: Level, verdicts: Mapping[Tile, Verdict], most: tuple[int, int] = _MAP_PX) -> Image.Image:
    """Draw a map as large as fits into `most` px, standable tiles in the colour and pattern of their verdict.

    Of a map with more tiles than that has pixels, one pixel shows several: what is graver of their verdicts.
    """
    codes = np.zeros((level.rows, level.columns), dtype=np.uint8)
    colours: list[Rgb] = [PAGE]
    for material, colour in GROUND.items():
        codes[level.material == material] = len(colours)
        colours.append(colour)
    patterns = len(colours)
    for (column, row), verdict in verdicts.items():
        codes[row, column] = patterns + _OVER.index(verdict)
    share = max(1, ceil(level.columns / most[0]), ceil(level.rows / most[1]))
    down, across = (-size % share for size in codes.shape)
    blocks = np.pad(codes, ((0, down), (0, across))).reshape(
        (level.rows + down) // share, share, (level.columns + across) // share, share
    )
    small = blocks.max(axis=(1, 3))
    rows, columns = small.shape
    across_px = min(columns * _LARGEST_TILE_PX, most[0], most[1] * columns // rows)
    down_px = max(1, across_px * rows // columns)
    large = small[np.arange(down_px) * rows // down_px][:, np.arange(across_px) * columns // across_px]
    pixels = np.array([*colours, *(VERDICT_COLOUR[verdict] for verdict in _OVER)], dtype=np.uint8)[large]
    for number, verdict in enumerate(_OVER, start=patterns):
        put_pattern(pixels, large == number, verdict)
    return Image.fromarray(pixels)


def put_pattern(pixels: np.ndarray, where: np.ndarray, verdict: Verdict) -> None:
    """Put a verdict's pattern on ground of its colour: white slashes, black checks, or nothing where it is reachable.

    Parameters
    ----------
    pixels : ndarray of uint8 [height, width, 3]
        Changed.
    where : ndarray of bool [height, width]
    verdict : Verdict
    """
    down, across = np.indices(where.shape)
    if verdict is Verdict.UNREACHABLE:
        pixels[where & ((down + across) % 4 == 0)] = WHITE
    elif verdict is Verdict.UNDECIDED:
        pixels[where & ((down // 2 + across // 2) % 2 == 0)] = BLACK


def _put_map(
    sheet: Sheet, at: tuple[int, int], level: Level | None, verdicts: Mapping[Tile, Verdict], grey: bool
) -> None:
    left, top = at
    width, height = _MAP_PX
    if level is None:
        sheet.frame((left, top, left + width, top + height), QUIET_INK)
        sheet.rect((left + 1, top + 1, left + width - 1, top + height - 1), PAGE)
        words = "no level to draw"
        sheet.text_centred((left + width / 2, top + height / 2), words, _SIZE, False, QUIET_INK, PAGE)
        return
    picture = thumbnail(level, verdicts)
    left += (width - picture.width) // 2
    top += (height - picture.height) // 2
    box = (left, top, left + picture.width, top + picture.height)
    sheet.image.paste(picture, (left, top))
    if grey:
        hatch(sheet, box)
    sheet.frame((box[0] - 1, box[1] - 1, box[2] + 1, box[3] + 1), RULER)


def _line(sheet: Sheet, y: int, text: str, size: int, bold: bool, ink: Rgb, paper: Rgb) -> int:
    """Write a line on a plain ground, and return where the next begins."""
    if text:
        right = _INDENT + text_width(text, size, bold)
        sheet.rect((_INDENT - 3, y, right + 3, y + line_height(size)), paper)
        sheet.text((_INDENT, y), text, size, bold, ink, paper)
    return y + line_height(size)


def _counts(report: WorldReport, result: LevelResult) -> str:
    if result.left_out:
        room = CARD_WIDTH_PX - 2 * _INDENT
        return shorten(f"unchanged since {report.changed_since}", room, _SIZE, False)
    if result.unchecked:
        return "not checked"
    numbers = [(severity, report.count_of(result.id, severity)) for severity in (Severity.ERROR, Severity.WARNING)]
    return ", ".join(count_words(number, severity.value) for severity, number in numbers)


def _way(report: WorldReport, result: LevelResult, distance: int | None) -> str:
    if not report.linked or distance == 0:
        return ""
    if result.verdict is Verdict.UNREACHABLE:
        return "nobody gets here"
    return "" if distance is None else f"{count_words(distance, 'link')} from the start"
