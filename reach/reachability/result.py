"""What an exploration found: the superset of everything that any input can lead to, condensed for the graph and the

rules.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from reach.findings import MoveKind, PointPx


@dataclass(frozen=True)
class Foothold:
    """A maximal x interval on one row in which the body is carried and free of blocking tiles, hazards and ending
    places.

    `left_spx` and `right_spx` bound the body's left edge, both inclusive. `is_spring`: the carrying tiles launch at
    once, so one cannot rest here; ordinary footholds leave the spots that overlap a spring out. `row` is the carrying
    row, `columns` the first and last carrying column that a body on it can overlap.
    """

    index: int
    row: int
    left_spx: int
    right_spx: int
    is_spring: bool
    columns: tuple[int, int]


@dataclass(frozen=True)
class OverMove:
    """A move that the superset has: one flight, walk-off, stride, drop or spring bounce between footholds.

    `from_rest`: it exists for a body that starts at rest on the source (False: only with speed brought in).
    `comes_to_rest`: from some landing the body can stop on the target. `air_ticks` is the least number of ticks in the
    air.
    """

    source: int
    target: int
    kind: MoveKind
    from_rest: bool
    comes_to_rest: bool
    air_ticks: int


@dataclass(frozen=True)
class NearestMiss:
    """The nearest that the body ever comes to having reached a place, and where it would have to be for that.

    `source` is the foothold of that flight, -1 for the start. `at_px` and `to_px` are the same point of the body, on
    its feet line, where it comes to and where it would have to be.
    """

    source: int
    at_px: PointPx
    to_px: PointPx

    @property
    def across_px(self) -> float:
        """By how many px the body would have to be farther to the side."""
        return abs(self.to_px[0] - self.at_px[0])

    @property
    def up_px(self) -> float:
        """By how many px the body would have to be higher; negative: lower."""
        return self.at_px[1] - self.to_px[1]


@dataclass(frozen=True)
class Exploration:
    """The fixpoint of the set exploration from one start (or from rest on one foothold).

    Approximation: over. What is not marked here cannot be reached by any input, provided `complete` holds; with
    `complete` False (`why` names the limit) nothing may be concluded from an absent mark.

    `carried` is bool [rows, columns]: tiles whose top carries the body in some state. `touched` is bool [places].
    `rested` is bool [footholds]: the body can come to rest there. `landed` likewise: it can be on it at all. `losing`
    is bool [footholds]: some flight or walk from there can be lost; `losing_start` the same for a start in the air or
    on a spring. `place_moves` holds (source foothold, place index,
    from_rest) for every place that a flight or walk from the source touches. `coverage` is bool [rows * 8, columns *
    8]. `misses` maps the index of each place not touched to its nearest miss. `polygon_ticks` counts by how many ticks
    polygons were moved on; of them `kept_polygon_ticks` in jobs that were not begun again with more room, which is the
    same whatever was known before. `ground` holds the stored ground states.
    """

    complete: bool
    why: str
    footholds: tuple[Foothold, ...]
    carried: np.ndarray
    touched: np.ndarray
    rested: np.ndarray
    landed: np.ndarray
    losing: np.ndarray
    losing_start: bool
    moves: tuple[OverMove, ...]
    place_moves: tuple[tuple[int, int, bool], ...]
    coverage: np.ndarray
    misses: dict[int, NearestMiss]
    polygon_ticks: int
    kept_polygon_ticks: int
    ground: np.ndarray
