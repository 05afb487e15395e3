"""A replay as moving pictures: the body on the map at the speed of play, the view following it on a large map."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import TYPE_CHECKING

from PIL import Image

from reach.report.flown import Flown
from reach.report.font import clean, shorten
from reach.report.map_layer import paint_map
from reach.report.palette import BLUISH_GREEN, INK, QUIET_INK, ROUTE, WHITE
from reach.report.replay_ghosts import GHOST_FILL, draw_loss
from reach.report.sheet import Point, Sheet
from reach.report.symbols import draw_place, place_radius
from reach.report.view import LARGEST_TILE_PX, READABLE_TILE_PX, View

if TYPE_CHECKING:
    from reach.level import Level
    from reach.simulator import Row

VIEW_PX = (864, 480)
"""Largest part of the map shown at a time."""

HEADER_PX = 46
FRAME_CS = 5
"""Hundredths of a second that a frame stands, the unit in which a film file tells times; 3 ticks at 60 a second."""

LAST_FRAME_CS = 150
MOST_FRAMES = 400
_TRAIL_SECONDS = 1.5
_MARGIN_TILES = 12
"""How far beyond the view the map is painted at a time, so that a moving view seldom needs it painted again."""


def shown_ticks(ticks: int, tick_rate_hz: int) -> tuple[list[int], int]:
    """The ticks that the frames show, and how many times faster than play they pass.

    Parameters
    ----------
    ticks : int
        Of the whole replay.
    tick_rate_hz : int

    Returns
    -------
    list of int, int
        Ascending, the first 0 and the last `ticks`. A long replay is played faster, so that the film stays small.

    Examples
    --------
    >>> shown_ticks(10, 60)
    ([0, 3, 6, 9, 10], 1)
    """
    frames = ceil(ticks * 100 / (tick_rate_hz * FRAME_CS))
    speed_up = max(1, ceil(frames / MOST_FRAMES))
    step = tick_rate_hz * FRAME_CS * speed_up
    shown = [i * step // 100 for i in range(ceil(ticks * 100 / step) + 1)]
    return sorted({tick for tick in shown if tick < ticks} | {ticks}), speed_up


class Film:
    """A replay as frames of one size that are drawn when they are asked for, so that few are in memory.

    Parameters
    ----------
    level : Level
    movement_name : str
    way : Flown

    Attributes
    ----------
    ticks : list of int
        What each frame shows, ascending, from 0 to the last.
    durations_cs : list of int
        How long each stands, in hundredths of a second.
    speed_up : int
        How many times faster than play it runs.
    """

    def __init__(self, level: Level, movement_name: str, way: Flown) -> None:
        """Choose the ticks to show and what to show of the map."""
        self._level = level
        self._way = way
        self._title = f"{clean(level.name)} - {clean(movement_name)}"
        self._camera = _Camera(level, way)
        self.ticks, self.speed_up = shown_ticks(len(way.rows) - 1, way.tick_rate_hz)
        self.durations_cs = [FRAME_CS] * (len(self.ticks) - 1) + [LAST_FRAME_CS]

    def frame(self, index: int) -> Image.Image:
        """One frame, RGB."""
        tick = self.ticks[index]
        return _draw_frame(self._level, self._way, tick, self._camera, self._title, self.speed_up).image


class _Camera:
    """What part of the map a frame shows, and that part painted."""

    def __init__(self, level: Level, way: Flown) -> None:
        """Choose the sizes of a tile and of the view: all of the replay's part of the map if that fits."""
        self._level = level
        self._columns, self._rows = way.window(level)
        fits = [
            tile
            for tile in range(LARGEST_TILE_PX, READABLE_TILE_PX - 1, -4)
            if len(self._columns) * tile <= VIEW_PX[0] and len(self._rows) * tile <= VIEW_PX[1]
        ]
        self.tile = fits[0] if fits else READABLE_TILE_PX
        self.width = min(len(self._columns) * self.tile, VIEW_PX[0])
        self.height = min(len(self._rows) * self.tile, VIEW_PX[1])
        self._painted: tuple[View, Image.Image] | None = None

    def look_at(self, point_px: Point) -> tuple[Image.Image, View, Point]:
        """The map around a point: its picture, the window painted, and where the picture begins on that window."""
        enlarged = self.tile / self._level.tile_px
        left = self._begin(point_px[0] * enlarged, self.width, self._columns)
        top = self._begin(point_px[1] * enlarged, self.height, self._rows)
        view, painted = self._paint(left, top)
        x, y = left - view.first_column * self.tile, top - view.first_row * self.tile
        return painted.crop((x, y, x + self.width, y + self.height)), view, (x, y)

    def _begin(self, middle: float, length: int, tiles: range) -> int:
        least, most = tiles.start * self.tile, tiles.stop * self.tile - length
        return min(max(round(middle - length / 2), least), most)

    def _paint(self, left: int, top: int) -> tuple[View, Image.Image]:
        columns = range(left // self.tile, -(-(left + self.width) // self.tile))
        rows = range(top // self.tile, -(-(top + self.height) // self.tile))
        if self._painted is not None:
            view = self._painted[0]
            inside = view.first_column <= columns.start and columns.stop <= view.end_column
            if inside and view.first_row <= rows.start and rows.stop <= view.end_row:
                return self._painted
        view = View(
            max(columns.start - _MARGIN_TILES, 0),
            min(columns.stop + _MARGIN_TILES, self._level.columns),
            max(rows.start - _MARGIN_TILES, 0),
            min(rows.stop + _MARGIN_TILES, self._level.rows),
            self.tile,
            self._level.tile_px,
        )
        sheet = Sheet(view.width, view.height)
        paint_map(sheet, self._level.material, view)
        self._painted = (view, sheet.image)
        return self._painted


def _draw_frame(level: Level, way: Flown, tick: int, camera: _Camera, title: str, speed_up: int) -> Sheet:
    row = way.rows[tick]
    feet = way.feet_px(row)
    picture, view, begin = camera.look_at((feet[0], feet[1] - way.body_px[1] / 2))
    window = Sheet(camera.width, camera.height)
    window.image.paste(picture, (0, 0))
    touched = {place for earlier in way.rows[: tick + 1] for place in earlier.places}
    for place in level.places:
        x, y = view.centre((place.column, place.row))
        centre = (x - begin[0], y - begin[1])
        if -20 < centre[0] < camera.width + 20 and -20 < centre[1] < camera.height + 20:
            fill = BLUISH_GREEN if place.id in touched else WHITE
            draw_place(window, place.kind.value, fill, centre, place_radius(view.tile))
    trail = [_moved(view.point(way.feet_px(earlier)), begin) for earlier in _trail(way, tick)]
    window.strokes([trail], WHITE, 3.6)
    window.strokes([trail], ROUTE, 1.8)
    _draw_body(window, way, tick, view, begin)
    frame = Sheet(camera.width, HEADER_PX + camera.height)
    frame.paste(window, (0, HEADER_PX))
    _write_header(frame, way, tick, title, speed_up)
    return frame


def _trail(way: Flown, tick: int) -> Sequence[Row]:
    """The rows of the last moments before a tick, and its own."""
    return way.rows[max(0, tick - round(_TRAIL_SECONDS * way.tick_rate_hz)) : tick + 1]


def _moved(point: Point, begin: Point) -> Point:
    return point[0] - begin[0], point[1] - begin[1]


def _draw_body(window: Sheet, way: Flown, tick: int, view: View, begin: Point) -> None:
    row = way.rows[tick]
    x1, y1, x2, y2 = way.box(row, view)
    left, top, right, bottom = (round(x1 - begin[0]), round(y1 - begin[1]), round(x2 - begin[0]), round(y2 - begin[1]))
    window.frame((left - 1, top - 1, right + 1, bottom + 1), WHITE)
    window.rect((left, top, right, bottom), GHOST_FILL if row.grounded else WHITE)
    window.frame((left, top, right, bottom), INK, 2)
    if row.lost:
        draw_loss(window, (left, top, right, bottom))


def _write_header(frame: Sheet, way: Flown, tick: int, title: str, speed_up: int) -> None:
    row = way.rows[tick]
    room = frame.width - 16
    frame.text((8, 3), shorten(title, room, 13, True), 13, True)
    state = "lost" if row.lost else "on the ground" if row.grounded else "in the air"
    text = f"tick {row.tick} of {way.ticks}  ·  {row.tick / way.tick_rate_hz:.2f} s  ·  {state}"
    if row.places:
        text += "  ·  touches " + " ".join(row.places)
    if speed_up > 1:
        text += f"  ·  played {speed_up} times faster"
    frame.text((8, 23), shorten(text, room, 13), 13, False, QUIET_INK)
    frame.rect((0, HEADER_PX - 1, frame.width, HEADER_PX), QUIET_INK)
