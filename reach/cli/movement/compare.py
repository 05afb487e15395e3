"""`reach movement compare`: what differs between the sheets of two profiles."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    NewProfileFile,
    OldProfileFile,
    PersonWindowMs,
    ProfileTilePx,
    TimeLimit,
    require_ending,
    require_one_reader,
    require_places_for,
)
from reach.cli.movement.sheet import SheetFormat
from reach.options import USUAL_WINDOW_MS


def compare(
    old: OldProfileFile,
    new: NewProfileFile,
    changes_format: Annotated[
        SheetFormat | None,
        typer.Option("--format", help="How to write the differences; text unless -o says otherwise."),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="Write there: text (.txt) or JSON (.json)."),
    ] = None,
    fail_on_change: Annotated[
        bool, typer.Option("--fail-on-change", help="Exit with 1 where any figure differs.")
    ] = False,
    tile_px: ProfileTilePx = 16,
    window_ms: PersonWindowMs = USUAL_WINDOW_MS,
    time_limit: TimeLimit = None,
) -> None:
    """Tell how the sheets of two profiles differ.

    What closes and opens in levels already built, then every figure, the largest effect on levels first.
    """
    from reach.files import write_text
    from reach.movement import load_movement
    from reach.report import sheet_changes_json, sheet_changes_text
    from reach.workshop.sheet import SheetOptions, make_sheet
    from reach.workshop.sheet_changes import compare_sheets

    require_one_reader(old, new)
    ending = ".json" if changes_format is SheetFormat.JSON else ".txt"
    if output is not None:
        require_places_for(output, inputs=(old, new))
        ending = require_ending(output, *([ending] if changes_format else [".txt", ".json"]))
    options = SheetOptions(tile_px, window_ms, time_limit)
    profiles = [load_movement(name) for name in (old, new)]
    with streams.progress() as tell:
        changes = compare_sheets(*(make_sheet(profile, options, tell) for profile in profiles))
    if output is None and ending == ".txt":
        streams.write_text(sheet_changes_text.compose(changes, streams.terminal_width()))
    else:
        is_json = ending == ".json"
        text = sheet_changes_json.dump(changes) if is_json else sheet_changes_text.compose(changes).plain
        if output is None:
            streams.write_data(text)
        else:
            write_text(output, text)
    raise typer.Exit(1 if fail_on_change and changes.figures else 0)
