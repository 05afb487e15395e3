"""A movement sheet as text for a person: the gaps first, then how the body moves on the ground and in the air."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from rich.text import Text

from reach.report.movement_sheet_tables import SheetTable, tables, title

if TYPE_CHECKING:
    from reach.workshop.sheet import MovementSheet

_INDENT = "  "
_GAP = "  "


def compose(sheet: MovementSheet, width: int = 100) -> Text:
    """Return the sheet as styled text; its `plain` is the same text without colour.

    Parameters
    ----------
    sheet : MovementSheet
    width : int
        Columns to wrap at; tables are as wide as they need to be.
    """
    text = Text()
    text.append(sheet.name, "bold")
    text.append(f"  {title(sheet)}\n")
    for table in tables(sheet):
        text.append(f"\n{table.title}\n", "bold")
        _add_rows(text, table)
        for note in table.notes:
            text.append(_wrapped(note, width), "dim")
    return text


def _add_rows(text: Text, table: SheetTable) -> None:
    widths = [max(len(row[i]) for row in (table.columns, *table.rows)) for i in range(len(table.columns))]
    at = 0
    for words, count in table.groups:
        # a heading wider than its columns widens the last of them
        room = sum(widths[at : at + count]) + len(_GAP) * (count - 1)
        widths[at + count - 1] += max(0, len(words) - room)
        at += count
    if table.groups:
        text.append(_line(_over_columns(table, widths)), "dim")
    text.append(_line(_cells(table.columns, widths, table.left)), "dim")
    for row in table.rows:
        text.append(_line(_cells(row, widths, table.left)))


def _over_columns(table: SheetTable, widths: list[int]) -> list[str]:
    cells = []
    at = 0
    for words, count in table.groups:
        cells.append(words.rjust(sum(widths[at : at + count]) + len(_GAP) * (count - 1)))
        at += count
    return cells


def _cells(row: tuple[str, ...], widths: list[int], left: int) -> list[str]:
    return [
        cell.ljust(width) if i < left else cell.rjust(width)
        for i, (cell, width) in enumerate(zip(row, widths, strict=True))
    ]


def _line(cells: list[str]) -> str:
    return f"{_INDENT}{_GAP.join(cells)}".rstrip() + "\n"


def _wrapped(words: str, width: int) -> str:
    lines = textwrap.wrap(words, width, initial_indent=_INDENT, subsequent_indent=_INDENT, break_on_hyphens=False)
    return "".join(f"{line}\n" for line in lines)
