"""Levels from other forms of file, and levels written in their own.

A text grid (`.txt`), a CSV of symbols or whole numbers (`.csv`) and a PNG of one pixel a tile (`.png`) become a level;
a mapping file says what their characters, cells or colours stand for. Any other name is read as a level file.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from reach.errors import InputError, Problem
from reach.files import origin_of
from reach.level import Level, level_from_dict, load_level
from reach.level_sources import csv_grid, png_grid, text_grid
from reach.level_sources.level_json import level_to_dict, level_to_text, save_level
from reach.level_sources.mapping import TileMapping, load_mapping

__all__ = ["READERS", "level_to_dict", "level_to_text", "load_any_level", "save_level"]

READERS = {".txt": text_grid.read, ".csv": csv_grid.read, ".png": png_grid.read}
"""What reads a file, by the ending of its name. Each returns a `Grid`."""


def load_any_level(
    path: str | Path, mapping: str | Path | None = None, tile_px: int | None = None, name: str | None = None
) -> Level:
    """Return the level in a file of any known form; `-` reads a level file from standard input.

    Parameters
    ----------
    path : str or Path
        A level file, or a file whose name ends in a key of `READERS`.
    mapping : str or Path, optional
        A mapping file (`reach-mapping/1`). Needed for a PNG and for a CSV of whole numbers; not for a level file.
    tile_px : int, optional
        The side of a tile in px, in place of the mapping's. Not for a level file, which has its own.
    name : str, optional
        The level's name, in place of the mapping's or the file's.

    Raises
    ------
    InputError
        If a file cannot be read or breaks a rule of its form; it names every problem.
    """
    read = READERS.get(Path(path).suffix.lower())
    if read is None:
        _refuse_options(path, mapping, tile_px, name)
        return load_level(path)
    meanings = TileMapping() if mapping is None else load_mapping(mapping)
    size = meanings.tile_px if tile_px is None else tile_px
    if size is None:
        allowed = 'the side of a tile in px, as an option (--tile-px) or as "tile_px" in the mapping file'
        raise InputError([Problem(origin_of(path), "", "no tile size", allowed)])
    grid = read(path, meanings)
    data = {
        "format": "reach-level/1",
        "name": name or meanings.name or Path(path).stem,
        "tile_px": size,
        "rows": grid.rows,
        "symbols": grid.symbols,
    }
    asked = {"$.tile_px": "tile_px"} if tile_px is not None else {}
    asked |= {"$.name": "name"} if name else {}
    try:
        return level_from_dict(data, origin_of(path))
    except InputError as error:
        raise InputError(
            replace(each, file="<options>", place=asked[each.place]) if each.place in asked else each
            for each in error.problems
        ) from None


def _refuse_options(path: str | Path, mapping: object, tile_px: object, name: object) -> None:
    """A level file says all this itself; an option that changes nothing would mislead."""
    given = {"a mapping": mapping, "a tile size": tile_px, "a name": name}
    forms = ", ".join(READERS)
    problems = [
        Problem(origin_of(path), "", f"{what} for a level file", f"{what} only with {forms}")
        for what, value in given.items()
        if value is not None
    ]
    if problems:
        raise InputError(problems)
