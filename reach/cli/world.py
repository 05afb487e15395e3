"""`reach world`: every level of a world from every entrance that can be reached, and the world as a whole."""

from __future__ import annotations

import os
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from reach.cli import streams
from reach.cli.arguments import (
    AsReport,
    CacheFolder,
    FailOn,
    Jobs,
    MarkdownFile,
    MemoryLimit,
    NoCache,
    ReportFile,
    ReportFormat,
    TimeLimit,
    TimingSpreadMs,
    WindowMs,
    WorldFile,
    WorldMovementFile,
    require_ending,
    require_no_file,
    require_one_reader,
    require_places_for,
)
from reach.cli.report_output import write_report
from reach.cli.settings import settings_file, usual_movement
from reach.cli.world_run import outcome_words, require_one_way, runner_for, standing_words, tell_skipped
from reach.files import STANDARD_INPUT, write_text
from reach.findings import Severity
from reach.options import USUAL_SPREAD_MS, USUAL_WINDOW_MS, CheckOptions
from reach.wording import count_words, list_words

if TYPE_CHECKING:
    from reach.report.world_pictures import PictureFolder
    from reach.world.changed_levels import Chosen
    from reach.world.result import Outcome, WorldReport
    from reach.world.world_file import LoadedWorld

COULD_NOT = 2

ImagesFolder = Annotated[
    Path | None,
    typer.Option(
        "--images", metavar="DIR", help="Draw every level that is entered there, a PNG for each of its entrances."
    ),
]
ContactSheetFile = Annotated[
    Path | None,
    typer.Option("--contact-sheet", metavar="FILE.png", help="Draw all levels in small there, joined by their links."),
]
JunitFile = Annotated[
    Path | None,
    typer.Option("--junit", metavar="FILE.xml", help="Write the report as JUnit XML, for CI, there as well."),
]
SarifFile = Annotated[
    Path | None,
    typer.Option("--sarif", metavar="FILE.sarif", help="Write the report as SARIF 2.1.0, for review, there as well."),
]
Scheduler = Annotated[
    str | None,
    typer.Option(
        "--scheduler", metavar="ADDRESS", help="Have a Dask cluster do the checks: HOST:PORT of its scheduler."
    ),
]
ChangedSince = Annotated[
    str | None,
    typer.Option(
        "--changed-since",
        metavar="REV",
        help="Check only levels that git says have changed since this commit, and those linked to them.",
        show_default=False,
    ),
]


class Others(NamedTuple):
    """The files for reports beside the one."""

    junit: Path | None
    sarif: Path | None
    markdown: Path | None


ENDINGS = (".xml", ".sarif", ".md")
"""What the names of these files end in."""


def world(
    context: typer.Context,
    world: WorldFile,
    movement: WorldMovementFile = None,
    report_format: AsReport = ReportFormat.TEXT,
    output: ReportFile = None,
    images: ImagesFolder = None,
    contact_sheet: ContactSheetFile = None,
    junit: JunitFile = None,
    sarif: SarifFile = None,
    markdown: MarkdownFile = None,
    fail_on: FailOn = Severity.ERROR,
    window_ms: WindowMs = USUAL_WINDOW_MS,
    timing_spread_ms: TimingSpreadMs = USUAL_SPREAD_MS,
    time_limit: TimeLimit = None,
    memory_limit: MemoryLimit = None,
    jobs: Jobs = None,
    scheduler: Scheduler = None,
    cache: CacheFolder = None,
    no_cache: NoCache = False,
    changed_since: ChangedSince = None,
) -> None:
    """Check every level of a world, and how they are linked.

    Every level is checked from every entrance that can be reached. Found as well: levels that nobody can enter, exits
    that lead nowhere, links that strand the player, what can be missed for good. The limits are for each check of a
    level from one entrance alone.
    """
    from reach.report import world_json, world_text
    from reach.world.cache import open_cache
    from reach.world.part_checker import check_part
    from reach.world.world_checker import check_world
    from reach.world.world_file import load_world

    require_one_reader(world, movement)
    others = Others(junit, sarif, markdown)
    require_places_for(output, contact_sheet, *others, inputs=(world, movement))
    for file, ending in zip(others, ENDINGS, strict=True):
        if file is not None:
            require_ending(file, ending)
    if contact_sheet is not None:
        require_ending(contact_sheet, ".png")
    require_no_file(images)
    source = context.get_parameter_source("jobs")
    require_one_way(None if source is None or source.name == "DEFAULT_MAP" else jobs, scheduler)  # settings may say it
    options = CheckOptions("start", window_ms, timing_spread_ms, time_limit, memory_limit)
    the_world = load_world(world, movement, usual_movement(context))
    tell_skipped(the_world)
    chosen = None if changed_since is None else _chosen(the_world, world, changed_since, settings_file(context))
    pictures = _pictures_of(the_world, images, contact_sheet)

    def take(outcome: Outcome) -> None:
        streams.say(outcome_words(outcome))
        if pictures is not None:
            pictures.save(outcome)

    kept = None if no_cache else open_cache(cache, streams.say)
    with (
        streams.progress() as tell,
        runner_for(
            the_world, options, jobs, kept, lambda now: tell(standing_words(now), now.part), scheduler
        ) as runner,
    ):
        if chosen is None:
            report = check_world(the_world, options, runner, take)
        else:
            report = check_part(the_world, chosen, options, runner, take)
    if kept is not None and kept.taken:
        streams.say(f"{count_words(kept.taken, 'check')} taken from the cache")
    drawn = _draw(the_world, report, pictures, contact_sheet)
    written = [*drawn, *_write_others(report, others, world, fail_on)]
    write_report(
        report_format,
        output,
        partial(world_text.compose, report),
        partial(world_json.dump, report),
        world_text.headline(report),
        written,
    )
    failing = any(report.count(severity) for severity in Severity if severity.rank >= fail_on.rank)
    raise typer.Exit(COULD_NOT if report.failed else 1 if failing else 0)


