"""A replay as one picture: the body drawn again and again along its way, with what happens at which tick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from math import hypot
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from reach.report.blocks import Sign, Words, line_of, lines_of, stack
from reach.report.flown import Flown, events
from reach.report.font import clean, shorten, wrap
from reach.report.label_layer import Label, lay_labels
from reach.report.labels import LabelPlacer
from reach.report.map_layer import paint_map
from reach.report.palette import BLUISH_GREEN, INK, QUIET_INK, ROUTE, VERMILLION, WHITE, Rgb
from reach.report.rulers import with_rulers
from reach.report.sheet import Box, Point, Sheet
from reach.report.symbols import draw_place, draw_tag, place_radius, tag_size
from reach.report.view import View, choose_tile, cut_into_views, first_showing

if TYPE_CHECKING:
    from reach.level import Level

GHOST_FILL: Rgb = (190, 216, 234)
_MARGIN = 28
_LEAST_WIDTH = 720
_MOST_LABELS = 400
_HIDING_A_GHOST = 0.05
_SIDE_BY_SIDE_GAP = 24


def draw_ghosts(level: Level, movement_name: str, way: Flown) -> Sheet:
    """Draw a replay as a page: title, the part of the map that it passes in strips, and a key.

    Parameters
    ----------
    level : Level
    movement_name : str
    way : Flown

    Returns
    -------
    Sheet
    """
    columns, rows = way.window(level)
    tile = choose_tile(len(columns), len(rows))
    views = cut_into_views(columns, rows, tile, level.tile_px)
    views = [replace(view, top=_headroom(way, view)) for view in views]
    strips = []
    for index, view in enumerate(views):
        window = _draw_window(level, way, views, index)
        strips.append(with_rulers(window, view, level.columns, level.rows, captioned=len(views) > 1)[0])
    width = max(_LEAST_WIDTH, *(strip.width for strip in strips))
    body = stack([_title(level, movement_name, way, width), stack(strips, _SIDE_BY_SIDE_GAP), _key(width)], 20)
    page = Sheet(width + 2 * _MARGIN, body.height + 2 * _MARGIN)
    page.paste(body, (_MARGIN, _MARGIN))
    return page


def _headroom(way: Flown, view: View) -> int:
    """Room above the map's first row, where the body passes over it."""
    if view.first_row > 0:
        return 0
    highest = max(-way.corner_px(row)[1] for row in way.rows) * view.tile / view.tile_px
    return 8 + round(min(max(0.0, highest), 5 * view.tile))


def _title(level: Level, movement_name: str, way: Flown, width: int) -> Sheet:
    title = shorten(f"Replay in {clean(level.name) or 'a level without a name'}", width, 22, True)
    about = f"Movement: {clean(movement_name)}.  {way.ticks} ticks, {way.seconds:.2f} s at {way.tick_rate_hz} a second."
    if way.rows[-1].tick < way.ticks:
        about += f"  Nothing changes after tick {way.rows[-1].tick}."
    told = [f"tick {way.rows[index].tick}: {words}" for index, words in events(way).items() if "touches" in words]
    lines = wrap(about, width, 13) + wrap(".  ".join(told), width, 13, most_lines=4)
    return stack([lines_of([title], 22, width, True), lines_of(lines, 13, width, ink=QUIET_INK)], 6)


def chosen_ghosts(way: Flown) -> list[int]:
    """The ticks at which the body is drawn: where something happens, and between those about a body's size apart."""
    told = events(way)
    apart = 0.9 * max(way.body_px)
    chosen = [0]
    for index, row in enumerate(way.rows):
        x, y = way.corner_px(row)
        last_x, last_y = way.corner_px(way.rows[chosen[-1]])
        if index and (index in told or hypot(x - last_x, y - last_y) >= apart):
            chosen.append(index)
    return chosen


