"""`reach watch`: a level checked again whenever it, or its movement, is saved."""

from __future__ import annotations

import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    FromPlace,
    MappingFile,
    MemoryLimit,
    MovementFile,
    TilePx,
    TimeLimit,
    TimingSpreadMs,
    WindowMs,
    message_lines,
    require_ending,
    require_places_for,
)
from reach.cli.watched_files import WatchedFiles
from reach.errors import InputError, OutputError, Problem, ReachError
from reach.files import STANDARD_INPUT, origin_of
from reach.options import USUAL_SPREAD_MS, USUAL_WINDOW_MS, CheckOptions
from reach.wording import list_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reach.findings import Report
    from reach.level import Level
    from reach.reachability.memory import Memory


WatchedLevel = Annotated[
    str,
    typer.Argument(
        metavar="LEVEL",
        help="The level: a reach-level/1 JSON file, a text grid, a CSV or a PNG.",
        show_default=False,
    ),
]


class _SavedAgainError(Exception):
    """A file was saved during a check, whose result would be out of date."""


def watch(
    level: WatchedLevel,
    movement: MovementFile,
    image: Annotated[
        Path | None,
        typer.Option("--image", metavar="FILE.png", help="Draw the level there after every check."),
    ] = None,
    from_place: FromPlace = "start",
    window_ms: WindowMs = USUAL_WINDOW_MS,
    timing_spread_ms: TimingSpreadMs = USUAL_SPREAD_MS,
    time_limit: TimeLimit = None,
    memory_limit: MemoryLimit = None,
    mapping: MappingFile = None,
    tile_px: TilePx = None,
    checks: Annotated[
        int | None, typer.Option("--checks", metavar="N", min=1, help="Leave after so many checks, with exit code 0.")
    ] = None,
) -> None:
    """Check again on every save.

    Tells at first what `reach check` does, then after every save of LEVEL or of the movement which file that was and
    what changed since the last check. What an edit cannot have changed is not worked out again. A file that cannot be
    read gives its message, and the watch goes on. Ctrl-C ends it.
    """
    from reach.reachability.memory import Memory

    if image is not None:
        require_ending(image, ".png")
    require_places_for(image, inputs=(level, movement, mapping))
    _require_files(level, movement, mapping)
    options = CheckOptions(from_place, window_ms, timing_spread_ms, time_limit, memory_limit)
    named = [name for name in (level, movement, mapping) if name is not None]
    files = WatchedFiles(named)
    memory = Memory()
    last: Report | None = None
    drawn: Path | None = None
    done = 0
    streams.say(f"watching {list_words([origin_of(name) for name in named])}; Ctrl-C ends it")
    while True:
        try:
            with _messages(drawn):
                the_level, report = _checked(files, level, movement, mapping, tile_px, options, memory)
                _tell(last, report, files.take_saved())
                last = report
                done += 1
                _draw(the_level, report, image)
                drawn = image
        except _SavedAgainError:
            files.settle()
            continue
        if done == checks:
            return
        files.wait()


def _require_files(*inputs: str | None) -> None:
    """Refuse what cannot be watched: standard input, and files that are not there to begin with.

    Raises
    ------
    InputError
        For all of them.
    """
    problems = []
    for name in inputs:
        if name == STANDARD_INPUT:
            problems.append(Problem(origin_of(name), "", "nothing that can be saved again", "a file"))
        elif name is not None and not Path(name).is_file():
            problems.append(Problem(origin_of(name), "", "no such file", "a file that can be read"))
    if problems:
        raise InputError(problems)


@contextmanager
def _messages(image: Path | None) -> Iterator[None]:
    """Say what the user did wrong, and that a picture was drawn before that, and go on."""
    try:
        yield
    except ReachError as error:
        for line in message_lines(error):
            streams.say(line)
        if image is not None and not isinstance(error, OutputError):
            streams.say(f"{origin_of(image)} still shows the level as it was before")


def _checked(
    files: WatchedFiles,
    level: str,
    movement: str,
    mapping: str | None,
    tile_px: int | None,
    options: CheckOptions,
    memory: Memory,
) -> tuple[Level, Report]:
    """Read the files and check; on standard error goes how long it took.

    Raises
    ------
    InputError
        If a file cannot be read or used.
    _SavedAgainError
        If a file was saved meanwhile.
    """
    from reach import checker
    from reach.level_sources import load_any_level
    from reach.movement import load_movement
    from reach.world.compiling_beside import compiling_beside

    the_level, the_movement = load_any_level(level, mapping, tile_px), load_movement(movement)
    began = time.perf_counter()
    with streams.progress() as show, compiling_beside():

        def tell(stage: str, part: float | None) -> None:
            if files.changed:
                raise _SavedAgainError
            show(stage, part)

        report = checker.check(the_level, the_movement, options, tell, memory)
    streams.say(f"checked in {time.perf_counter() - began:.2f} s")
    return the_level, report


def _tell(last: Report | None, report: Report, saved: list[Path]) -> None:
    """Write the first report whole, of the others which files were saved and what changed."""
    from reach.comparison.compare import compare
    from reach.comparison.side import side_of_check
    from reach.report import text_report, watch_text

    width = streams.terminal_width()
    if last is None:
        streams.write_text(text_report.compose(report, width))
        return
    comparison = compare(side_of_check(last), side_of_check(report))
    if saved:
        streams.write_data(f"saved: {list_words([origin_of(path.name) for path in saved])}\n")
    streams.write_text(watch_text.compose(last, report, comparison, width))


def _draw(level: Level, report: Report, image: Path | None) -> None:
    if image is None:
        return
    from reach.report.png_overlay import draw_overlay, save_image

    save_image(draw_overlay(level, report), image)
