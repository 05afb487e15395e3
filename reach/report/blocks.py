"""Blocks of text and signs, stacked or set in columns."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reach.report.font import line_height, text_width
from reach.report.palette import INK, Rgb
from reach.report.sheet import Point, Sheet


@dataclass(frozen=True)
class Sign:
    """A sign in a line of text: how wide it is, and what draws it around its middle."""

    width: int
    draw: Callable[[Sheet, Point], object]


@dataclass(frozen=True)
class Words:
    """A piece of a line of text."""

    text: str
    bold: bool = False
    ink: Rgb = INK


def line_of(parts: Sequence[Sign | Words], size: int, width: int, height: int | None = None) -> Sheet:
    """Signs and words beside one another, on as many lines as they need; a piece is not broken.

    Parameters
    ----------
    parts : sequence of Sign or Words
    size : int
        Of the text.
    width : int
        In px.
    height : int, optional
        Of a line; else that of the text.

    Returns
    -------
    Sheet
    """
    height = height or line_height(size) + 2
    spots: list[tuple[int, int]] = []
    x, line = 0, 0
    for part in parts:
        needs = part.width if isinstance(part, Sign) else text_width(part.text, size, part.bold)
        if x and x + needs > width:
            x, line = 0, line + 1
        spots.append((x, line))
        x += needs
    sheet = Sheet(width, (line + 1) * height)
    for part, (left, row) in zip(parts, spots, strict=True):
        middle = row * height + height / 2
        if isinstance(part, Sign):
            part.draw(sheet, (left + part.width / 2, middle))
        else:
            sheet.text((left, middle - size * 0.6), part.text, size, part.bold, part.ink)
    return sheet


def lines_of(lines: Sequence[str], size: int, width: int, bold: bool = False, ink: Rgb = INK, indent: int = 0) -> Sheet:
    """Lines of text below one another, without further breaking."""
    sheet = Sheet(width, len(lines) * line_height(size))
    for i, line in enumerate(lines):
        sheet.text((indent, i * line_height(size)), line, size, bold, ink)
    return sheet


def stack(sheets: Sequence[Sheet], gap: int = 0) -> Sheet:
    """Sheets below one another, aligned left."""
    kept = [sheet for sheet in sheets if sheet.height > 1 or sheet.texts]
    if not kept:
        return Sheet(1, 1)
    width = max(sheet.width for sheet in kept)
    whole = Sheet(width, sum(sheet.height for sheet in kept) + gap * (len(kept) - 1))
    y = 0
    for sheet in kept:
        whole.paste(sheet, (0, y))
        y += sheet.height + gap
    return whole


def in_columns(sheets: Sequence[Sheet], columns: int, column_gap: int, gap: int) -> Sheet:
    """Sheets of one width in columns as low as can be, read down the first column, then down the next."""
    if not sheets:
        return Sheet(1, 1)
    heights = [sheet.height + gap for sheet in sheets]
    lowest, highest = max(heights), sum(heights)
    while lowest < highest:
        middle = (lowest + highest) // 2
        if len(_filled(heights, middle)) <= columns:
            highest = middle
        else:
            lowest = middle + 1
    stacks = [stack(sheets[part.start : part.stop], gap) for part in _filled(heights, lowest)]
    whole = Sheet(
        sum(column.width for column in stacks) + column_gap * (len(stacks) - 1), max(column.height for column in stacks)
    )
    x = 0
    for column in stacks:
        whole.paste(column, (x, 0))
        x += column.width + column_gap
    return whole


def _filled(heights: Sequence[int], most: int) -> list[range]:
    """Which items stand in which column when each is filled up to a height."""
    parts = [range(0)]
    height = 0
    for i, more in enumerate(heights):
        if height + more > most:
            parts.append(range(i, i))
            height = 0
        parts[-1] = range(parts[-1].start, i + 1)
        height += more
    return parts
