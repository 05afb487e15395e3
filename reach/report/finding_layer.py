"""What the findings want marked on the map. Nothing here knows a rule: a finding brings its marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from reach.findings import Finding, Mark, MarkShape, Severity, Tile
from reach.report.moves_layer import arrowhead, middle_of
from reach.report.outline import Corner, outlines
from reach.report.palette import BLACK, QUIET_INK, SEVERITY_COLOUR, WHITE
from reach.report.sheet import Point, Sheet, dashed
from reach.report.view import View

MARK_WIDTH = 3
ACCEPTED_WIDTH = 1.6
"""Of a finding that the level file accepts: a thin line on a white casing, that hides little."""

_MARGIN = 2.5
"""How far marks keep off the sheet's borders, in px."""

_DASHES = {Severity.ERROR: None, Severity.WARNING: (8.0, 5.0), Severity.NOTE: (1.0, 4.5)}
"""The line of each severity on its casing: whole, dashes, dots."""


@dataclass(frozen=True)
class NumberedFinding:
    """A finding and the number it has on the map and in the list below."""

    number: int
    finding: Finding


def marks_of(finding: Finding) -> tuple[Mark, ...]:
    """The finding's marks, or its tile's outline where it has none."""
    if finding.marks or finding.at is None:
        return finding.marks
    return (Mark(MarkShape.TILE, (finding.at,)),)


def draw_marks(sheet: Sheet, findings: Sequence[NumberedFinding], view: View) -> None:
    """Draw the marks of findings, those accepted first and the gravest last, so that it is on top."""
    ordered = sorted(findings, key=lambda one: (one.finding.accepted is None, one.finding.severity.rank, -one.number))
    for finding in (numbered.finding for numbered in ordered):
        paths: list[Sequence[Point]] = []
        for mark in marks_of(finding):
            paths.extend(_paths(mark, view))
        paths = [path for path in paths if _is_seen(path, sheet)]
        dash = _DASHES[finding.severity]
        pieces = paths if dash is None else [piece for path in paths for piece in dashed(path, *dash)]
        if finding.accepted is not None:
            sheet.strokes(paths, WHITE, ACCEPTED_WIDTH + 2)
            sheet.strokes(pieces, QUIET_INK, ACCEPTED_WIDTH)
            continue
        if not _is_flight(finding):
            sheet.strokes(paths, WHITE, MARK_WIDTH + 4)
        sheet.strokes(paths, BLACK, MARK_WIDTH + 2)
        sheet.strokes(pieces, SEVERITY_COLOUR[finding.severity], MARK_WIDTH)


def _is_flight(finding: Finding) -> bool:
    """Whether a finding marks a flight: it lies on the route then, and a white halo would cut that."""
    return any(mark.shape is MarkShape.ARC for mark in marks_of(finding))


def _paths(mark: Mark, view: View) -> list[list[Point]]:
    """A mark as lines on the sheet."""
    if mark.shape is MarkShape.TILE:
        return [_outside(path, view) for path in outlines(mark.tiles)]
    if mark.shape is MarkShape.FOOTHOLD:
        return [_bar(first, last, view) for first, last in runs(mark.tiles)]
    points = [view.point(point) for point in mark.points_px]
    if len(points) < 2:
        return []
    if mark.shape is MarkShape.ARC:
        head = arrowhead(points, 9, 4.5)
        return [points, [head[1], head[0], head[2]]]
    return [points, *(_end_tick(points[0], points[-1], end) for end in (points[0], points[-1]))]


def runs(tiles: Sequence[Tile]) -> list[tuple[Tile, Tile]]:
    """The first and last tile of every unbroken run along a row.

    Examples
    --------
    >>> runs([(1, 4), (2, 4), (5, 4)])
    [((1, 4), (2, 4)), ((5, 4), (5, 4))]
    """
    ordered = sorted(tiles, key=lambda tile: (tile[1], tile[0]))
    if not ordered:
        return []
    firsts, lasts = [ordered[0]], []
    for before, after in pairwise(ordered):
        if after != (before[0] + 1, before[1]):
            lasts.append(before)
            firsts.append(after)
    return list(zip(firsts, [*lasts, ordered[-1]], strict=True))


