"""`reach movement sheet`: the page of figures that a level designer lays out ground by."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    PersonWindowMs,
    ProfileFile,
    ProfileTilePx,
    TimeLimit,
    require_ending,
    require_places_for,
)
from reach.options import USUAL_WINDOW_MS


class SheetFormat(StrEnum):
    """The formats of a sheet that are text."""

    TEXT = "text"
    JSON = "json"


def sheet(
    movement: ProfileFile,
    sheet_format: Annotated[
        SheetFormat | None, typer.Option("--format", help="How to write the sheet; text unless -o says otherwise.")
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="Write there: text (.txt), JSON (.json) or a page (.png)."),
    ] = None,
    tile_px: ProfileTilePx = 16,
    window_ms: PersonWindowMs = USUAL_WINDOW_MS,
    time_limit: TimeLimit = None,
) -> None:
    """Measure a movement profile for level design.

    Widest gaps by height, run-ups, jumps, braking, footholds and corridors, in px, tiles, ticks and ms.
    """
    from reach.files import write_text
    from reach.movement import load_movement
    from reach.report import movement_sheet_json, movement_sheet_text
    from reach.workshop.sheet import SheetOptions, make_sheet

    ending = f".{sheet_format}" if sheet_format is SheetFormat.JSON else ".txt"
    if output is not None:
        require_places_for(output, inputs=(movement,))
        ending = require_ending(output, *([ending] if sheet_format else [".txt", ".json", ".png"]))
    options = SheetOptions(tile_px, window_ms, time_limit)
    the_movement = load_movement(movement)
    with streams.progress() as tell:
        made = make_sheet(the_movement, options, tell)
        if output is not None and ending == ".png":
            from reach.report.movement_sheet_picture import save_page

            tell("drawing", None)
            save_page(made, output)
            return
    if output is None and ending == ".txt":
        streams.write_text(movement_sheet_text.compose(made, streams.terminal_width()))
        return
    text = movement_sheet_json.dump(made) if ending == ".json" else movement_sheet_text.compose(made).plain
    if output is None:
        streams.write_data(text)
    else:
        write_text(output, text)
