"""`reach compare`: what a change of the movement or of the levels makes worse."""

from __future__ import annotations

from contextlib import AbstractContextManager, nullcontext
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from reach.cli import streams
from reach.cli.arguments import (
    AsReport,
    CacheFolder,
    Jobs,
    MarkdownFile,
    MemoryLimit,
    NoCache,
    ReportFile,
    ReportFormat,
    TimeLimit,
    TimingSpreadMs,
    WindowMs,
    require_ending,
    require_no_file,
    require_places_for,
)
from reach.cli.report_output import write_report
from reach.cli.settings import usual_movement, usual_world
from reach.cli.world_run import outcome_words, runner_for, standing_words, tell_skipped
from reach.errors import InputError, Problem
from reach.files import origin_of, write_text
from reach.findings import Severity
from reach.options import USUAL_SPREAD_MS, USUAL_WINDOW_MS, CheckOptions
from reach.wording import count_words, list_words

if TYPE_CHECKING:
    from reach.comparison.changes import Comparison
    from reach.comparison.kept_reports import KeptReports
    from reach.comparison.side import Side
    from reach.comparison.source import Source
    from reach.world.cache import Cache
    from reach.world.result import Outcome
    from reach.world.world_file import LoadedWorld

COULD_NOT = 2
WHEN = ("before", "after")

BeforeName = Annotated[
    str | None,
    typer.Argument(
        metavar="BEFORE",
        help="A world, a folder of levels, a level, or a report saved with --format json; if left out, the world that "
        "is set for the project (see reach settings).",
        show_default=False,
    ),
]
AfterName = Annotated[
    str | None,
    typer.Argument(
        metavar="AFTER", help="The same after the change; if left out, only the movement changes.", show_default=False
    ),
]
NewMovement = Annotated[
    str | None,
    typer.Option(
        "-m",
        "--movement",
        metavar="NEW",
        help="The movement after the change, of every level that names none; of two folders or levels, of both sides.",
    ),
]
OldMovement = Annotated[
    str | None,
    typer.Option(
        "--movement-before",
        metavar="OLD",
        help="The movement before the change, where it was another than --movement; needed for one folder or level.",
    ),
]
ComparedImages = Annotated[
    Path | None,
    typer.Option("--images", metavar="DIR", help="Draw there, before and after, whatever got worse, a PNG each."),
]
WorseFailOn = Annotated[
    Severity, typer.Option("--fail-on", help="Exit with 1 for what got worse and matters as much, or more.")
]


class Loaded(NamedTuple):
    """One of the two: what has to be checked, or what a saved report says."""

    world: LoadedWorld | None
    saved: Side | None
    single: bool
    linked: bool


def compare(
    context: typer.Context,
    before: BeforeName = None,
    after: AfterName = None,
    movement: NewMovement = None,
    movement_before: OldMovement = None,
    report_format: AsReport = ReportFormat.TEXT,
    output: ReportFile = None,
    images: ComparedImages = None,
    markdown: MarkdownFile = None,
    fail_from: WorseFailOn = Severity.NOTE,
    window_ms: WindowMs = USUAL_WINDOW_MS,
    timing_spread_ms: TimingSpreadMs = USUAL_SPREAD_MS,
    time_limit: TimeLimit = None,
    memory_limit: MemoryLimit = None,
    jobs: Jobs = None,
    cache: CacheFolder = None,
    no_cache: NoCache = False,
) -> None:
    """Tell what a change makes worse, worst first.

    Both are checked, and compared level by level: places, ground, routes, windows, findings. Got worse: what was
    proved reachable and is not any more, new errors and warnings, pickups that can newly be missed for good, and
    windows that are narrower as measured, and tight.
    """
    from reach.comparison.compare import compare as compare_sides
    from reach.comparison.compare import require_same_options
    from reach.report import comparison_json, comparison_text
    from reach.world.cache import open_cache

    usual = None
    if before is None:
        before, usual = usual_world(context), usual_movement(context)
        if before is None:
            raise _refused("nothing to compare", "BEFORE, or a world that is set for the project (reach settings)")
    require_places_for(output, markdown, inputs=(before, after, movement, movement_before))
    if markdown is not None:
        require_ending(markdown, ".md")
    require_no_file(images)
    options = CheckOptions("start", window_ms, timing_spread_ms, time_limit, memory_limit)
    pair = _loaded(before, after, movement, movement_before, usual, images is not None)
    require_same_options(*(options.stated() if one.saved is None else one.saved.options for one in pair))
    kept = None if no_cache or not any(one.world for one in pair) else open_cache(cache, streams.say)
    with _spilling(pair, images) as spill:
        sides = [_side(one, when, options, jobs, kept, spill) for one, when in zip(pair, WHEN, strict=True)]
        if kept is not None and kept.taken:
            streams.say(f"{count_words(kept.taken, 'check')} taken from the cache")
        comparison = compare_sides(*sides)
        written = _draw(comparison, pair, spill, images)
    if markdown is not None:
        from reach.report import comparison_markdown

        write_text(markdown, comparison_markdown.dump(comparison))
        written.append(f"summary: {markdown}")
    write_report(
        report_format,
        output,
        partial(comparison_text.compose, comparison),
        partial(comparison_json.dump, comparison),
        comparison_text.headline(comparison),
        written,
    )
    worst = comparison.worst
    failing = worst is not None and worst.rank >= fail_from.rank
    raise typer.Exit(COULD_NOT if comparison.not_compared else 1 if failing else 0)


