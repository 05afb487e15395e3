"""The contact sheet of a world: every level in small with how it stands, joined by arrows for the links."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from reach.errors import InputError, Problem
from reach.findings import Verdict
from reach.kernels.params import HAZARD, ONE_WAY, SOLID
from reach.report.blocks import Sign, Words, line_of, lines_of, stack
from reach.report.font import shorten, wrap
from reach.report.palette import BLUE, INK, QUIET_INK, RULER, VERDICT_COLOUR, VERMILLION, Rgb
from reach.report.sheet import Point, Sheet, TextItem, dashed
from reach.report.world_card import (
    BEGINS,
    CARD_WIDTH_PX,
    GREYED,
    GROUND,
    STANDING_COLOUR,
    card_height,
    draw_card,
    draw_pill,
    hatch,
    pill_width,
    put_pattern,
    title_height,
)
from reach.report.world_layout import Arrow, Layout, arrows_of, lay_out
from reach.report.world_table import Standing, standing_of
from reach.report.world_text import extent, headline

if TYPE_CHECKING:
    from reach.world.result import WorldReport
    from reach.world.world_file import LoadedWorld

MOST_LEVELS = 1000
"""A sheet of more would be too large to handle."""
MARGIN = 28
LEAST_WIDTH = 940
LINK_COLOUR: dict[Verdict, Rgb] = {Verdict.REACHABLE: BLUE, Verdict.UNREACHABLE: VERMILLION, Verdict.UNDECIDED: INK}

_GAP = 22
_LINE_PX = 2.0
_HEAD_PX = (11.0, 5.0)
"""Length and half the width of an arrow's head."""
_DASHES = {Verdict.UNREACHABLE: (9.0, 6.0), Verdict.UNDECIDED: (1.0, 5.0)}
_KEY_SIZE = 13
_KEY_PX = 26
_LINK_WORDS = {
    Verdict.REACHABLE: "exit can be reached",
    Verdict.UNREACHABLE: "exit cannot be reached",
    Verdict.UNDECIDED: "exit undecided",
}
_READ = (
    "An arrow leads from a level with an exit to the level with the entrance behind it; one stands for all links "
    "between two levels of which the same is known."
)
_ORDER = (
    "Levels stand in columns by their distance from the start, from left to right, and on below; those that no way "
    "leads to come last."
)
_TOGETHER = "A map shows what can be stood on from all entrances of the level together."


@dataclass(frozen=True)
class ContactSheet:
    """A finished sheet and what stands where on it, so that it can be checked without eyes.

    `layout` lies at `corner` of the picture.
    """

    image: Image.Image
    texts: tuple[TextItem, ...]
    layout: Layout
    corner: tuple[int, int]


def require_few_levels(world: LoadedWorld) -> None:
    """Refuse a world of which a sheet would be too large.

    Raises
    ------
    InputError
        If it has more than MOST_LEVELS levels.
    """
    if len(world.levels) > MOST_LEVELS:
        allowed = f"at most {MOST_LEVELS} levels for a contact sheet; the table and --images have no such limit"
        raise InputError([Problem(world.origin, "", f"{len(world.levels)} levels", allowed)])


def compose_contact_sheet(world: LoadedWorld, report: WorldReport) -> ContactSheet:
    """Draw a world.

    Parameters
    ----------
    world : LoadedWorld
        At most MOST_LEVELS levels.
    report : WorldReport
        Of this world.

    Returns
    -------
    ContactSheet
        Equal input gives equal pixels.
    """
    arrows = arrows_of(report)
    title_px = title_height(report)
    start = None if report.start is None else report.start[0]
    layout = lay_out([level.id for level in report.levels], arrows, start, (CARD_WIDTH_PX, card_height(title_px)))
    width = max(LEAST_WIDTH, layout.width)
    above = _title(report, width)
    below = _key(report, arrows, width)
    top = MARGIN + above.height + _GAP
    page = Sheet(width + 2 * MARGIN, top + layout.height + _GAP + below.height + MARGIN)
    page.paste(above, (MARGIN, MARGIN))
    for result in report.levels:
        left, upper, _, lower = layout.cards[result.id]
        level = world.by_id[result.id].level
        card = draw_card(report, result, level, layout.distance.get(result.id), lower - upper, title_px)
        page.paste(card, (MARGIN + left, top + upper))
    for arrow, path in layout.paths.items():
        draw_arrow(page, [(x + MARGIN, y + top) for x, y in path], arrow.verdict, arrow.both)
    page.paste(below, (MARGIN, top + layout.height + _GAP))
    return ContactSheet(page.image, tuple(page.texts), layout, (MARGIN, top))


def draw_arrow(sheet: Sheet, path: Sequence[Point], verdict: Verdict, both: bool) -> None:
    """Draw a link: whole, dashed or dotted by its verdict, with a head at its end, or at both for a way back."""
    colour = LINK_COLOUR[verdict]
    begin = _towards(path[0], path[1], _HEAD_PX[0] - 2) if both else path[0]
    _line(sheet, [begin, *path[1:-1], _towards(path[-1], path[-2], _HEAD_PX[0] - 2)], verdict)
    _head(sheet, path[-1], path[-2], colour)
    if both:
        _head(sheet, path[0], path[1], colour)


def _line(sheet: Sheet, path: Sequence[Point], verdict: Verdict) -> None:
    pieces = dashed(path, *_DASHES[verdict]) if verdict in _DASHES else [path]
    for piece in pieces:
        for line in pairwise(piece):
            sheet.strokes([line], LINK_COLOUR[verdict], _LINE_PX + (1.0 if verdict is Verdict.UNDECIDED else 0.0))


