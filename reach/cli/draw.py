"""`reach draw`: the level with everything found drawn over it."""

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
    TilePx,
    TimeLimit,
    TimingSpreadMs,
    WindowMs,
    require_ending,
    require_one_reader,
    require_places_for,
)
from reach.options import USUAL_SPREAD_MS, USUAL_WINDOW_MS, CheckOptions


def draw(
    level: LevelFile,
    movement: MovementFile,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE.png", help="The picture to write.", show_default=False)
    ],
    scale: Annotated[
        int | None,
        typer.Option(
            "--scale", metavar="N", min=1, help="Picture pixels a level pixel; by default what suits the map."
        ),
    ] = None,
    from_place: FromPlace = "start",
    window_ms: WindowMs = USUAL_WINDOW_MS,
    timing_spread_ms: TimingSpreadMs = USUAL_SPREAD_MS,
    time_limit: TimeLimit = None,
    memory_limit: MemoryLimit = None,
    mapping: MappingFile = None,
    tile_px: TilePx = None,
) -> None:
    """Draw a level and what was found over it.

    Reachable and unreachable ground, places, moves and findings. Findings do not change the exit code.
    """
    from reach import checker
    from reach.level_sources import load_any_level
    from reach.movement import load_movement
    from reach.report.png_overlay import draw_overlay, save_image
    from reach.world.compiling_beside import compiling_beside

    require_ending(output, ".png")
    require_one_reader(level, movement, mapping)
    require_places_for(output, inputs=(level, movement, mapping))
    options = CheckOptions(from_place, window_ms, timing_spread_ms, time_limit, memory_limit)
    the_level = load_any_level(level, mapping, tile_px)
    the_movement = load_movement(movement)
    with streams.progress() as tell, compiling_beside():
        report = checker.check(the_level, the_movement, options, tell)
        tell("drawing", None)
        save_image(draw_overlay(the_level, report, scale), output)
