"""A sheet to draw on: smooth lines and shapes, and text that is also kept as a list, so that it can be read back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, hypot
from typing import Protocol

from PIL import Image, ImageDraw

from reach.report.font import load_font
from reach.report.palette import INK, PAGE, Rgb

Point = tuple[float, float]
"""A point of a sheet as (x, y) in px; pixel (i, j) covers [i, i+1) x [j, j+1)."""

Box = tuple[int, int, int, int]
"""Left, top, right and bottom in px; right and bottom lie outside."""

_FINE = 4
_FINE_LIMIT_PX = 3_000_000
"""A shape larger than this is smoothed less, to bound the memory."""


@dataclass(frozen=True)
class TextItem:
    """A line of text as it stands on a sheet: where, how large, in which colour and on which."""

    text: str
    box: Box
    size: int
    ink: Rgb
    paper: Rgb


class Sheet:
    """An RGB picture in the making.

    Parameters
    ----------
    width, height : int
        In px.
    paper : tuple of int
        The colour it starts with.

    Attributes
    ----------
    image : PIL.Image.Image
    texts : list of TextItem
        Everything written so far.
    """

    def __init__(self, width: int, height: int, paper: Rgb = PAGE) -> None:
        """Begin with an empty sheet."""
        self.image = Image.new("RGB", (max(1, width), max(1, height)), paper)
        self.texts: list[TextItem] = []
        self._draw = ImageDraw.Draw(self.image)
        self._draw.fontmode = "L"

    @property
    def width(self) -> int:
        """Width in px."""
        return self.image.width

    @property
    def height(self) -> int:
        """Height in px."""
        return self.image.height

    def rect(self, box: Box, fill: Rgb) -> None:
        """Fill a box with one colour, to the pixel."""
        left, top, right, bottom = box
        if right > left and bottom > top:
            self._draw.rectangle((left, top, right - 1, bottom - 1), fill=fill)

    def frame(self, box: Box, colour: Rgb, width: int = 1) -> None:
        """Draw the inner border of a box, to the pixel."""
        left, top, right, bottom = box
        if right > left and bottom > top:
            self._draw.rectangle((left, top, right - 1, bottom - 1), outline=colour, width=width)

    def text(self, at: Point, text: str, size: int = 13, bold: bool = False, ink: Rgb = INK, paper: Rgb = PAGE) -> Box:
        """Write one line with its top left corner at a point, and return the box it fills.

        `paper` names the colour that it stands on, for the record of texts; it paints nothing.
        """
        font = load_font(size, bold)
        left, top = round(at[0]), round(at[1])
        self._draw.text((left, top), text, font=font, fill=ink, anchor="la")
        box = self._text_box((left, top), text, size, bold)
        if text.strip():
            self.texts.append(TextItem(text, box, size, ink, paper))
        return box

    def text_centred(
        self, centre: Point, text: str, size: int = 13, bold: bool = False, ink: Rgb = INK, paper: Rgb = PAGE
    ) -> Box:
        """Write one line with the middle of its capitals at a point, and return the box it fills."""
        width = load_font(size, bold).getlength(text)
        ascent = load_font(size, bold).getmetrics()[0]
        capital = size * 0.73
        top = centre[1] + capital / 2 - ascent
        return self.text((centre[0] - width / 2, top), text, size, bold, ink, paper)

    def _text_box(self, at: tuple[int, int], text: str, size: int, bold: bool) -> Box:
        left, top, right, bottom = self._draw.textbbox(at, text, font=load_font(size, bold), anchor="la")
        return floor(left), floor(top), ceil(right), ceil(bottom)

    def shape(self, points: Sequence[Point], fill: Rgb) -> None:
        """Fill a polygon, smoothly."""
        self._through_mask(
            _bounds(points, 0), fill, lambda pen, at: pen.polygon([at(point) for point in points], fill=255)
        )

    def disc(self, centre: Point, radius: float, fill: Rgb) -> None:
        """Fill a circle, smoothly."""
        corners = [(centre[0] - radius, centre[1] - radius), (centre[0] + radius, centre[1] + radius)]
        self._through_mask(
            _bounds(corners, 0), fill, lambda pen, at: pen.ellipse((*at(corners[0]), *at(corners[1])), fill=255)
        )

    def pill(self, box: Box, radius: float, fill: Rgb) -> None:
        """Fill a box with rounded corners, smoothly."""
        left, top, right, bottom = box

        def draw(pen: ImageDraw.ImageDraw, at: _Place) -> None:
            x1, y1 = at((left, top))
            x2, y2 = at((right, bottom))
            pen.rounded_rectangle((x1, y1, x2 - 1, y2 - 1), radius=radius * at.scale, fill=255)

        self._through_mask(box, fill, draw)

    def strokes(self, paths: Iterable[Sequence[Point]], colour: Rgb, width: float) -> None:
        """Draw paths with round ends and joints, smoothly; paths that cross do not darken each other."""
        kept = [_thinned(path) for path in paths if path]
        if not kept:
            return
        bounds = _bounds([point for path in kept for point in path], width)

        def draw(pen: ImageDraw.ImageDraw, at: _Place) -> None:
            across = max(1, round(width * at.scale))
            for path in kept:
                fine = [at(point) for point in path]
                if len(fine) > 1:
                    pen.line(fine, fill=255, width=across, joint="curve")
                for x, y in (fine[0], fine[-1]):
                    pen.ellipse((x - across / 2, y - across / 2, x + across / 2, y + across / 2), fill=255)

        self._through_mask(bounds, colour, draw)

    def paste(self, other: Sheet, at: tuple[int, int]) -> None:
        """Put another sheet on this one, with its texts."""
        self.image.paste(other.image, at)
        for item in other.texts:
            left, top, right, bottom = item.box
            moved = (left + at[0], top + at[1], right + at[0], bottom + at[1])
            self.texts.append(TextItem(item.text, moved, item.size, item.ink, item.paper))

    def _through_mask(self, bounds: Box, colour: Rgb, draw: _Drawing) -> None:
        """Draw at a multiple of the size inside `bounds`, average down and lay the colour on by the mask."""
        left, top = max(0, bounds[0]), max(0, bounds[1])
        right, bottom = min(self.width, bounds[2]), min(self.height, bounds[3])
        if right <= left or bottom <= top:
            return
        area = (right - left) * (bottom - top)
        scale = _FINE if area <= _FINE_LIMIT_PX else 2
        mask = Image.new("L", ((right - left) * scale, (bottom - top) * scale), 0)
        draw(ImageDraw.Draw(mask), _Place(left, top, scale))
        self.image.paste(colour, (left, top, right, bottom), mask.reduce(scale))


class _Place:
    """Where a point of the sheet lies on the enlarged mask."""

    def __init__(self, left: int, top: int, scale: int) -> None:
        self._left = left
        self._top = top
        self.scale = scale

    def __call__(self, point: Point) -> Point:
        return (point[0] - self._left) * self.scale, (point[1] - self._top) * self.scale


class _Drawing(Protocol):
    """What draws on a mask: called with the pen and the place of points."""

    def __call__(self, pen: ImageDraw.ImageDraw, at: _Place) -> None: ...


def _bounds(points: Sequence[Point], margin: float) -> Box:
    xs = [x for x, _ in points]
    ys = [y for _, y in points]
    return (
        floor(min(xs) - margin) - 1,
        floor(min(ys) - margin) - 1,
        ceil(max(xs) + margin) + 1,
        ceil(max(ys) + margin) + 1,
    )


def _thinned(path: Sequence[Point]) -> list[Point]:
    """The path without points that repeat the one before, which would break its joints."""
    kept = [path[0]]
    for point in path[1:]:
        if hypot(point[0] - kept[-1][0], point[1] - kept[-1][1]) >= 0.2:
            kept.append(point)
    return kept


def dashed(path: Sequence[Point], dash: float, gap: float) -> list[list[Point]]:
    """The path cut into dashes, measured along it.

    Parameters
    ----------
    path : sequence of points
    dash, gap : float
        Lengths in px, above 0.

    Returns
    -------
    list of paths
    """
    dashes: list[list[Point]] = []
    drawing, left = True, dash
    piece = [path[0]] if path else []
    for (x1, y1), (x2, y2) in pairwise(path):
        length = hypot(x2 - x1, y2 - y1)
        done = 0.0
        while length - done > left:
            done += left
            point = (x1 + (x2 - x1) * done / length, y1 + (y2 - y1) * done / length)
            if drawing:
                dashes.append([*piece, point])
            piece = [point]
            drawing, left = not drawing, gap if drawing else dash
        left -= length - done
        if drawing:
            piece.append((x2, y2))
    if drawing and len(piece) > 1:
        dashes.append(piece)
    return dashes
