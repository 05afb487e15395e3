"""`reach check`: everything that can be said about a level."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    AsReport,
    FailOn,
    FromPlace,
    LevelFile,
    MappingFile,
    MemoryLimit,
    MovementFile,
    ReportFile,
    ReportFormat,
    TilePx,
    TimeLimit,
    TimingSpreadMs,
    WindowMs,
    require_ending,
    require_no_file,
    require_one_reader,
    require_places_for,
)
from reach.cli.report_output import write_report
from reach.findings import Severity
from reach.options import USUAL_SPREAD_MS, USUAL_WINDOW_MS, CheckOptions
from reach.wording import count_words, list_words

if TYPE_CHECKING:
    from reach.findings import Report
    from reach.level import Level


def check(
    level: LevelFile,
    movement: MovementFile,
    report_format: AsReport = ReportFormat.TEXT,
    output: ReportFile = None,
    image: Annotated[
        Path | None,
        typer.Option("--image", metavar="FILE.png", help="Draw the level with everything found over it."),
    ] = None,
    scripts: Annotated[
        Path | None,
        typer.Option(
            "--scripts",
            metavar="DIR",
            help="Write the scripts there that prove places reachable, and those into ground without a way out.",
        ),
    ] = None,
    fail_on: FailOn = Severity.ERROR,
    from_place: FromPlace = "start",
    window_ms: WindowMs = USUAL_WINDOW_MS,
    timing_spread_ms: TimingSpreadMs = USUAL_SPREAD_MS,
    time_limit: TimeLimit = None,
    memory_limit: MemoryLimit = None,
    mapping: MappingFile = None,
    tile_px: TilePx = None,
) -> None:
    """Find what can be reached and what is wrong.

    What can be reached (with proof), what cannot (proved too), where a player is stuck, which landings are tight.
    """
    from reach import checker
    from reach.level_sources import load_any_level
    from reach.movement import load_movement
    from reach.report import json_report, text_report
    from reach.world.compiling_beside import compiling_beside

    if image is not None:
        require_ending(image, ".png")
    require_one_reader(level, movement, mapping)
    require_places_for(output, image, inputs=(level, movement, mapping))
    require_no_file(scripts)
    options = CheckOptions(from_place, window_ms, timing_spread_ms, time_limit, memory_limit)
    the_level = load_any_level(level, mapping, tile_px)
    the_movement = load_movement(movement)
    with streams.progress() as tell, compiling_beside():
        report = checker.check(the_level, the_movement, options, tell)
        written = _write_beside(the_level, report, image, scripts, tell)
    write_report(
        report_format,
        output,
        partial(text_report.compose, report),
        partial(json_report.dump, report),
        text_report.headline(report),
        written,
    )
    failing = any(report.count(severity) for severity in Severity if severity.rank >= fail_on.rank)
    raise typer.Exit(1 if failing else 0)


def _write_beside(
    level: Level, report: Report, image: Path | None, scripts: Path | None, tell: streams.Tell
) -> list[str]:
    """Write the picture and the scripts, and return a line about each for the end of the report."""
    written = []
    if image is not None:
        from reach.report.png_overlay import draw_overlay, save_image

        tell("drawing", None)
        save_image(draw_overlay(level, report), image)
        written.append(f"picture: {image}")
    if scripts is not None:
        from reach.report.script_folder import STUCK, save_scripts

        folder = save_scripts(report, scripts)
        written.append(f"{count_words(len(folder.saved), 'proof script')}: {scripts}")
        if folder.ways_in:
            written.append(
                f"{count_words(len(folder.ways_in), 'script')} into ground without a way out: {scripts / STUCK}"
            )
        for where, outdated in ((scripts, folder.outdated), (scripts / STUCK, folder.outdated_ways_in)):
            if outdated:
                names = list_words([f"{name}.json" for name in outdated])
                written.append(f"left by an earlier run in {where}, and no proof now: {names}")
    return written