def _loaded(
    before: str,
    after: str | None,
    movement: str | None,
    movement_before: str | None,
    usual_before: str | None,
    images: bool,
) -> tuple[Loaded, Loaded]:
    """Read both, and refuse, before any work is done, what cannot be compared or drawn."""
    from reach.comparison.compare import require_alike
    from reach.comparison.source import SourceKind, source_of

    old = source_of(before)
    if after is None and movement is None:
        raise _refused("BEFORE alone", "AFTER, or the new movement (--movement), or both")
    new = old if after is None else source_of(after)
    for source, option, given in ((old, "--movement-before", movement_before), (new, "--movement", movement)):
        if source.kind is SourceKind.SAVED and given is not None:
            raise _refused(f"{option} with a saved report", f"{option} for what is still to be checked")
    if images and SourceKind.SAVED in (old.kind, new.kind):
        raise _refused("--images with a saved report, which holds nothing to draw", "--images with two to be checked")
    if SourceKind.SAVED not in (old.kind, new.kind) and old.kind is not new.kind:
        raise _refused(f"{old.kind.value} before and {new.kind.value} after", "two of one kind")
    name = origin_of(Path(new.path).stem)
    if movement_before is None and after is not None and not old.names_movement:
        movement_before = movement
    if movement_before is None and usual_before is None and not old.names_movement:
        raise _refused(f"{old.kind.value} that names no movement", _missing_movement(after is None, new))
    pair = (_load(old, movement_before, name, usual_before), _load(new, movement, name))
    require_alike(*((one.linked, one.single) for one in pair))
    for one, option, given in zip(pair, ("--movement-before", "--movement"), (movement_before, movement), strict=True):
        if given is not None and one.world is not None:
            _require_played(one.world, option, given)
    if images and pair[1].world is not None:
        from reach.report.world_pictures import picture_names

        picture_names(pair[1].world)  # refuses two of one name before any work is done
    return pair


def _missing_movement(alone: bool, new: Source) -> str:
    """What has to be said where BEFORE names no movement and no option does."""
    if alone:
        return "the movement before the change as well (--movement-before)"
    if new.names_movement:
        return "the movement before the change (--movement-before)"
    return "the movement of both sides (--movement; --movement-before too where the first had another)"


def _load(source: Source, movement: str | None, name: str, usual: str | None = None) -> Loaded:
    from reach.comparison.source import SourceKind

    if source.saved is not None:
        return Loaded(None, source.saved, source.saved.single, source.saved.linked)
    world = source.load(movement, name, usual)
    tell_skipped(world)
    return Loaded(world, None, source.kind is SourceKind.LEVEL, world.linked)


def _refused(found: str, allowed: str) -> InputError:
    return InputError([Problem("<arguments>", "", found, allowed)])


def _require_played(world: LoadedWorld, option: str, movement: str) -> None:
    """Refuse a movement that no level is played by, since all name one of their own; say how many do."""
    from reach.movement import load_movement

    given = load_movement(movement).sha256
    own = sum(level.movement.sha256 != given for level in world.levels)
    if own == len(world.levels):
        found = f"{option}, and {world.origin}, where every level names a movement of its own"
        raise _refused(found, "a world with a level that names none")
    if own:
        names = "names a movement of its own and keeps" if own == 1 else "name a movement of their own and keep"
        streams.say(f"{count_words(own, 'level')} {names} it")


def _side(
    one: Loaded, when: str, options: CheckOptions, jobs: int | None, kept: Cache | None, spill: KeptReports | None
) -> Side:
    """Return one of the two as it is compared, after checking it where it was not saved."""
    from reach.comparison.side import side_of
    from reach.world.world_checker import check_world

    if one.saved is not None or one.world is None:
        assert one.saved is not None
        return one.saved

    def take(outcome: Outcome) -> None:
        streams.say(f"{when}: {outcome_words(outcome)}")
        if spill is not None:
            spill.keep(when, outcome)

    with (
        streams.progress() as tell,
        runner_for(one.world, options, jobs, kept, lambda now: tell(f"{when}: {standing_words(now)}", now.part)) as run,
    ):
        return side_of(check_world(one.world, options, run, take), one.single)


def _spilling(pair: tuple[Loaded, Loaded], images: Path | None) -> AbstractContextManager[KeptReports | None]:
    """Return what keeps whole reports for the pictures, outside of memory."""
    from reach.comparison.kept_reports import kept_reports

    return nullcontext(None) if images is None else kept_reports()


def _draw(
    comparison: Comparison, pair: tuple[Loaded, Loaded], spill: KeptReports | None, images: Path | None
) -> list[str]:
    """Draw what got worse, and say where the pictures are."""
    if images is None or spill is None or pair[0].world is None or pair[1].world is None:
        return []
    from reach.report.comparison_pictures import save_pictures
    from reach.report.world_pictures import picture_names

    saved = save_pictures(comparison, (pair[0].world, pair[1].world), spill.find, images)
    none = "no picture: nothing got worse that can be drawn before and after"
    written = [f"{count_words(len(saved), 'picture')}: {images}" if saved else none]
    left = sorted(name for name in {*picture_names(pair[1].world).values()} - saved if (images / name).exists())
    return written + ([f"left by an earlier run in {images}, and not drawn now: {list_words(left)}"] if left else [])
