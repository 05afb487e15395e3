"""Rulers around a strip, so that a tile named (column, row) is found at once."""

from __future__ import annotations

from reach.report.font import text_width
from reach.report.palette import EDGE, QUIET_INK, RULER
from reach.report.sheet import Sheet
from reach.report.view import View

SIZE = 11
_SIDE = 12
_CAPTION = 20
_RULER = 20


def number_step(tile: int) -> int:
    """Every how many tiles a ruler carries a number.

    Examples
    --------
    >>> number_step(48), number_step(24), number_step(3)
    (1, 5, 20)
    """
    if tile >= 36:
        return 1
    return next((step for step in (5, 10, 20, 50, 100, 200) if step * tile >= 50), 500)


def with_rulers(window: Sheet, view: View, columns: int, rows: int, captioned: bool) -> tuple[Sheet, tuple[int, int]]:
    """Put a drawn window between rulers.

    Parameters
    ----------
    window : Sheet
        What `view` shows, perhaps with a gutter below.
    view : View
    columns, rows : int
        Where the whole map ends, to tell its borders from cuts.
    captioned : bool
        Whether a line above names the columns and rows.

    Returns
    -------
    Sheet, (int, int)
        The strip, and where the window's upper left corner lies on it.
    """
    side = _SIDE + text_width(str(rows - 1), SIZE)
    top = _RULER + (_CAPTION if captioned else 0)
    strip = Sheet(side + window.width + side, top + window.height + _RULER)
    strip.paste(window, (side, top))
    if captioned:
        text = f"Columns {view.first_column} to {view.end_column - 1}"
        if view.first_row > 0 or view.end_row < rows:
            text += f", rows {view.first_row} to {view.end_row - 1}"
        strip.text((side, 0), text, 12, True, QUIET_INK)
    map_bottom = top + view.top + view.height
    _columns_ruler(strip, view, side, top, above=True)
    _columns_ruler(strip, view, side, map_bottom + (window.height - view.top - view.height), above=False)
    _rows_ruler(strip, view, side, top + view.top, side + view.width)
    if view.first_column == 0:
        strip.rect((side - 2, top + view.top, side, map_bottom), EDGE)
    if view.end_column == columns:
        strip.rect((side + view.width, top + view.top, side + view.width + 2, map_bottom), EDGE)
    return strip, (side, top)


def _numbered(first: int, end: int, step: int) -> list[int]:
    return [number for number in range(first, end) if number % step == 0]


def _columns_ruler(strip: Sheet, view: View, left: int, edge: int, above: bool) -> None:
    """Numbers over (or under) their columns, each with a bar as wide as its tile."""
    for column in _numbered(view.first_column, view.end_column, number_step(view.tile)):
        x = left + (column - view.first_column) * view.tile
        bar = (edge - 4, edge - 2) if above else (edge + 2, edge + 4)
        strip.rect((x + 1, bar[0], x + max(2, view.tile - 1), bar[1]), RULER)
        y = edge - 10 if above else edge + 11
        strip.text_centred((x + view.tile / 2, y), str(column), SIZE, False, QUIET_INK)


def _rows_ruler(strip: Sheet, view: View, left: int, top: int, right: int) -> None:
    """Numbers at both ends of their rows, each with a bar as high as its tile."""
    for row in _numbered(view.first_row, view.end_row, number_step(view.tile)):
        y = top + (row - view.first_row) * view.tile
        width = text_width(str(row), SIZE)
        for bar, text in ((left - 6, left - 9 - width / 2), (right + 4, right + 9 + width / 2)):
            strip.rect((bar, y + 1, bar + 2, y + max(2, view.tile - 1)), RULER)
            strip.text_centred((text, y + view.tile / 2), str(row), SIZE, False, QUIET_INK)