def _outside(path: Sequence[Corner], view: View) -> list[Point]:
    """A closed path around tiles on the sheet, a little outside of them; at the sheet's borders just inside of it."""
    beyond = 1.5 if view.tile >= 10 else 0.5
    points = []
    for before, at, after in zip([path[-2], *path], path, [*path[1:], path[1]], strict=False):
        # On the left of each of its two sides lies what is outside: (dy, -dx) of its direction (dx, dy).
        sides = ((before, at), (at, after))
        out_x = sum((end[1] > begin[1]) - (end[1] < begin[1]) for begin, end in sides)
        out_y = sum((end[0] < begin[0]) - (end[0] > begin[0]) for begin, end in sides)
        left, top, _, _ = view.tile_box(at)
        x = _kept_inside(left + beyond * out_x, view.width, beyond)
        points.append((x, _kept_inside(top + beyond * out_y, view.top + view.height, beyond)))
    return points


def _kept_inside(at: float, size: int, beyond: float) -> float:
    """A coordinate, moved to just inside the sheet where it lies just outside."""
    if -beyond <= at < _MARGIN:
        return _MARGIN
    return size - _MARGIN if size - _MARGIN < at <= size + beyond else at


def _bar(first: Tile, last: Tile, view: View) -> list[Point]:
    """A line just above the tops of a run of tiles, with feet at both ends."""
    left, top, _, _ = view.tile_box(first)
    right = view.tile_box(last)[2]
    y = top - 4.5
    return [(left + 2.0, top - 1.5), (left + 2.0, y), (right - 2.0, y), (right - 2.0, top - 1.5)]


def _end_tick(start: Point, end: Point, at: Point) -> list[Point]:
    """The short line across the end of a measured line."""
    length = hypot(end[0] - start[0], end[1] - start[1]) or 1.0
    across = (-(end[1] - start[1]) / length * 5, (end[0] - start[0]) / length * 5)
    return [(at[0] - across[0], at[1] - across[1]), (at[0] + across[0], at[1] + across[1])]


def _is_seen(path: Sequence[Point], sheet: Sheet) -> bool:
    xs = [x for x, _ in path]
    ys = [y for _, y in path]
    return max(xs) >= 0 and min(xs) <= sheet.width and max(ys) >= 0 and min(ys) <= sheet.height


def anchor_of(finding: Finding, view: View) -> Point | None:
    """The point on the sheet that a finding's badge belongs to; None where it concerns no spot."""
    for mark in marks_of(finding):
        if mark.tiles:
            return _tiles_anchor(mark, finding.at, view)
        if len(mark.points_px) > 1:
            return middle_of([view.point(point) for point in mark.points_px])
    return view.centre(finding.at) if finding.at is not None else None


def anchor_tile(finding: Finding, tile_px: int) -> Tile | None:
    """The tile of a finding's badge, which says in which strip it is shown."""
    for mark in marks_of(finding):
        if mark.tiles:
            return _chosen_tile(mark, finding.at)
        if len(mark.points_px) > 1:
            x, y = middle_of(mark.points_px)
            return int(x // tile_px), int(y // tile_px)
    return finding.at


def _chosen_tile(mark: Mark, at: Tile | None) -> Tile:
    return at if at in mark.tiles else mark.tiles[len(mark.tiles) // 2]


def _tiles_anchor(mark: Mark, at: Tile | None, view: View) -> Point:
    left, top, right, _ = view.tile_box(_chosen_tile(mark, at))
    if mark.shape is MarkShape.FOOTHOLD:
        return (left + right) / 2, top - 4.5
    return (left + right) / 2, top + 1.5


def line_labels(finding: Finding, view: View) -> list[tuple[str, Point]]:
    """The texts of a finding's lines, and the middles they belong to."""
    return [
        (mark.label, middle_of([view.point(point) for point in mark.points_px]))
        for mark in marks_of(finding)
        if mark.label and len(mark.points_px) > 1
    ]
