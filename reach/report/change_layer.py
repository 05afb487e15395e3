"""What a comparison marks on a map: ground and places that were lost, ground that was gained, and numbered badges."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from PIL import Image

from reach.findings import Severity, Tile
from reach.report.label_layer import Label
from reach.report.palette import BLUISH_GREEN, INK, VERMILLION, WHITE
from reach.report.sheet import Box, Point, Sheet, dashed
from reach.report.symbols import badge_size, draw_badge, place_radius
from reach.report.verdict_layer import band_height
from reach.report.view import View

OPACITY = 0.72
"""Of the hatch over ground that was lost: what it lies on shows through."""
_AROUND_PX = 6
"""From the edge of a place's sign to the middle of the frame around it."""
FRAME_PX = _AROUND_PX + 4
"""From the edge of a place's sign to beyond that frame."""


@dataclass(frozen=True)
class ChangeBadge:
    """The number of a change in the list, and the tile it is about: the ground there, or the `place` in it."""

    number: int
    severity: Severity
    tile: Tile
    place: str | None = None


@dataclass(frozen=True)
class ChangeMarks:
    """All that is marked of a comparison; `places` are the ids of those that were lost."""

    lost: frozenset[Tile] = frozenset()
    gained: frozenset[Tile] = frozenset()
    places: frozenset[str] = frozenset()
    badges: tuple[ChangeBadge, ...] = ()


def mark_ground(sheet: Sheet, marks: ChangeMarks, view: View) -> list[Box]:
    """Mark ground along its top, and return the boxes that no label may hide."""
    boxes = []
    for tiles, draw in ((marks.gained, dashed_box), (marks.lost, hatched_box)):
        for box in _tops(tiles, view):
            draw(sheet, box)
            if draw is hatched_box:
                boxes.append(box)
    return boxes


def mark_place(sheet: Sheet, centre: Point, radius: float) -> Box:
    """Frame the sign of a place that was lost, and return the box that no label may hide."""
    draw_frame(sheet, centre, radius + _AROUND_PX)
    reach = radius + FRAME_PX
    x, y = centre
    return round(x - reach), round(y - reach), round(x + reach), round(y + reach)


def badge_labels(
    marks: ChangeMarks, view: View, signs: Mapping[str, Point], here: Callable[[Tile], bool]
) -> list[Label]:
    """Return the badges as labels that wait for their places, of those tiles that this window is to tell of.

    `signs` holds the middles of the signs of places by their ids.
    """
    labels = []
    for badge in marks.badges:
        if not here(badge.tile):
            continue
        left, top, right, _ = view.tile_box(badge.tile)
        anchor, clear = ((left + right) / 2, float(top)), 3.0
        if badge.place is not None:
            anchor, clear = signs.get(badge.place, view.centre(badge.tile)), place_radius(view.tile) + FRAME_PX
        labels.append(Label(badge_size(badge.number), anchor, _drawer(badge), clear=clear, dotted=badge.place is None))
    return labels


def _drawer(badge: ChangeBadge) -> Callable[[Sheet, Box], object]:
    return lambda sheet, box: draw_badge(sheet, box, badge.number, badge.severity)


def stretches(tiles: Iterable[Tile]) -> list[list[Tile]]:
    """Return tiles row by row, each unbroken stretch for itself."""
    ordered = sorted(tiles, key=lambda tile: (tile[1], tile[0]))
    grouped = groupby(enumerate(ordered), key=lambda pair: (pair[1][1], pair[1][0] - pair[0]))
    return [[tile for _, tile in run] for _, run in grouped]


def _tops(tiles: Collection[Tile], view: View) -> list[Box]:
    """The upper part of the ground that a window shows, stretch by stretch."""
    height = max(band_height(view.tile) + 5, 6)
    boxes = []
    for run in stretches(tile for tile in tiles if view.holds(tile)):
        left, top, _, _ = view.tile_box(run[0])
        boxes.append((left, top, view.tile_box(run[-1])[2], top + height))
    return boxes


def hatched_box(sheet: Sheet, box: Box) -> None:
    """Draw a box with slanted bars that lets through what it lies on, in a firm frame: something was here."""
    left, top, right, bottom = box
    height = bottom - top
    over = Sheet(right - left, height, WHITE)
    bars = [[(float(x), float(height)), (float(x + height), 0.0)] for x in range(-height, right - left, 9)]
    over.strokes(bars, VERMILLION, 4)
    below = sheet.image.crop(box)
    sheet.image.paste(Image.blend(below, over.image, OPACITY), (left, top))
    sheet.frame((left - 1, top - 2, right + 1, bottom + 2), INK, 2)


def dashed_box(sheet: Sheet, box: Box) -> None:
    """Draw a box with a dashed frame and nothing in it: something is here now."""
    left, top, right, bottom = (float(side) for side in box)
    path = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
    sheet.strokes([path], WHITE, 5)
    sheet.strokes(dashed(path, 8, 5), BLUISH_GREEN, 3)


def draw_frame(sheet: Sheet, centre: Point, radius: float) -> None:
    """Draw the frame, its corners cut off, around what was lost."""
    for colour, thick in ((WHITE, 8.0), (INK, 6.0), (VERMILLION, 3.2)):
        sheet.strokes([_octagon(centre, radius)], colour, thick)


def _octagon(centre: Point, radius: float) -> list[Point]:
    x, y = centre
    cut = radius * 0.42
    corners = [(-cut, -radius), (cut, -radius), (radius, -cut), (radius, cut)]
    corners += [(cut, radius), (-cut, radius), (-radius, cut), (-radius, -cut), (-cut, -radius)]
    return [(x + dx, y + dy) for dx, dy in corners]
