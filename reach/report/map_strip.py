"""One strip of the map with everything on it: ground, verdicts, moves, marks, places, labels and rulers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import Move, PlaceVerdict, Report, Severity
from reach.report.finding_layer import NumberedFinding, anchor_of, anchor_tile, draw_marks, gap_labels
from reach.report.labels import LabelPlacer, Placed, leader_end
from reach.report.map_layer import paint_map
from reach.report.moves_layer import draw_moves, draw_route, flown_path, middle_of, shortened
from reach.report.palette import GRID_FIFTH, INK, PAGE, ROUTE, VERDICT_COLOUR, WHITE
from reach.report.rulers import with_rulers
from reach.report.sheet import Box, Point, Sheet
from reach.report.symbols import (
    badge_size,
    draw_badge,
    draw_place,
    draw_route_number,
    draw_tag,
    place_radius,
    route_number_size,
    tag_size,
)
from reach.report.verdict_layer import band_height, paint_verdicts
from reach.report.view import View, first_showing

if TYPE_CHECKING:
    from reach.level import Level

MOST_HEADROOM_TILES = 5
_MOST_COSTED_PX = 4_000_000

_HIDING_A_MOVE = 0.02
_HIDING_A_BAND = 0.05
_HIDING_A_MARK = 0.12
"""What covering one pixel of these costs a label, in px of distance."""


@dataclass(frozen=True)
class Strip:
    """A drawn strip: its sheet, the window it shows and where on the sheet that lies, and the boxes of its labels."""

    sheet: Sheet
    view: View
    map_at: tuple[int, int]
    labels: tuple[Box, ...]


@dataclass(frozen=True)
class _Label:
    """A label that waits for its place."""

    kind: str
    size: tuple[int, int]
    anchor: Point
    item: object
    clear: float = 0.0


def draw_strips(
    level: Level, report: Report, findings: Sequence[NumberedFinding], views: Sequence[View]
) -> list[Strip]:
    """Draw the map's windows.

    Parameters
    ----------
    level : Level
    report : Report
    findings : sequence of NumberedFinding
        Those to mark on the map.
    views : sequence of View
        In reading order; a label stands in the first that shows its point.

    Returns
    -------
    list of Strip
    """
    whole_columns = views[-1].end_column
    whole_rows = views[-1].end_row
    views = [replace(view, top=_headroom(report, view)) for view in views]
    strips = []
    for index, view in enumerate(views):
        sheet, labels = _draw_window(level, report, findings, views, index)
        strip, map_at = with_rulers(sheet, view, whole_columns, whole_rows, captioned=len(views) > 1)
        boxes = tuple((x1 + map_at[0], y1 + map_at[1], x2 + map_at[0], y2 + map_at[1]) for x1, y1, x2, y2 in labels)
        strips.append(Strip(strip, view, map_at, boxes))
    return strips


def _headroom(report: Report, view: View) -> int:
    """Room above the map's first row: as high as the flights of this window pass over it."""
    if view.first_row > 0:
        return 0
    left = view.first_column * view.tile_px
    right = view.end_column * view.tile_px
    heights = [
        -y
        for path in [move.arc_px for move in report.moves]
        + [mark.points_px for finding in report.findings for mark in finding.marks]
        for x, y in path
        if y < 0 and left <= x < right
    ]
    highest = max(heights, default=0.0) * view.tile / view.tile_px
    return 8 + round(min(highest, MOST_HEADROOM_TILES * view.tile))


def _draw_window(
    level: Level, report: Report, findings: Sequence[NumberedFinding], views: Sequence[View], index: int
) -> tuple[Sheet, list[Box]]:
    view = views[index]
    sheet = Sheet(view.width, view.top + view.height)
    if view.first_row == 0:
        for x in range(0, sheet.width, 8):
            sheet.rect((x, view.top - 1, x + 4, view.top), GRID_FIFTH)
    paint_map(sheet, level.material, view, report.coverage)
    paint_verdicts(sheet, {verdict: list(tiles) for verdict, tiles in report.tiles.items()}, view)
    costs = _Costs(sheet, report, view)
    on_route = set(report.route)
    draw_moves(sheet, [move for i, move in enumerate(report.moves) if i not in on_route], view)
    costs.add_changes(_HIDING_A_MOVE)
    route = [report.moves[i] for i in report.route]
    draw_route(sheet, route, view, _start_feet(report))
    draw_marks(sheet, findings, view)
    costs.add_changes(_HIDING_A_MARK)
    taken = [
        draw_place(sheet, place.kind, VERDICT_COLOUR[place.verdict], view.centre(place.at), place_radius(view.tile))
        for place in report.places
        if view.holds(place.at)
    ]
    wanted = _labels(report, route, findings, views, index)
    return _label(sheet, wanted, LabelPlacer(sheet.width, sheet.height, costs.busy, taken))


def _start_feet(report: Report) -> Point | None:
    """Where the body stands when the check begins, in px of the map."""
    for place in report.places:
        if place.id == report.from_place:
            return (place.at[0] + 0.5) * report.tile_px, float((place.at[1] + 1) * report.tile_px)
    return None


