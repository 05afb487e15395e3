"""Where a body would have to be to have reached a place: what the nearest miss is measured to."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.params import HAZARD, SOLID, SPRING

if TYPE_CHECKING:
    from reach.kernels.params import Motion, Terrain
    from reach.reachability.result import Foothold

Rectangle = tuple[int, int, int, int]
"""Least and greatest x, least and greatest y of a body's top-left corner, spx; all four inclusive."""


def find_aims(motion: Motion, terrain: Terrain, footholds: Sequence[Foothold]) -> np.ndarray:
    """Return rectangles that hold, place by place, all positions in which a body has reached it or walks up to it.

    In the first it touches the place and overlaps no blocking tile and no hazard; where it fits nowhere around the
    place, whatever touches it counts. In the second it stands on a foothold from which a step leads into the first.

    Parameters
    ----------
    motion : Motion
    terrain : Terrain
    footholds : sequence of Foothold
        All of the terrain.

    Returns
    -------
    int64 [rectangles, 5]
        Index of the place; least and greatest x, least and greatest y, spx.
    """
    by_row: dict[int, list[Foothold]] = {}
    for foothold in footholds:
        by_row.setdefault(foothold.row, []).append(foothold)
    bad = _summed(np.isin(terrain.material, (SOLID, SPRING, HAZARD)))
    rows: list[tuple[int, ...]] = []
    for place in range(len(terrain.place_row)):
        around = _touching(motion, terrain, place)
        free = list(_free(motion, terrain, bad, around)) or [around]
        rows += [(place, *rectangle) for rectangle in (*free, *_beside(motion, terrain, by_row, free))]
    return np.array(rows, np.int64).reshape(-1, 5)


def _touching(motion: Motion, terrain: Terrain, place: int) -> Rectangle:
    """Return all positions at which a body overlaps a place's tile."""
    left, top = int(terrain.place_column[place]) * terrain.tile, int(terrain.place_row[place]) * terrain.tile
    return (left - motion.body_w + 1, left + terrain.tile - 1, top - motion.body_h + 1, top + terrain.tile - 1)


def _summed(bad: np.ndarray) -> np.ndarray:
    """Return how many bad tiles lie above and left of each corner, int64 [rows + 1, columns + 1]."""
    sums = np.zeros((bad.shape[0] + 1, bad.shape[1] + 1), np.int64)
    sums[1:, 1:] = bad.cumsum(axis=0).cumsum(axis=1)
    return sums


def _free(motion: Motion, terrain: Terrain, bad: np.ndarray, around: Rectangle) -> Iterator[Rectangle]:
    """Yield the parts of a rectangle of positions in which a body overlaps nothing bad.

    The sides of the map are walls; nothing bad is above or below it.
    """
    left, right, top, bottom = around
    sides = (max(left, 0), min(right, terrain.material.shape[1] * terrain.tile - motion.body_w))
    columns = [(part, _tiles(*part, motion.body_w, terrain)) for part in _constant(*sides, motion.body_w, terrain)]
    height = terrain.material.shape[0]
    open_from: dict[tuple[int, int], int] = {}
    for low, high in _constant(top, bottom, motion.body_h, terrain):
        first, end = (min(max(row, 0), height) for row in _tiles(low, high, motion.body_h, terrain))
        clear = [not (bad[end, e] - bad[first, e] - bad[end, f] + bad[first, f]) for _, (f, e) in columns]
        runs = []
        for is_clear, run in groupby(zip(clear, columns, strict=True), key=lambda one: one[0]):
            parts = [part for _, (part, _) in run]
            if is_clear:
                runs.append((parts[0][0], parts[-1][1]))
        yield from ((*run, begun, low - 1) for run, begun in open_from.items() if run not in runs)
        open_from = {run: open_from.get(run, low) for run in runs}
    yield from ((*run, begun, bottom) for run, begun in open_from.items())


def _tiles(low: int, high: int, size: int, terrain: Terrain) -> tuple[int, int]:
    """Return the first tile, along one axis, that a body overlaps from `low` to `high`, and the one after the last."""
    return low // terrain.tile, (high + size - 1) // terrain.tile + 1


def _constant(low: int, high: int, size: int, terrain: Terrain) -> list[tuple[int, int]]:
    """Return the parts of [low, high] in which a body of this size overlaps the same tiles."""
    tile = terrain.tile
    cuts = {low}
    for edge in range(low // tile * tile, high + size + tile, tile):
        cuts |= {cut for cut in (edge, edge - size + 1) if low < cut <= high}
    begins = sorted(cuts) if low <= high else []
    return list(zip(begins, [*(cut - 1 for cut in begins[1:]), high], strict=False))


def _beside(
    motion: Motion, terrain: Terrain, by_row: Mapping[int, Sequence[Foothold]], free: Sequence[Rectangle]
) -> Iterator[Rectangle]:
    """Yield the footholds from which a body walks into one of these rectangles (an ending place cuts them off)."""
    tops, bottoms = [top for _, _, top, _ in free], [bottom for _, _, _, bottom in free]
    least = min(left for left, _, _, _ in free) - 1
    for row in range(
        -(-(min(tops) + motion.body_h) // terrain.tile), (max(bottoms) + motion.body_h) // terrain.tile + 1
    ):
        y = row * terrain.tile - motion.body_h
        sides = [(left - 1, right + 1) for left, right, top, bottom in free if top <= y <= bottom]
        those = by_row.get(row, ())
        for foothold in those[bisect_left(those, least, key=lambda one: one.right_spx) :]:
            first, last = foothold.left_spx, foothold.right_spx
            if first > max((right for _, right in sides), default=first - 1):
                break
            if not foothold.is_spring and any(left <= last and first <= right for left, right in sides):
                yield (first, last, y, y)
