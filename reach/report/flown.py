"""A replay in the units of a picture: where the body is after every tick, and what happens to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from reach.report.sheet import Box, Point
from reach.report.view import View

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement
    from reach.simulator import Row

SPX_PER_PX = 65536

_MARGIN_TILES = 2


@dataclass(frozen=True)
class Flown:
    """The body's way through a level.

    Attributes
    ----------
    body_px : (float, float)
        Width and height of the body in px of the map.
    tick_rate_hz : int
    rows : tuple of Row
        As the simulator tells them, row 0 the start; at least one. They end where nothing changes any more.
    ticks : int
        Of the whole replay.
    """

    body_px: tuple[float, float]
    tick_rate_hz: int
    rows: tuple[Row, ...]
    ticks: int

    @property
    def seconds(self) -> float:
        """How long the whole replay takes."""
        return self.ticks / self.tick_rate_hz

    def corner_px(self, row: Row) -> Point:
        """The body's upper left corner in px of the map."""
        return row.x_spx / SPX_PER_PX, row.y_spx / SPX_PER_PX

    def feet_px(self, row: Row) -> Point:
        """The middle of the body's feet line in px of the map."""
        x, y = self.corner_px(row)
        return x + self.body_px[0] / 2, y + self.body_px[1]

    def box(self, row: Row, view: View) -> Box:
        """The body on a sheet, to the nearest pixel, at least 2 px wide and high."""
        x, y = self.corner_px(row)
        left, top = view.point((x, y))
        right, bottom = view.point((x + self.body_px[0], y + self.body_px[1]))
        return round(left), round(top), max(round(right), round(left) + 2), max(round(bottom), round(top) + 2)

    def window(self, level: Level) -> tuple[range, range]:
        """The columns and rows of the map that the body passes, with a margin."""
        xs = [self.corner_px(row)[0] for row in self.rows]
        ys = [self.corner_px(row)[1] for row in self.rows]
        columns = _tiles(min(xs), max(xs) + self.body_px[0], level.tile_px, level.columns)
        return columns, _tiles(min(ys), max(ys) + self.body_px[1], level.tile_px, level.rows)


def flown(movement: Movement, rows: Sequence[Row]) -> Flown:
    """The way that a replay's rows tell, without the ticks at its end that change nothing."""
    body_px = (movement.motion.body_w / SPX_PER_PX, movement.motion.body_h / SPX_PER_PX)
    moving = len(rows)
    while moving > 1 and rows[moving - 1]._replace(tick=0) == rows[moving - 2]._replace(tick=0):
        moving -= 1
    return Flown(body_px, movement.tick_rate_hz, tuple(rows[:moving]), len(rows) - 1)


def _tiles(first_px: float, last_px: float, tile_px: int, count: int) -> range:
    first = min(max(int(first_px // tile_px) - _MARGIN_TILES, 0), count - 1)
    last = min(max(int(last_px // tile_px) + _MARGIN_TILES, first), count - 1)
    return range(first, last + 1)


def events(way: Flown) -> dict[int, str]:
    """What is worth telling of the ticks of a replay: takeoffs, falls, landings, places first touched, loss and end.

    Returns
    -------
    dict of int to str
        By index into the rows, in ascending order.
    """
    told: dict[int, list[str]] = {0: ["start"]}
    touched = set(way.rows[0].places)
    for index, (before, after) in enumerate(pairwise(way.rows), start=1):
        words = []
        if after.lost:
            words.append("lost")
        elif after.grounded and not before.grounded:
            words.append("lands")
        elif not after.grounded and after.vy_spx < 0 and after.y_spx >= before.y_spx:
            # a spring's launch moves the body from the next tick on, a jump at once
            words.append("bounces")
        elif not after.grounded and after.vy_spx < 0 and (before.grounded or before.vy_spx >= 0):
            words.append("takeoff")
        elif before.grounded and not after.grounded:
            words.append("falls")
        new = [place for place in after.places if place not in touched]
        touched.update(new)
        words.extend(f"touches {place}" for place in new)
        if words:
            told[index] = words
    if not way.rows[-1].lost:
        told.setdefault(len(way.rows) - 1, []).append("end")
    return {index: ", ".join(words) for index, words in sorted(told.items())}