class _Costs:
    """What it costs to hide each pixel of a window; not reckoned where a window would be too large for it."""

    def __init__(self, sheet: Sheet, report: Report, view: View) -> None:
        """Begin with the bands of verdicts."""
        self._sheet = sheet
        self.busy: np.ndarray | None = None
        if sheet.width * sheet.height > _MOST_COSTED_PX:
            return
        self.busy = np.zeros((sheet.height, sheet.width))
        height = band_height(view.tile)
        for tiles in report.tiles.values():
            for tile in tiles:
                if view.holds(tile):
                    left, top, right, _ = view.tile_box(tile)
                    self.busy[top : top + height, left:right] = _HIDING_A_BAND
        self._before = np.asarray(sheet.image).copy()

    def add_changes(self, cost: float) -> None:
        """Raise the cost of every pixel that changed since the last time."""
        if self.busy is not None:
            now = np.asarray(self._sheet.image).copy()
            self.busy[(now != self._before).any(axis=2)] += cost
            self._before = now


def _labels(
    report: Report, route: Sequence[Move], findings: Sequence[NumberedFinding], views: Sequence[View], index: int
) -> list[_Label]:
    """The labels that belong in one window, the most important first."""
    view = views[index]
    labels = []
    for number, move in enumerate(route, start=1):
        path = flown_path(move, view.tile_px)
        middle = middle_of(path)
        if first_showing(middle, views) == index:
            labels.append(_Label("route", route_number_size(number), view.point(middle), number))
    badges: list[_Label] = []
    tags: list[_Label] = []
    for numbered in findings:
        tile = anchor_tile(numbered.finding, view.tile_px)
        anchor = anchor_of(numbered.finding, view)
        if tile is None or anchor is None:
            continue
        if first_showing(((tile[0] + 0.5) * view.tile_px, (tile[1] + 0.5) * view.tile_px), views) == index:
            badges.append(_Label("badge", badge_size(numbered.number), anchor, numbered, 3.0))
            tags.extend(
                _Label("text", tag_size(text, False), at, text, 5.0) for text, at in gap_labels([numbered], view)
            )
    badges.sort(key=lambda label: -_rank(label.item))
    radius = place_radius(view.tile)
    for place in report.places:
        if first_showing(((place.at[0] + 0.5) * view.tile_px, (place.at[1] + 0.5) * view.tile_px), views) == index:
            tags.append(_Label("place", tag_size(place.id, True), view.centre(place.at), place, radius + 2))
    urgent = [label for label in badges if _rank(label.item) == Severity.ERROR.rank]
    rest = [label for label in badges if _rank(label.item) != Severity.ERROR.rank]
    return labels + urgent + tags + rest


def _rank(item: object) -> int:
    return item.finding.severity.rank if isinstance(item, NumberedFinding) else 0


def _label(sheet: Sheet, wanted: Sequence[_Label], placer: LabelPlacer) -> tuple[Sheet, list[Box]]:
    """Place the labels and draw them; those without room go to a gutter below the map."""
    placed: list[tuple[_Label, Box]] = []
    homeless: list[_Label] = []
    for label in wanted:
        spot = placer.place_at(label.size, label.anchor) if label.kind == "route" else None
        spot = spot or placer.place(label.size, label.anchor, label.clear)
        if spot is None:
            homeless.append(label)
        else:
            placed.append((label, spot.box))
    if homeless:
        sheet, boxes = _with_gutter(sheet, homeless)
        placed.extend(zip(homeless, boxes, strict=True))
    _draw_leaders(sheet, [(label, Placed(box, label.anchor)) for label, box in placed])
    for label, box in placed:
        _draw_label(sheet, label, box)
    return sheet, [box for _, box in placed]


def _with_gutter(sheet: Sheet, labels: Sequence[_Label]) -> tuple[Sheet, list[Box]]:
    """A taller sheet, and boxes for labels in rows below the map, in the order of their points from left to right."""
    boxes: dict[int, Box] = {}
    x, y, row_height = 4, sheet.height + 16, 0
    for i in sorted(range(len(labels)), key=lambda i: labels[i].anchor):
        width, height = labels[i].size
        x = max(x, min(round(labels[i].anchor[0] - width / 2), sheet.width - width - 4))
        if x + width > sheet.width - 2 and x > 4:
            x, y, row_height = 4, y + row_height + 4, 0
        boxes[i] = (x, y, x + width, y + height)
        x += width + 4
        row_height = max(row_height, height)
    right = max(sheet.width, max(box[2] for box in boxes.values()) + 2)
    taller = Sheet(right, y + row_height + 4, PAGE)
    taller.paste(sheet, (0, 0))
    return taller, [boxes[i] for i in range(len(labels))]


def _draw_leaders(sheet: Sheet, placed: Sequence[tuple[_Label, Placed]]) -> None:
    """Tie every label that is not at its point to it."""
    lines = []
    dots = []
    for label, spot in placed:
        end = leader_end(spot.box, spot.anchor)
        line = shortened([end, spot.anchor], 0 if label.kind != "place" else label.clear - 1)
        away = hypot(end[0] - spot.anchor[0], end[1] - spot.anchor[1])
        if away > label.clear + 5:
            lines.append(line)
            if label.kind != "place":
                dots.append(spot.anchor)
    sheet.strokes(lines, WHITE, 3.4)
    sheet.strokes(lines, INK, 1.2)
    for dot in dots:
        sheet.disc(dot, 2.6, INK)


def _draw_label(sheet: Sheet, label: _Label, box: Box) -> None:
    item = label.item
    if isinstance(item, NumberedFinding):
        draw_badge(sheet, box, item.number, item.finding.severity, item.finding.accepted is not None)
    elif isinstance(item, PlaceVerdict):
        draw_tag(sheet, box, item.id, item.verdict)
    elif isinstance(item, int):
        draw_route_number(sheet, box, item, ROUTE)
    else:
        draw_tag(sheet, box, str(item))