def _towards(point: Point, other: Point, length: float) -> Point:
    """The point `length` px on from a point towards another, at most halfway."""
    apart = hypot(other[0] - point[0], other[1] - point[1])
    share = min(0.5, length / apart) if apart else 0.0
    return point[0] + (other[0] - point[0]) * share, point[1] + (other[1] - point[1]) * share


def _head(sheet: Sheet, tip: Point, before: Point, colour: Rgb) -> None:
    length, half = _HEAD_PX
    x, y = tip
    back = x - length if before[0] < x else x + length
    sheet.shape([(x, y), (back, y - half), (back, y + half)], colour)


def _title(report: WorldReport, width: int) -> Sheet:
    return stack(
        [
            lines_of([shorten(report.name, width, 24, True)], 24, width, True),
            lines_of(wrap(f"{headline(report)}. {extent(report)}.", width, 15), 15, width),
        ],
        4,
    )


def _key(report: WorldReport, arrows: Sequence[Arrow], width: int) -> Sheet:
    rows = [_levels_key(report), _tiles_key(), _links_key(report, arrows)]
    notes = [_TOGETHER, *([_READ] if arrows else []), *([_ORDER] if report.linked else [])]
    lines = [line for note in notes for line in wrap(note, width, _KEY_SIZE)]
    return stack(
        [
            *(line_of([*row], _KEY_SIZE, width, _KEY_PX) for row in rows if row),
            lines_of(lines, _KEY_SIZE, width, ink=QUIET_INK),
        ],
        4,
    )


def _levels_key(report: WorldReport) -> list[Sign | Words]:
    seen = {standing_of(report, level) for level in report.levels}
    parts: list[Sign | Words] = [Words("Levels   ", True)]
    for standing in Standing:
        if standing in seen:
            parts += [_pill_sign(standing.value, STANDING_COLOUR[standing]), Words("   ")]
    if report.linked:
        parts += [_pill_sign(BEGINS, BLUE), Words("   ")]
    if any(level.verdict is Verdict.UNREACHABLE for level in report.levels):
        parts += [Sign(34, _hatched), Words(" nobody gets there")]
    return parts


def _tiles_key() -> list[Sign | Words]:
    words = {
        Verdict.REACHABLE: "can be stood on",
        Verdict.UNREACHABLE: "cannot be reached",
        Verdict.UNDECIDED: "undecided",
    }
    parts: list[Sign | Words] = [Words("Tiles   ", True)]
    for verdict, text in words.items():
        parts += [Sign(34, _tile_sign(VERDICT_COLOUR[verdict], verdict)), Words(f" {text}   ")]
    materials = {SOLID: "solid", ONE_WAY: "one-way, spring", HAZARD: "hazard"}
    for material, text in materials.items():
        parts += [Sign(34, _tile_sign(GROUND[material])), Words(f" {text}   ")]
    return parts


def _links_key(report: WorldReport, arrows: Sequence[Arrow]) -> list[Sign | Words]:
    if not arrows:
        return []
    parts: list[Sign | Words] = [Words("Links   ", True)]
    for verdict, text in _LINK_WORDS.items():
        if verdict is Verdict.UNDECIDED and report.changed_since:
            text = "not looked at as a whole"
        if any(arrow.verdict is verdict for arrow in arrows):
            parts += [Sign(58, _line_sign(verdict)), Words(f" {text}   ")]
    for both, text in ((False, "one way"), (True, "both ways")):
        if any(arrow.both is both for arrow in arrows):
            parts += [Sign(40 if both else 16, _heads_sign(both)), Words(f" {text}   ")]
    return parts


def _pill_sign(text: str, colour: Rgb) -> Sign:
    width = pill_width(text)

    def draw(sheet: Sheet, centre: Point) -> None:
        draw_pill(sheet, (round(centre[0] - width / 2), round(centre[1] - 10)), text, colour)

    return Sign(width, draw)


def _hatched(sheet: Sheet, centre: Point) -> None:
    box = (round(centre[0]) - 15, round(centre[1]) - 9, round(centre[0]) + 15, round(centre[1]) + 9)
    sheet.rect(box, GREYED)
    hatch(sheet, box)
    sheet.frame(box, QUIET_INK, 2)


def _tile_sign(colour: Rgb, verdict: Verdict | None = None) -> Callable[[Sheet, Point], None]:
    def draw(sheet: Sheet, centre: Point) -> None:
        pixels = np.full((12, 30, 3), colour, dtype=np.uint8)
        if verdict is not None:
            put_pattern(pixels, np.ones((12, 30), dtype=bool), verdict)
        at = round(centre[0]) - 15, round(centre[1]) - 6
        sheet.image.paste(Image.fromarray(pixels), at)
        sheet.frame((at[0] - 1, at[1] - 1, at[0] + 31, at[1] + 13), RULER)

    return draw


def _line_sign(verdict: Verdict) -> Callable[[Sheet, Point], None]:
    """A line as links of this verdict have it: without a head, which tells the way."""

    def draw(sheet: Sheet, centre: Point) -> None:
        _line(sheet, [(centre[0] - 26, centre[1]), (centre[0] + 26, centre[1])], verdict)

    return draw


def _heads_sign(both: bool) -> Callable[[Sheet, Point], None]:
    """The heads of an arrow: without a line, which tells the verdict."""

    def draw(sheet: Sheet, centre: Point) -> None:
        x, y = centre
        reach = 16 if both else _HEAD_PX[0] / 2
        _head(sheet, (x + reach, y), centre, QUIET_INK)
        if both:
            _head(sheet, (x - reach, y), centre, QUIET_INK)

    return draw
