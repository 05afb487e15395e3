"""`reach movement trace`: the positions that a script should lead to, for a test of your own engine."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    MappingFile,
    OnLevelFile,
    ProfileFile,
    ScriptFile,
    TilePx,
    require_ending,
    require_one_reader,
    require_places_for,
)


def trace(
    movement: ProfileFile,
    script: ScriptFile,
    level: OnLevelFile = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE.csv", help="Write the table there.")
    ] = None,
    mapping: MappingFile = None,
    tile_px: TilePx = None,
) -> None:
    """Tell the exact positions of a script, tick by tick.

    A table in the format of recordings, exact to the subpixel. Without --level the body begins at rest on endless flat
    ground, with its top-left corner at 0, 0.
    """
    from reach.files import write_text
    from reach.level_sources import load_any_level
    from reach.movement import load_movement
    from reach.report.trace_table import to_csv
    from reach.script import load_script
    from reach.workshop.tracing import trace_script

    require_one_reader(movement, script, level, mapping)
    if output is not None:
        require_ending(output, ".csv")
        require_places_for(output, inputs=(movement, script, level, mapping))
    the_movement = load_movement(movement)
    the_script = load_script(script)
    the_level = None if level is None else load_any_level(level, mapping, tile_px)
    with streams.progress() as tell:
        tell("tracing", None)
        traced = trace_script(the_movement, the_script, the_level)
    for warning in traced.warnings:
        streams.say(f"warning: {warning}")
    if output is None:
        streams.write_data(to_csv(traced))
    else:
        write_text(output, to_csv(traced))
