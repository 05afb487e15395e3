"""One strip of the map with everything on it: ground, verdicts, moves, marks, places, labels and rulers."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import Move, PlaceVerdict, Report, Severity, Tile
from reach.report.change_layer import FRAME_PX, ChangeMarks, badge_labels, mark_ground, mark_place
from reach.report.finding_layer import NumberedFinding, anchor_of, anchor_tile, draw_marks, line_labels
from reach.report.label_layer import Label, lay_labels
from reach.report.labels import LabelPlacer
from reach.report.map_layer import paint_map
from reach.report.moves_layer import draw_moves, draw_route, flown_path, middle_of
from reach.report.palette import GRID_FIFTH, ROUTE, VERDICT_COLOUR
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


def draw_strips(
    level: Level,
    report: Report,
    findings: Sequence[NumberedFinding],
    views: Sequence[View],
    changes: ChangeMarks | None = None,
    beside: Sequence[Report] = (),
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
    changes : ChangeMarks, optional
        What a comparison marks, over everything but the labels.
    beside : sequence of Report
        Others whose flights get their room above the map as well, so that their pictures have the same frame.

    Returns
    -------
    list of Strip
    """
    whole_columns = views[-1].end_column
    whole_rows = views[-1].end_row
    views = [replace(view, top=max(_headroom(one, view) for one in (report, *beside))) for view in views]
    changes = changes or ChangeMarks()
    strips = []
    for index, view in enumerate(views):
        sheet, labels = _draw_window(level, report, findings, views, index, changes)
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
    level: Level,
    report: Report,
    findings: Sequence[NumberedFinding],
    views: Sequence[View],
    index: int,
    changes: ChangeMarks,
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
    taken = mark_ground(sheet, changes, view)
    signs = _placed_signs(report, view, changes.places)
    taken += [
        draw_place(sheet, place.kind, VERDICT_COLOUR[place.verdict], centre, radius) for place, centre, radius in signs
    ]
    taken += [mark_place(sheet, centre, radius) for place, centre, radius in signs if place.id in changes.places]
    centres = {place.id: centre for place, centre, _ in signs}
    badges = badge_labels(changes, view, centres, lambda tile: first_showing(_middle_px(tile, view), views) == index)
    wanted = badges + _labels(report, route, findings, views, index, changes.places)
    return lay_labels(sheet, wanted, LabelPlacer(sheet.width, sheet.height, costs.busy, taken))


def _placed_signs(report: Report, view: View, framed: Collection[str]) -> list[tuple[PlaceVerdict, Point, float]]:
    """The signs of the window's places with their middles and radii; places of one tile stand beside one another."""
    signs = []
    together: dict[Tile, list[PlaceVerdict]] = {}
    for place in report.places:
        if view.holds(place.at):
            together.setdefault(place.at, []).append(place)
    for tile, places in together.items():
        radius = place_radius(view.tile)
        x, y = view.centre(tile)
        room = 2 * FRAME_PX if any(place.id in framed for place in places) else 3
        for i, place in enumerate(places):
            aside = (i - (len(places) - 1) / 2) * (2 * radius + room)
            signs.append((place, (x + aside, y), radius))
    return signs


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
    report: Report,
    route: Sequence[Move],
    findings: Sequence[NumberedFinding],
    views: Sequence[View],
    index: int,
    framed: Collection[str],
) -> list[Label]:
    """The labels that belong in one window, the most important first."""
    view = views[index]
    steps = [
        Label(route_number_size(number), view.point(middle), partial(_draw_step, number), on_point=True)
        for number, middle in enumerate((middle_of(flown_path(move, view.tile_px)) for move in route), start=1)
        if first_showing(middle, views) == index
    ]
    urgent: list[Label] = []
    rest: list[Label] = []
    tags: list[Label] = []
    for numbered in findings:
        tile = anchor_tile(numbered.finding, view.tile_px)
        anchor = anchor_of(numbered.finding, view)
        if tile is None or anchor is None or first_showing(_middle_px(tile, view), views) != index:
            continue
        badge = Label(badge_size(numbered.number), anchor, partial(_draw_badge, numbered), clear=3.0)
        (urgent if numbered.finding.severity is Severity.ERROR else rest).append(badge)
        for text, at in line_labels(numbered.finding, view):
            tags.append(Label(tag_size(text, False), at, partial(_draw_text, text), clear=5.0))
    for place, centre, radius in _placed_signs(report, view, framed):
        if first_showing(_middle_px(place.at, view), views) == index:
            draw = partial(_draw_name, place)
            clear = radius + (FRAME_PX if place.id in framed else 2)
            tags.append(Label(tag_size(place.id, True), centre, draw, clear=clear, dotted=False))
    return steps + urgent + tags + rest


def _middle_px(tile: Tile, view: View) -> Point:
    """The middle of a tile in px of the map."""
    return (tile[0] + 0.5) * view.tile_px, (tile[1] + 0.5) * view.tile_px


def _draw_step(number: int, sheet: Sheet, box: Box) -> None:
    draw_route_number(sheet, box, number, ROUTE)


def _draw_badge(numbered: NumberedFinding, sheet: Sheet, box: Box) -> None:
    finding = numbered.finding
    draw_badge(sheet, box, numbered.number, finding.severity, finding.accepted is not None)


def _draw_text(text: str, sheet: Sheet, box: Box) -> None:
    draw_tag(sheet, box, text)


def _draw_name(place: PlaceVerdict, sheet: Sheet, box: Box) -> None:
    draw_tag(sheet, box, place.id, place.verdict)
