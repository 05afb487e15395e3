"""The typeface of the pictures, shipped with the product so that a picture looks the same on every machine."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from io import BytesIO

from PIL import ImageFont

REGULAR = "DejaVuSansCondensed.ttf"
BOLD = "DejaVuSansCondensed-Bold.ttf"

ELLIPSIS = "…"


@lru_cache(maxsize=2)
def _font_bytes(name: str) -> bytes:
    return (resources.files("reach.report") / "fonts" / name).read_bytes()


@lru_cache(maxsize=32)
def load_font(size: int, bold: bool = False) -> ImageFont.FreeTypeFont:
    """The typeface at one size.

    Parameters
    ----------
    size : int
        Height of an em in px of the picture.
    bold : bool

    Returns
    -------
    PIL.ImageFont.FreeTypeFont
        With the basic layout engine: the same on every build of the drawing library.
    """
    data = BytesIO(_font_bytes(BOLD if bold else REGULAR))
    return ImageFont.truetype(data, size, layout_engine=ImageFont.Layout.BASIC)


def text_width(text: str, size: int, bold: bool = False) -> int:
    """Width of one line of text in px, rounded up.

    Examples
    --------
    >>> text_width("", 13)
    0
    """
    return -int(-load_font(size, bold).getlength(text) // 1)


def line_height(size: int) -> int:
    """Distance from one line's top to the next in px."""
    return round(size * 1.4)


def clean(text: str) -> str:
    """The text on one line: control characters and runs of white space become one space."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def shorten(text: str, width: int, size: int, bold: bool = False) -> str:
    """The longest beginning of `text` that fits in `width` px, with an ellipsis where something was left out."""
    text = clean(text)
    if text_width(text, size, bold) <= width:
        return text
    fits, too_long = 0, len(text)
    while too_long - fits > 1:
        middle = (fits + too_long) // 2
        if text_width(text[:middle].rstrip() + ELLIPSIS, size, bold) <= width:
            fits = middle
        else:
            too_long = middle
    return text[:fits].rstrip() + ELLIPSIS


def wrap(text: str, width: int, size: int, bold: bool = False, most_lines: int | None = None) -> list[str]:
    """The text broken into lines of at most `width` px.

    Parameters
    ----------
    text : str
    width : int
        In px; a word wider than this is broken inside.
    size : int
    bold : bool
    most_lines : int, optional
        What is beyond is left out, and the last line ends in an ellipsis.

    Returns
    -------
    list of str
        Empty for a blank text.
    """
    lines: list[str] = []
    line = ""
    for whole_word in clean(text).split(" "):
        word = whole_word
        joined = f"{line} {word}" if line else word
        if text_width(joined, size, bold) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        while text_width(word, size, bold) > width and len(word) > 1:
            cut = _longest_prefix(word, width, size, bold)
            lines.append(word[:cut])
            word = word[cut:]
        line = word
    if line:
        lines.append(line)
    if most_lines is not None and len(lines) > most_lines:
        rest = " ".join(lines[most_lines - 1 :])
        lines = [*lines[: most_lines - 1], shorten(rest, width, size, bold)]
    return lines


def _longest_prefix(word: str, width: int, size: int, bold: bool) -> int:
    """How many of a word's characters fit in `width`, at least one."""
    fits, too_long = 1, len(word)
    while too_long - fits > 1:
        middle = (fits + too_long) // 2
        if text_width(word[:middle], size, bold) <= width:
            fits = middle
        else:
            too_long = middle
    return fits
