"""Moves as the arcs that their proofs fly, and the easiest route among them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import hypot

from reach.findings import Move, MoveKind, PointPx
from reach.report.palette import MOVE, ROUTE, WHITE
from reach.report.sheet import Point, Sheet, dashed
from reach.report.view import View

MOVE_WIDTH = 1.3
ROUTE_WIDTH = 3.2

_WALK_OVER_GROUND = 4
"""How far above the ground the walks of the route are drawn, in px, so that they hide no verdict."""

_FALLS = {MoveKind.WALK_OFF, MoveKind.DROP}


def flown_path(move: Move, tile_px: int) -> tuple[PointPx, ...]:
    """The move's arc in px of the map, or a straight line between its tiles' tops where no arc is kept."""
    if len(move.arc_px) > 1:
        return move.arc_px
    return tuple(((column + 0.5) * tile_px, float(row * tile_px)) for column, row in (move.source, move.target))


def draw_moves(sheet: Sheet, moves: Sequence[Move], view: View) -> None:
    """Draw moves as thin arcs with arrowheads: dashed for falls, with an open head where no plan comes to rest."""
    paths = [(move, _on_sheet(move, view)) for move in moves]
    seen = [(move, path) for move, path in paths if _touches(sheet, path)]
    lines: list[Sequence[Point]] = []
    heads: list[list[Point]] = []
    open_heads: list[list[Point]] = []
    for move, path in seen:
        lines.extend(dashed(path, 5, 3.5) if move.kind in _FALLS else [path])
        (open_heads if move.passing_only else heads).append(arrowhead(path, 7, 3))
    sheet.strokes([path for _, path in seen], WHITE, MOVE_WIDTH + 2)
    sheet.strokes(lines, MOVE, MOVE_WIDTH)
    for head in heads:
        sheet.shape(head, MOVE)
    for head in open_heads:
        sheet.shape(head, WHITE)
        sheet.strokes([[*head, head[0]]], MOVE, 1.2)


def draw_route(sheet: Sheet, moves: Sequence[Move], view: View, start: Point | None = None) -> None:
    """Draw the easiest route: thick arcs, joined by dots where the body walks from one landing to the next takeoff.

    Parameters
    ----------
    sheet : Sheet
    moves : sequence of Move
        In the order of the route.
    view : View
    start : point, optional
        Where the feet stand at first, in px of the map.
    """
    paths = [_on_sheet(move, view) for move in moves]
    walks: list[Sequence[Point]] = []
    ends = ([view.point(start)] if start else []) + [path[-1] for path in paths]
    begins = [path[0] for path in paths[0 if start else 1 :]]
    for end, begin in zip(ends, begins, strict=False):
        if abs(end[1] - begin[1]) <= view.tile / 2 and end != begin:
            walks.extend(dashed([(end[0], end[1] - _WALK_OVER_GROUND), (begin[0], begin[1] - _WALK_OVER_GROUND)], 2, 5))
    walks = [walk for walk in walks if _touches(sheet, walk)]
    seen = [path for path in paths if _touches(sheet, path)]
    shafts = [shortened(path, 7) for path in seen]
    heads = [arrowhead(path, 13, 6.5) for path in seen]
    sheet.strokes(shafts, WHITE, ROUTE_WIDTH + 3.5)
    sheet.strokes([[*head, head[0]] for head in heads], WHITE, 3)
    sheet.strokes(walks, WHITE, ROUTE_WIDTH + 2)
    sheet.strokes(walks, ROUTE, ROUTE_WIDTH)
    sheet.strokes(shafts, ROUTE, ROUTE_WIDTH)
    for head in heads:
        sheet.shape(head, ROUTE)


def middle_of(path: Sequence[Point]) -> Point:
    """The point halfway along a path."""
    lengths = [hypot(x2 - x1, y2 - y1) for (x1, y1), (x2, y2) in pairwise(path)]
    left = sum(lengths) / 2
    for ((x1, y1), (x2, y2)), length in zip(pairwise(path), lengths, strict=True):
        if left <= length and length > 0:
            return x1 + (x2 - x1) * left / length, y1 + (y2 - y1) * left / length
        left -= length
    return path[-1]


def arrowhead(path: Sequence[Point], length: float, half_width: float) -> list[Point]:
    """The triangle at the end of a path, along the direction in which it arrives."""
    tip = path[-1]
    tail = path[0]
    for point in reversed(path):
        tail = point
        if hypot(tip[0] - point[0], tip[1] - point[1]) >= length:
            break
    reach = hypot(tip[0] - tail[0], tip[1] - tail[1]) or 1.0
    along = ((tip[0] - tail[0]) / reach, (tip[1] - tail[1]) / reach)
    foot = (tip[0] - along[0] * length, tip[1] - along[1] * length)
    return [
        tip,
        (foot[0] - along[1] * half_width, foot[1] + along[0] * half_width),
        (foot[0] + along[1] * half_width, foot[1] - along[0] * half_width),
    ]


def shortened(path: Sequence[Point], by: float) -> list[Point]:
    """The path without its last `by` px, so that a thick line does not show beyond its arrowhead."""
    kept = list(path)
    while len(kept) > 1:
        (x1, y1), (x2, y2) = kept[-2], kept[-1]
        length = hypot(x2 - x1, y2 - y1)
        if length > by:
            kept[-1] = (x2 - (x2 - x1) * by / length, y2 - (y2 - y1) * by / length)
            return kept
        by -= length
        kept.pop()
    return kept


def _on_sheet(move: Move, view: View) -> list[Point]:
    return [view.point(point) for point in flown_path(move, view.tile_px)]


def _touches(sheet: Sheet, path: Sequence[Point]) -> bool:
    xs = [x for x, _ in path]
    ys = [y for _, y in path]
    return max(xs) >= 0 and min(xs) <= sheet.width and max(ys) >= 0 and min(ys) <= sheet.height