def _chosen(world: LoadedWorld, path: str, revision: str, settings: str) -> Chosen | None:
    """Return the levels that have changed and those linked to them; None, and a word, for the whole world."""
    from reach.world.changed_levels import changed_levels

    chosen = changed_levels(world, path, revision, settings)
    if isinstance(chosen, str):
        streams.say(f"{chosen}: the whole world is checked")
        return None
    return chosen


def _pictures_of(world: LoadedWorld, images: Path | None, contact_sheet: Path | None) -> PictureFolder | None:
    """Refuse, before any work is done, what cannot be drawn; return what draws the levels, if they are to be."""
    if contact_sheet is not None:
        from reach.report.world_sheet import require_few_levels

        require_few_levels(world)
    if images is None:
        return None
    from reach.report.world_pictures import PictureFolder

    return PictureFolder(world, images)


def _draw(
    world: LoadedWorld, report: WorldReport, pictures: PictureFolder | None, contact_sheet: Path | None
) -> list[str]:
    """Draw the contact sheet, and say which pictures are where."""
    written = []
    if contact_sheet is not None:
        from reach.report.png_overlay import save_image
        from reach.report.world_sheet import compose_contact_sheet

        save_image(compose_contact_sheet(world, report).image, contact_sheet)
        written.append(f"contact sheet: {contact_sheet}")
    if pictures is not None:
        written.append(f"{count_words(len(pictures.saved), 'picture')}: {pictures.folder}")
        if pictures.left_over():
            names = list_words(pictures.left_over())
            written.append(f"left by an earlier run in {pictures.folder}, and not drawn now: {names}")
    return written


def _write_others(report: WorldReport, others: Others, world: str, fail_on: Severity) -> list[str]:
    """Write the reports that were asked for beside the one, and say which are where."""
    from reach.cli.rule_pages import rule_pages
    from reach.report import world_junit, world_markdown, world_sarif

    written = []
    pages = rule_pages()
    if others.junit is not None:
        of_level, of_world = ([page.id for page in pages if page.of_world is which] for which in (False, True))
        write_text(others.junit, world_junit.dump(report, of_level, of_world, fail_on))
        written.append(f"JUnit XML: {others.junit}")
    if others.sarif is not None:
        rules = {page.id: page.summary for page in pages}
        write_text(others.sarif, world_sarif.dump(report, rules, _from_here(world)))
        written.append(f"SARIF: {others.sarif}")
    if others.markdown is not None:
        write_text(others.markdown, world_markdown.dump(report))
        written.append(f"summary: {others.markdown}")
    return written


def _from_here(world: str) -> str:
    """Return the way from here to a file or folder; "" for standard input, or where there is none (another drive)."""
    if world == STANDARD_INPUT:
        return ""
    try:
        return Path(os.path.relpath(world)).as_posix()
    except ValueError:
        return ""
