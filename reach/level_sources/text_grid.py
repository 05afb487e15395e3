"""A text grid: one line a row of the map, one character a tile, drawn with the symbols of a level file."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from reach.errors import InputError, Problem
from reach.files import origin_of, read_text
from reach.json_text import shown
from reach.level import KNOWN_SYMBOLS, MAX_SIDE_TILES
from reach.level_sources.mapping import Grid, TileMapping


def read(path: str | Path, mapping: TileMapping) -> Grid:
    """Return the map in a text file. Lines end in a line feed, with or without a carriage return before it.

    Raises
    ------
    InputError
        If the file cannot be read, lines differ in length, or a character is unknown.
    """
    origin = origin_of(path)
    text = read_text(path).removesuffix("\n")
    rows = [line.removesuffix("\r") for line in text.split("\n")]
    refuse_ragged(origin, [len(row) for row in rows], "line", "characters")
    if mapping.document is not None:
        bad = [key for key in mapping.tiles if len(key) != 1]
        if bad:
            allowed = "one character, for a text grid"
            raise InputError(mapping.document.problem(("tiles",), f"the key {shown(key)}", allowed, key) for key in bad)
    known = {*KNOWN_SYMBOLS, *mapping.tiles}
    problems = []
    for strange in sorted(set().union(*rows) - known):
        line = next(index for index, row in enumerate(rows) if strange in row)
        place = f"line {line + 1}, column {rows[line].index(strange) + 1}"
        symbols = " ".join(shown(symbol) for symbol in KNOWN_SYMBOLS)
        allowed = f"one of {symbols}, or {mapping.allowed('character')}"
        problems.append(Problem(origin, place, f"the unknown symbol {shown(strange)}", allowed))
    if problems:
        raise InputError(problems)
    return Grid(rows, dict(mapping.tiles))


def refuse_ragged(origin: str, lengths: list[int], row: str, tiles: str) -> None:
    """Refuse a map whose rows differ in length, or that is too large for a level.

    Parameters
    ----------
    origin : str
    lengths : list of int
        Tiles of every row.
    row, tiles : str
        What a row and its tiles are called in this form of file.
    """
    columns = Counter(lengths).most_common(1)[0][0] if lengths else 0
    if not columns or max(columns, len(lengths)) > MAX_SIDE_TILES:
        found = f"{columns} x {len(lengths)} tiles" if columns else "an empty map"
        allowed = f"1 to {MAX_SIDE_TILES} rows of 1 to {MAX_SIDE_TILES} tiles"
        raise InputError([Problem(origin, "", found, allowed)])
    allowed = f"{columns} {tiles}, as in {row} {lengths.index(columns) + 1}"
    problems = [
        Problem(origin, f"{row} {index + 1}", f"{length} {tiles}", allowed)
        for index, length in enumerate(lengths)
        if length != columns
    ]
    if problems:
        raise InputError(problems)
