"""`reach movement curves`: how a profile moves, drawn over time and over tiles."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    OtherProfileFile,
    ProfileFile,
    ProfileTilePx,
    TableFormat,
    require_ending,
    require_one_reader,
    require_places_for,
)


def curves(
    movement: ProfileFile,
    other: OtherProfileFile = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o", "--output", metavar="FILE", help="Write there: the picture (.png), or the numbers (.csv, .json)."
        ),
    ] = None,
    figures_format: Annotated[
        TableFormat | None,
        typer.Option("--format", help="Print the figures as numbers too; csv where there is no -o."),
    ] = None,
    tile_px: ProfileTilePx = 16,
) -> None:
    """Draw the curves of one or two profiles.

    Speed over time, air control, jump arcs, and the envelope of one takeoff. A second profile is drawn over the first.
    """
    from reach.files import write_text
    from reach.movement import load_movement
    from reach.report import movement_curves_table
    from reach.workshop.curves import measure_curves

    require_one_reader(movement, other)
    ending = None
    if output is not None:
        require_places_for(output, inputs=(movement, other))
        ending = require_ending(output, ".png", ".csv", ".json")
    profiles = [load_movement(name) for name in (movement, other) if name is not None]
    with streams.progress() as tell:
        tell("measuring", None)
        measured = measure_curves(profiles, tile_px)
        if output is not None and ending == ".png":
            from reach.report.movement_curves import save_curves

            tell("drawing", None)
            save_curves(measured, output)
    for own in measured:
        for remark in own.remarks:
            streams.say(f"{own.movement.name}: {remark}")
    writers = {".csv": movement_curves_table.to_csv, ".json": movement_curves_table.to_json}
    if output is not None and ending in writers:
        write_text(output, writers[ending](measured))
    if figures_format is not None or output is None:
        streams.write_data(writers[f".{figures_format or TableFormat.CSV}"](measured))
