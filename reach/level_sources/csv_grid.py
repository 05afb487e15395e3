"""A CSV table (RFC 4180): one line a row of the map, one cell a tile.

A cell holds a symbol of a level file, or a whole number or word that the mapping tells. A blank cell is an empty tile
unless the mapping tells " ".
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

from reach.errors import InputError, Problem
from reach.files import origin_of, read_text
from reach.json_text import shown
from reach.level import KNOWN_SYMBOLS
from reach.level_sources.alphabet import Alphabet
from reach.level_sources.mapping import Grid, TileMapping
from reach.level_sources.text_grid import refuse_ragged

_WHOLE_NUMBER = re.compile(r"[+-]?[0-9]{1,18}")
_UNKNOWN = "\0"
_BLANK = " "
_OF_A_RECORDING = {"x_px", "y_px"}


def read(path: str | Path, mapping: TileMapping) -> Grid:
    """Return the map in a CSV file.

    Raises
    ------
    InputError
        If the file cannot be read, is no CSV, rows differ in length, or a cell is unknown.
    """
    origin = origin_of(path)
    reader = csv.reader(io.StringIO(read_text(path), newline=""), strict=True)
    try:
        table = list(reader)
    except csv.Error as error:
        raise InputError([Problem(origin, f"line {reader.line_num}", f"broken CSV ({error})", "RFC 4180")]) from None
    while table and not table[-1]:
        table.pop()
    if table and {*table[0]} - mapping.tiles.keys() >= _OF_A_RECORDING:
        found = f"the header of a recording, with {' and '.join(sorted(_OF_A_RECORDING))}"
        raise InputError([Problem(origin, "row 1", found, "a map, one cell a tile")])
    refuse_ragged(origin, [len(row) for row in table], "row", "cells")
    cells = _Cells(mapping)
    rows = ["".join(map(cells.__getitem__, row)) for row in table]
    problems = []
    for cell in cells.unknown:
        row, column = next((r, line.index(cell)) for r, line in enumerate(table) if cell in line)
        place = f"row {row + 1}, cell {column + 1}"
        allowed = f"a symbol that every map knows, or {mapping.allowed('cell')}"
        problems.append(Problem(origin, place, f"the unknown cell {shown(cell)}", allowed))
    if problems:
        raise InputError(problems)
    return Grid(rows, cells.alphabet.symbols)


class _Cells(dict[str, str]):
    """The character for every cell's text, worked out when it is first met; `unknown` keeps those without one."""

    def __init__(self, mapping: TileMapping) -> None:
        super().__init__()
        self.alphabet = Alphabet()
        self.entries = {**KNOWN_SYMBOLS, **{_key(key): entry for key, entry in mapping.tiles.items()}}
        self.unknown: list[str] = []

    def __missing__(self, cell: str) -> str:
        key = _key(cell)
        if key in self.entries:
            self[cell] = self.alphabet.draw(self.entries[key], key)
        else:
            self[cell] = _UNKNOWN
            self.unknown.append(cell)
        return self[cell]


def _key(cell: str) -> str:
    """A cell without space around it, a whole number written one way: 7 for " 07"."""
    text = cell.strip() or _BLANK
    return str(int(text)) if _WHOLE_NUMBER.fullmatch(text) else text
