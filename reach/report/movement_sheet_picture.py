"""A movement sheet as a page to print and pin up: the gaps drawn on tiles, and all tables."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reach.report.blocks import stack
from reach.report.font import line_height, text_width, wrap
from reach.report.gap_chart import GapChart
from reach.report.movement_sheet_tables import SheetTable, tables, title
from reach.report.palette import INK, PAGE, QUIET_INK, RULER, Rgb
from reach.report.png_overlay import save_image
from reach.report.sheet import Sheet

if TYPE_CHECKING:
    from reach.workshop.sheet import MovementSheet

WIDTH = 1280
MARGIN = 28
COLUMN_GAP = 36
SIZE = 13
HEADING = 16
TITLE = 22
_CELL_GAP = 12
_ROW = line_height(SIZE)
STRIPE: Rgb = (243, 245, 247)
"""Every other row of a table stands on this."""


def draw_page(sheet: MovementSheet) -> Sheet:
    """Return the page of a sheet.

    Parameters
    ----------
    sheet : MovementSheet

    Returns
    -------
    Sheet
        `WIDTH` px wide and as high as it needs to be.
    """
    column = (WIDTH - 2 * MARGIN - COLUMN_GAP) // 2
    gaps, ground, jumps, landings, corridors = tables(sheet)
    left = stack([GapChart(sheet, column).draw(), *(table_block(t, column) for t in (ground, landings))], 22)
    right = stack([table_block(table, column) for table in (gaps, jumps, corridors)], 22)
    head = _head(sheet)
    page = Sheet(WIDTH, MARGIN + head.height + 16 + max(left.height, right.height) + MARGIN)
    page.paste(head, (MARGIN, MARGIN))
    top = MARGIN + head.height + 16
    page.paste(left, (MARGIN, top))
    page.paste(right, (MARGIN + column + COLUMN_GAP, top))
    return page


def save_page(sheet: MovementSheet, path: str | Path) -> None:
    """Write the page as PNG, whole or not at all.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    save_image(draw_page(sheet).image, path)


def _head(sheet: MovementSheet) -> Sheet:
    width = WIDTH - 2 * MARGIN
    head = Sheet(width, line_height(TITLE) + line_height(SIZE) + 8)
    name = wrap(sheet.name, width, TITLE, bold=True, most_lines=1)
    head.text((0, 0), name[0] if name else "", TITLE, bold=True)
    head.text((0, line_height(TITLE)), title(sheet), SIZE, ink=QUIET_INK)
    head.rect((0, head.height - 2, width, head.height), RULER)
    return head


def table_block(table: SheetTable, width: int) -> Sheet:
    """Return a table with its title over it and its notes under it, the columns as wide as their widest cell."""
    notes = [line for note in table.notes for line in wrap(note, width, SIZE)]
    widths = _widths(table)
    body_top = line_height(HEADING) + 4
    head_rows = 2 if table.groups else 1
    rows = len(table.rows) + head_rows
    block = Sheet(width, body_top + rows * _ROW + 8 + len(notes) * _ROW)
    block.text((0, 0), table.title, HEADING, bold=True)
    at = body_top
    if table.groups:
        _draw_groups(block, table, widths, at)
        at += _ROW
    _draw_row(block, table, table.columns, widths, at, head=True)
    at += _ROW
    block.rect((0, at, sum(widths) + _CELL_GAP * (len(widths) - 1), at + 1), RULER)
    for number, row in enumerate(table.rows):
        if number % 2:
            block.rect((0, at + 2, sum(widths) + _CELL_GAP * (len(widths) - 1), at + _ROW + 2), STRIPE)
        _draw_row(block, table, row, widths, at + 2, head=False, paper=STRIPE if number % 2 else PAGE)
        at += _ROW
    at += 8
    for line in notes:
        block.text((0, at), line, SIZE, ink=QUIET_INK)
        at += _ROW
    return block


def _widths(table: SheetTable) -> list[int]:
    widths = [
        max(text_width(row[i], SIZE, bold=row is table.columns) for row in (table.columns, *table.rows))
        for i in range(len(table.columns))
    ]
    at = 0
    for words, count in table.groups:
        room = sum(widths[at : at + count]) + _CELL_GAP * (count - 1)
        widths[at] += max(0, text_width(words, SIZE, bold=True) - room)
        at += count
    return widths


def _draw_groups(block: Sheet, table: SheetTable, widths: list[int], top: int) -> None:
    column = 0
    for words, count in table.groups:
        left = sum(widths[:column]) + _CELL_GAP * column
        right = sum(widths[: column + count]) + _CELL_GAP * (column + count - 1)
        if words:
            block.text((right - text_width(words, SIZE, bold=True), top), words, SIZE, bold=True, ink=INK)
            block.rect((left + 4, top + _ROW - 1, right, top + _ROW), RULER)
        column += count


def _draw_row(
    block: Sheet,
    table: SheetTable,
    cells: tuple[str, ...],
    widths: list[int],
    top: int,
    *,
    head: bool,
    paper: Rgb = PAGE,
) -> None:
    x = 0
    for i, (cell, width) in enumerate(zip(cells, widths, strict=True)):
        left = x if i < table.left else x + width - text_width(cell, SIZE, bold=head)
        block.text((left, top), cell, SIZE, bold=head, ink=QUIET_INK if head else INK, paper=paper)
        x += width + _CELL_GAP
