"""`reach replay`: what a script of inputs does, tick by tick, as a table or a picture."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    LevelFile,
    MappingFile,
    MovementFile,
    ScriptFile,
    TableFormat,
    TilePx,
    require_ending,
    require_one_reader,
    require_places_for,
    target_of,
)

PICTURES = (".png", ".gif")


def replay(
    level: LevelFile,
    movement: MovementFile,
    script: ScriptFile,
    table_format: Annotated[
        TableFormat | None, typer.Option("--format", help="How to write the table; csv unless -o says otherwise.")
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o", "--output", metavar="FILE", help="Write there: a table (.csv, .json) or a picture (.png, .gif)."
        ),
    ] = None,
    to: Annotated[
        str | None,
        typer.Option("--to", metavar="PLACE|C,R", help="Exit with 1 if the script does not get to this place or tile."),
    ] = None,
    mapping: MappingFile = None,
    tile_px: TilePx = None,
) -> None:
    """Play a script of inputs, tick by tick.

    The table tells the body's position and speed after every tick, exactly; row 0 is the start.
    """
    from reach import simulator
    from reach.files import write_text
    from reach.level_sources import load_any_level
    from reach.movement import load_movement
    from reach.report import replay_table
    from reach.script import load_script
    from reach.verdicts import arrival_tick

    ending = f".{table_format or TableFormat.CSV}"
    require_one_reader(level, movement, script, mapping)
    if output is not None:
        require_places_for(output, inputs=(level, movement, script, mapping))
        ending = require_ending(output, *([ending] if table_format else [".csv", ".json", *PICTURES]))
    the_level = load_any_level(level, mapping, tile_px)
    the_movement = load_movement(movement)
    the_script = load_script(script)
    with streams.progress() as tell:
        tell("replaying", None)
        played = simulator.replay(the_level, the_movement, the_script)
        arrival = None if to is None else arrival_tick(the_level, the_movement, the_script, target_of(to))
        if output is not None and ending in PICTURES:
            from reach.report.replay_picture import save_replay

            tell("drawing", None)
            save_replay(the_level, the_movement, played, output)
    for warning in played.warnings:
        streams.say(f"warning: {warning}")
    if ending not in PICTURES:
        table = replay_table.to_json(played) if ending == ".json" else replay_table.to_csv(played)
        if output is None:
            streams.write_data(table)
        else:
            write_text(output, table)
    if to is not None:
        streams.say(f"the script does not get to {to}" if arrival is None else f"{to} is reached in tick {arrival}")
        raise typer.Exit(1 if arrival is None else 0)
