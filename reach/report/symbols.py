"""Small signs that the map and its key share: places, verdicts, the badges of findings, tags."""

from __future__ import annotations

from math import cos, pi, sin

from reach.findings import Severity, Verdict
from reach.report.font import shorten, text_width
from reach.report.palette import (
    BLACK,
    INK,
    QUIET_INK,
    SEVERITY_COLOUR,
    VERDICT_COLOUR,
    WHITE,
    Rgb,
    text_colour_on,
)
from reach.report.sheet import Box, Point, Sheet

PLACE_LETTER = {"start": "S", "entrance": "E", "goal": "G", "pickup": "P", "checkpoint": "C", "exit": "X"}

BADGE_SIZE = 13
BADGE_HEIGHT = 19
TAG_SIZE = 12
TAG_HEIGHT = 18
TAG_LONGEST_PX = 230
ROUTE_RADIUS = 9


def place_radius(tile: int) -> float:
    """Half the size of a place's sign where a tile is drawn `tile` px large."""
    return max(7.5, min(13.0, tile * 0.44))


def draw_place(sheet: Sheet, kind: str, fill: Rgb, centre: Point, radius: float) -> Box:
    """Draw a place's sign, its kind told by the outline and a letter, and return the box it covers."""
    for size, colour in ((radius + 1.5, WHITE), (radius, INK), (radius - 1.8, fill)):
        _outline(sheet, kind, centre, size, colour)
    letter = PLACE_LETTER.get(kind, "?")
    drop = radius * {"entrance": 0.1, "checkpoint": -0.1}.get(kind, 0.0)
    sheet.text_centred(
        (centre[0], centre[1] + drop), letter, max(9, round(radius * 1.1)), True, text_colour_on(fill), fill
    )
    x, y = centre
    reach = radius + 2
    return round(x - reach), round(y - reach), round(x + reach), round(y + reach)


def _outline(sheet: Sheet, kind: str, centre: Point, size: float, colour: Rgb) -> None:
    """The silhouette of a kind: disc, arch, hexagon, lozenge, shield or, for an exit, square."""
    x, y = centre
    if kind == "start":
        sheet.disc(centre, size, colour)
    elif kind == "entrance":
        sheet.disc((x, y - size * 0.1), size * 0.9, colour)
        sheet.shape(_box(x, y - size * 0.1, size * 0.9, y + size), colour)
    elif kind == "goal":
        sheet.shape(_polygon(centre, size * 1.12, 6), colour)
    elif kind == "pickup":
        sheet.shape(_polygon(centre, size * 1.2, 4), colour)
    elif kind == "checkpoint":
        upper, lower, side = y - size * 0.95, y + size * 1.1, size * 0.95
        sheet.shape(
            [(x - side, upper), (x + side, upper), (x + side, y + size * 0.3), (x, lower), (x - side, y + size * 0.3)],
            colour,
        )
    else:
        sheet.shape(_box(x, y - size * 0.9, size * 0.9, y + size * 0.9), colour)


def _box(x: float, top: float, half_width: float, bottom: float) -> list[Point]:
    return [(x - half_width, top), (x + half_width, top), (x + half_width, bottom), (x - half_width, bottom)]


def _polygon(centre: Point, radius: float, corners: int) -> list[Point]:
    steps = [2 * pi * i / corners for i in range(corners)]
    return [(centre[0] + radius * cos(angle), centre[1] + radius * sin(angle)) for angle in steps]


def draw_verdict_sign(sheet: Sheet, verdict: Verdict, centre: Point) -> None:
    """Draw a tick, a cross, or a question mark on a dark disc, about 12 px large."""
    x, y = centre
    colour = VERDICT_COLOUR[verdict]
    if verdict is Verdict.REACHABLE:
        sheet.strokes([[(x - 4.5, y), (x - 1.2, y + 3.5), (x + 4.5, y - 4)]], colour, 2.4)
    elif verdict is Verdict.UNREACHABLE:
        sheet.strokes([[(x - 3.7, y - 3.7), (x + 3.7, y + 3.7)], [(x - 3.7, y + 3.7), (x + 3.7, y - 3.7)]], colour, 2.4)
    else:
        sheet.disc(centre, 6.5, BLACK)
        sheet.text_centred(centre, "?", 10, True, colour, BLACK)


def tag_size(text: str, with_sign: bool) -> tuple[int, int]:
    """Width and height of a tag in px."""
    return text_width(shorten(text, TAG_LONGEST_PX, TAG_SIZE), TAG_SIZE) + 9 + (14 if with_sign else 0), TAG_HEIGHT


def draw_tag(sheet: Sheet, box: Box, text: str, verdict: Verdict | None = None, border: Rgb = QUIET_INK) -> None:
    """Draw a white plate with a short text, and the sign of a verdict before it."""
    left, top, right, bottom = box
    sheet.pill(box, 4, border)
    sheet.pill((left + 1, top + 1, right - 1, bottom - 1), 3, WHITE)
    middle = (top + bottom) / 2
    text = shorten(text, TAG_LONGEST_PX, TAG_SIZE)
    offset = 0
    if verdict is not None:
        draw_verdict_sign(sheet, verdict, (left + 10, middle))
        offset = 14
    sheet.text_centred(((left + offset + right) / 2, middle), text, TAG_SIZE, False, INK, WHITE)


def badge_size(number: int) -> tuple[int, int]:
    """Width and height of a finding's badge in px."""
    return 24 + text_width(str(number), BADGE_SIZE, True), BADGE_HEIGHT


def draw_badge(sheet: Sheet, box: Box, number: int, severity: Severity, accepted: bool = False) -> None:
    """Draw a finding's badge: its number, its severity by colour and by a sign before it; in outline if accepted."""
    left, top, right, bottom = box
    ink, fill = (QUIET_INK, WHITE) if accepted else (BLACK, SEVERITY_COLOUR[severity])
    sheet.pill(box, 5, WHITE)
    sheet.pill((left + 1, top + 1, right - 1, bottom - 1), 4, ink)
    sheet.pill((left + 2, top + 2, right - 2, bottom - 2), 3, fill)
    middle = (top + bottom) / 2
    draw_severity_sign(sheet, severity, (left + 10, middle), ink)
    sheet.text_centred(((left + 16 + right - 3) / 2, middle), str(number), BADGE_SIZE, not accepted, ink, fill)


def draw_severity_sign(sheet: Sheet, severity: Severity, centre: Point, ink: Rgb = BLACK) -> None:
    """Draw a cross for an error, a triangle for a warning, a disc for a note."""
    x, y = centre
    if severity is Severity.ERROR:
        sheet.strokes([[(x - 3, y - 3), (x + 3, y + 3)], [(x - 3, y + 3), (x + 3, y - 3)]], ink, 2.4)
    elif severity is Severity.WARNING:
        sheet.shape([(x, y - 4.8), (x + 5, y + 4), (x - 5, y + 4)], ink)
    else:
        sheet.disc(centre, 3.6, ink)


def draw_route_number(sheet: Sheet, box: Box, number: int, colour: Rgb) -> None:
    """Draw a move's place in the easiest route: a number in a ring."""
    left, top, right, bottom = box
    radius = (bottom - top) / 2
    sheet.pill(box, radius, colour)
    sheet.pill((left + 2, top + 2, right - 2, bottom - 2), radius - 2, WHITE)
    centre = ((left + right) / 2, (top + bottom) / 2)
    sheet.text_centred(centre, str(number), 11, True, INK, WHITE)


def route_number_size(number: int) -> tuple[int, int]:
    """Width and height of a route number in px."""
    return max(18, text_width(str(number), 11, True) + 11), 18
