"""`reach prove`: a script that gets to one place or tile, or the proof that none does."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    FromPlace,
    LevelFile,
    MappingFile,
    MemoryLimit,
    MovementFile,
    Target,
    TilePx,
    TimeLimit,
    require_one_reader,
    require_places_for,
    target_of,
)
from reach.findings import Verdict

EXIT_CODES = {Verdict.REACHABLE: 0, Verdict.UNREACHABLE: 1, Verdict.UNDECIDED: 3}


def prove(
    level: LevelFile,
    movement: MovementFile,
    to: Target,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="SCRIPT", help="Write the script there instead of to standard output."),
    ] = None,
    from_place: FromPlace = "start",
    time_limit: TimeLimit = None,
    memory_limit: MemoryLimit = None,
    mapping: MappingFile = None,
    tile_px: TilePx = None,
) -> None:
    """Prove a place or tile reachable, or not.

    Exit 0 with the script that gets there, 1 if it is proved unreachable, 3 if undecided.
    """
    from reach import checker
    from reach.level_sources import load_any_level
    from reach.movement import load_movement
    from reach.options import CheckOptions
    from reach.script import save_script, script_to_text
    from reach.world.compiling_beside import compiling_beside

    require_one_reader(level, movement, mapping)
    require_places_for(output, inputs=(level, movement, mapping))
    options = CheckOptions(from_place, time_limit_s=time_limit, memory_limit_mib=memory_limit)
    the_level = load_any_level(level, mapping, tile_px)
    the_movement = load_movement(movement)
    with streams.progress() as tell, compiling_beside():
        proof = checker.prove(the_level, the_movement, target_of(to), options, tell)
    if proof.script is not None and output is None:
        streams.write_data(script_to_text(proof.script))
    elif proof.script is not None and output is not None:
        save_script(proof.script, output)
    streams.say(f"{to} is {proof.verdict.value}: {proof.why}")
    raise typer.Exit(EXIT_CODES[proof.verdict])