def _draw_window(level: Level, way: Flown, views: Sequence[View], index: int) -> Sheet:
    view = views[index]
    sheet = Sheet(view.width, view.top + view.height)
    paint_map(sheet, level.material, view)
    before = np.asarray(sheet.image).copy()
    told = events(way)
    for i in chosen_ghosts(way):
        draw_body(sheet, way.box(way.rows[i], view), bool(way.rows[i].grounded), strong=i in told)
    if way.rows[-1].lost:
        draw_loss(sheet, way.box(way.rows[-1], view))
    path = [view.point(way.feet_px(row)) for row in way.rows]
    sheet.strokes([path], WHITE, 3.4)
    sheet.strokes([path], ROUTE, 1.6)
    busy = (np.asarray(sheet.image) != before).any(axis=2) * _HIDING_A_GHOST
    touched = {place for row in way.rows for place in row.places}
    taken = []
    for place in level.places:
        if view.holds((place.column, place.row)):
            fill = BLUISH_GREEN if place.id in touched else WHITE
            centre = view.centre((place.column, place.row))
            taken.append(draw_place(sheet, place.kind.value, fill, centre, place_radius(view.tile)))
    placer = LabelPlacer(sheet.width, sheet.height, busy, taken)
    return lay_labels(sheet, _labels(level, way, views, index), placer)[0]


def _labels(level: Level, way: Flown, views: Sequence[View], index: int) -> list[Label]:
    """The labels that belong in one window: what happens when, and the places' names."""
    view = views[index]
    labels = []
    half = way.body_px[1] / 2
    for i, words in list(events(way).items())[:_MOST_LABELS]:
        x, y = way.feet_px(way.rows[i])
        if first_showing((x, y - half), views) == index:
            text = f"{way.rows[i].tick} {words}"
            draw = partial(_draw_tag, text, ROUTE)
            labels.append(Label(tag_size(text, False), view.point((x, y - half)), draw, clear=6))
    for place in level.places:
        tile = (place.column, place.row)
        middle_px = ((tile[0] + 0.5) * view.tile_px, (tile[1] + 0.5) * view.tile_px)
        if view.holds(tile) and first_showing(middle_px, views) == index:
            draw = partial(_draw_tag, place.id, QUIET_INK)
            clear = place_radius(view.tile) + 2
            labels.append(Label(tag_size(place.id, False), view.centre(tile), draw, clear, dotted=False))
    return labels


def _draw_tag(text: str, border: Rgb, sheet: Sheet, box: Box) -> None:
    draw_tag(sheet, box, text, border=border)


def draw_body(sheet: Sheet, box: Box, grounded: bool, strong: bool) -> None:
    """Draw the body: filled where it stands, hollow where it is in the air, with a thick border where `strong`."""
    left, top, right, bottom = box
    if grounded:
        veil = Image.new("RGB", (right - left, bottom - top), GHOST_FILL)
        inside = sheet.image.crop(box)
        sheet.image.paste(Image.blend(inside, veil, 0.75), (left, top))
    sheet.frame(box, WHITE if not strong else INK, 2 if strong else 1)
    if not strong:
        sheet.frame(box, ROUTE, 1)


def draw_loss(sheet: Sheet, box: Box) -> None:
    """Cross the body out."""
    left, top, right, bottom = box
    cross = [[(left, top), (right, bottom)], [(left, bottom), (right, top)]]
    sheet.strokes(cross, WHITE, 6)
    sheet.strokes(cross, VERMILLION, 3)


def _key(width: int) -> Sheet:
    def body(grounded: bool, strong: bool) -> Sign:
        def draw(sheet: Sheet, centre: Point) -> None:
            x, y = round(centre[0]), round(centre[1])
            draw_body(sheet, (x - 6, y - 9, x + 6, y + 9), grounded, strong)

        return Sign(20, draw)

    def path(sheet: Sheet, centre: Point) -> None:
        sheet.strokes([[(centre[0] - 12, centre[1]), (centre[0] + 12, centre[1])]], ROUTE, 1.6)

    parts: list[Sign | Words] = [
        body(True, False),
        Words(" on the ground      "),
        body(False, False),
        Words(" in the air      "),
        body(True, True),
        Words(" something happens: the tick and what      "),
        Sign(30, path),
        Words(" the way of the feet's middle"),
    ]
    return line_of(parts, 13, width, 26)
