"""Labels laid over a sheet: placed, tied to their points, drawn; those without room stand in a gutter below."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import hypot

from reach.report.labels import LabelPlacer, leader_end
from reach.report.moves_layer import shortened
from reach.report.palette import INK, WHITE
from reach.report.sheet import Box, Point, Sheet

_GUTTER_PX = 16
_SPACE_PX = 4


@dataclass(frozen=True)
class Label:
    """A label that waits for its place.

    Attributes
    ----------
    size : (int, int)
        Width and height in px.
    anchor : point
        What it belongs to.
    draw : callable
        Draws it on a sheet into a box.
    clear : float
        Least distance from the anchor in px.
    on_point : bool
        Whether it stands right on its point where that is free.
    dotted : bool
        Whether its leader line ends in a dot at the anchor, or else at the distance `clear`.
    """

    size: tuple[int, int]
    anchor: Point
    draw: Callable[[Sheet, Box], object]
    clear: float = 0.0
    on_point: bool = False
    dotted: bool = True


def lay_labels(sheet: Sheet, labels: Sequence[Label], placer: LabelPlacer) -> tuple[Sheet, list[Box]]:
    """Place the labels and draw them, the first with the first choice.

    Returns
    -------
    Sheet, list of Box
        The sheet, or a taller one where some labels had no room on it; and where the labels stand.
    """
    placed: list[tuple[Label, Box]] = []
    homeless: list[Label] = []
    for label in labels:
        spot = placer.place_at(label.size, label.anchor) if label.on_point else None
        spot = spot or placer.place(label.size, label.anchor, label.clear)
        if spot is None:
            homeless.append(label)
        else:
            placed.append((label, spot.box))
    if homeless:
        sheet, boxes = _with_gutter(sheet, homeless)
        placed.extend(zip(homeless, boxes, strict=True))
    _draw_leaders(sheet, placed)
    for label, box in placed:
        label.draw(sheet, box)
    return sheet, [box for _, box in placed]


def _with_gutter(sheet: Sheet, labels: Sequence[Label]) -> tuple[Sheet, list[Box]]:
    """A taller sheet, and boxes for labels in rows below the old one, ordered by their points from left to right."""
    boxes: dict[int, Box] = {}
    x, y, row_height = _SPACE_PX, sheet.height + _GUTTER_PX, 0
    for i in sorted(range(len(labels)), key=lambda i: labels[i].anchor):
        width, height = labels[i].size
        x = max(x, min(round(labels[i].anchor[0] - width / 2), sheet.width - width - _SPACE_PX))
        if x + width > sheet.width - 2 and x > _SPACE_PX:
            x, y, row_height = _SPACE_PX, y + row_height + _SPACE_PX, 0
        boxes[i] = (x, y, x + width, y + height)
        x += width + _SPACE_PX
        row_height = max(row_height, height)
    right = max(sheet.width, max(box[2] for box in boxes.values()) + 2)
    taller = Sheet(right, y + row_height + _SPACE_PX)
    taller.paste(sheet, (0, 0))
    return taller, [boxes[i] for i in range(len(labels))]


def _draw_leaders(sheet: Sheet, placed: Sequence[tuple[Label, Box]]) -> None:
    """Tie every label that is not at its point to it."""
    lines = []
    dots = []
    for label, box in placed:
        end = leader_end(box, label.anchor)
        if hypot(end[0] - label.anchor[0], end[1] - label.anchor[1]) > label.clear + 5:
            lines.append(shortened([end, label.anchor], 0 if label.dotted else label.clear - 1))
            if label.dotted:
                dots.append(label.anchor)
    sheet.strokes(lines, WHITE, 3.4)
    sheet.strokes(lines, INK, 1.2)
    for dot in dots:
        sheet.disc(dot, 2.6, INK)
