"""Labels on a map that never cover one another: each takes the free spot that is near and hides the least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reach.report.sheet import Box, Point

_STEP = 3
"""Distance between the spots tried, in px."""

_GAP = 2
"""Least distance between two labels, in px."""

NEAR_PX = 110
"""How far from its point a label is looked for at first."""


@dataclass(frozen=True)
class Placed:
    """Where a label went, and the point it belongs to."""

    box: Box
    anchor: Point


class LabelPlacer:
    """Places labels on a sheet, one after another; the earlier ones have the first choice.

    Parameters
    ----------
    width, height : int
        Of the sheet, in px.
    busy : ndarray of float [height, width] or None
        What it would cost to hide each pixel; None: nothing.
    taken : sequence of Box
        Boxes that no label may cover.
    """

    def __init__(self, width: int, height: int, busy: np.ndarray | None, taken: Sequence[Box] = ()) -> None:
        """Take the sheet's size, and sum up what hiding costs."""
        self._width = width
        self._height = height
        self._sums: np.ndarray | None = None
        if busy is not None:
            self._sums = np.zeros((height + 1, width + 1))
            self._sums[1:, 1:] = busy.cumsum(axis=0).cumsum(axis=1)
        self._taken = list(taken)

    def place_at(self, size: tuple[int, int], centre: Point) -> Placed | None:
        """The spot right on a point, or None where it is taken or off the sheet."""
        left, top = round(centre[0] - size[0] / 2), round(centre[1] - size[1] / 2)
        box = (left, top, left + size[0], top + size[1])
        off_sheet = left < 0 or top < 0 or box[2] > self._width or box[3] > self._height
        if off_sheet or any(_close(box, other) for other in self._taken):
            return None
        self._taken.append(box)
        return Placed(box, centre)

    def place(self, size: tuple[int, int], anchor: Point, clear: float = 0) -> Placed | None:
        """The best free spot for a label.

        Parameters
        ----------
        size : (int, int)
            Width and height in px.
        anchor : point
            What the label belongs to.
        clear : float
            Least distance in px that the label keeps from the anchor.

        Returns
        -------
        Placed or None
            None where the sheet has no room left.
        """
        for near in (NEAR_PX, 3 * NEAR_PX, max(self._width, self._height)):
            box = self._best(size, anchor, clear, near)
            if box is not None:
                self._taken.append(box)
                return Placed(box, anchor)
        return None

    def _best(self, size: tuple[int, int], anchor: Point, clear: float, near: int) -> Box | None:
        width, height = size
        step = _STEP if near <= NEAR_PX else 3 * _STEP
        lefts = self._tries(anchor[0], width, near, step, self._width)
        tops = self._tries(anchor[1], height, near, step, self._height)
        if not len(lefts) or not len(tops):
            return None
        left, top = (grid.ravel() for grid in np.meshgrid(lefts, tops))
        right, bottom = left + width, top + height
        away_x = np.maximum(np.maximum(left - anchor[0], anchor[0] - right), 0)
        away_y = np.maximum(np.maximum(top - anchor[1], anchor[1] - bottom), 0)
        away = np.hypot(away_x, away_y)
        free = away >= clear
        for other in self._taken:
            free &= (
                (right + _GAP <= other[0])
                | (left >= other[2] + _GAP)
                | (bottom + _GAP <= other[1])
                | (top >= other[3] + _GAP)
            )
        if not free.any():
            return None
        hidden: np.ndarray | float = 0.0
        if self._sums is not None:
            sums = self._sums
            hidden = sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left]
        lopsided = np.abs((left + right) / 2 - anchor[0]) * 0.15 + (top > anchor[1]) * 4
        cost = np.where(free, away * 1.5 + lopsided + hidden, np.inf)
        best = int(np.argmin(cost))
        return int(left[best]), int(top[best]), int(right[best]), int(bottom[best])

    @staticmethod
    def _tries(anchor: float, length: int, near: int, step: int, limit: int) -> np.ndarray:
        """Where a label of some length may begin along one axis."""
        centre = round(anchor - length / 2)
        offsets = np.arange(-near - length, near + length + 1, step)
        starts = centre + offsets
        return starts[(starts >= 1) & (starts + length <= limit - 1)]


def _close(one: Box, other: Box) -> bool:
    """Whether two boxes overlap or all but touch."""
    return (
        one[0] < other[2] + _GAP and other[0] < one[2] + _GAP and one[1] < other[3] + _GAP and other[1] < one[3] + _GAP
    )


def leader_end(box: Box, anchor: Point) -> Point:
    """The point of a label's border that is nearest to its anchor: there its leader line begins."""
    x = min(max(anchor[0], box[0] + 1), box[2] - 1)
    y = min(max(anchor[1], box[1] + 1), box[3] - 1)
    return x, y
