"""The colours of every picture, and the contrast they must keep.

The eight named colours are those of Okabe & Ito, "Color Universal Design" (2002, revised 2008), also printed in Wong,
"Points of view: Color blindness", Nature Methods 8:441 (2011). Orange, sky blue and yellow fall short of 3:1 on white,
so whatever is drawn in them stands on a dark casing; and no meaning is carried by colour alone: each has a pattern, a
shape or a word as well.
"""

from __future__ import annotations

from reach.findings import Severity, Verdict

Rgb = tuple[int, int, int]
"""A colour as red, green and blue, 0 to 255 each."""

BLACK: Rgb = (0, 0, 0)
ORANGE: Rgb = (230, 159, 0)
SKY_BLUE: Rgb = (86, 180, 233)
BLUISH_GREEN: Rgb = (0, 158, 115)
YELLOW: Rgb = (240, 228, 66)
BLUE: Rgb = (0, 114, 178)
VERMILLION: Rgb = (213, 94, 0)
REDDISH_PURPLE: Rgb = (204, 121, 167)

WHITE: Rgb = (255, 255, 255)
INK: Rgb = (24, 30, 38)
"""Text and casings."""
QUIET_INK: Rgb = (84, 95, 110)
"""Text that steps back: rulers, captions."""

PAGE: Rgb = (255, 255, 255)
RULER: Rgb = (148, 157, 170)
GRID_FIFTH: Rgb = (220, 225, 231)
SOLID_FILL: Rgb = (203, 209, 217)
SOLID_HATCH: Rgb = (176, 184, 195)
EDGE: Rgb = (84, 95, 110)
"""Outlines of ground, and the bars of one-way tiles."""
HAZARD_FILL: Rgb = (58, 64, 74)

COVERED: Rgb = (226, 241, 250)
"""Where the body can be: sky blue, thinned with white."""
COVERED_EDGE: Rgb = (60, 135, 184)

MOVE: Rgb = (98, 114, 136)
ROUTE: Rgb = BLUE

VERDICT_COLOUR = {
    Verdict.REACHABLE: BLUISH_GREEN,
    Verdict.UNREACHABLE: VERMILLION,
    Verdict.UNDECIDED: YELLOW,
}
SEVERITY_COLOUR = {
    Severity.ERROR: VERMILLION,
    Severity.WARNING: ORANGE,
    Severity.NOTE: REDDISH_PURPLE,
}
MIN_TEXT_CONTRAST = 4.5
MIN_MARK_CONTRAST = 3.0


def relative_luminance(colour: Rgb) -> float:
    """The relative luminance of an sRGB colour, 0 for black to 1 for white.

    Parameters
    ----------
    colour : tuple of int
        Red, green and blue, 0 to 255.

    Returns
    -------
    float

    Notes
    -----
    Source: Web Content Accessibility Guidelines 2.2, definition of relative luminance.

    Examples
    --------
    >>> relative_luminance((255, 255, 255))
    1.0
    """

    def linear(value: int) -> float:
        share = value / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = colour
    return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)


def contrast(one: Rgb, other: Rgb) -> float:
    """The contrast ratio of two colours, 1 to 21, not rounded.

    Parameters
    ----------
    one, other : tuple of int
        In either order.

    Returns
    -------
    float

    Notes
    -----
    Source: Web Content Accessibility Guidelines 2.2: (lighter + 0.05) / (darker + 0.05) of the relative luminances;
    text needs 4.5 (1.4.3), marks need 3 (1.4.11).

    Examples
    --------
    >>> contrast((0, 0, 0), (255, 255, 255))
    21.0
    """
    lighter, darker = sorted((relative_luminance(one), relative_luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def text_colour_on(paper: Rgb) -> Rgb:
    """Black or white, whichever stands out more on `paper`.

    Examples
    --------
    >>> text_colour_on((240, 228, 66))
    (0, 0, 0)
    """
    return BLACK if contrast(BLACK, paper) >= contrast(WHITE, paper) else WHITE
