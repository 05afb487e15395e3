"""`reach convert`: a level of another form, written as reach-level/1."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reach.cli.arguments import LevelFile, MappingFile, TilePx, require_ending, require_one_reader, require_places_for


def convert(
    level: LevelFile,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="OUT.json", help="The level file to write.", show_default=False)
    ],
    mapping: MappingFile = None,
    tile_px: TilePx = None,
    name: Annotated[str | None, typer.Option("--name", metavar="NAME", help="The level's name.")] = None,
) -> None:
    """Write another form of level as JSON.

    Reads a text grid, a CSV or a PNG.
    """
    from reach.level_sources import load_any_level, save_level

    require_one_reader(level, mapping)
    require_places_for(output, inputs=(mapping,))
    require_ending(output, ".json")
    save_level(load_any_level(level, mapping, tile_px, name), output)
