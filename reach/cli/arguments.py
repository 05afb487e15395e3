"""The arguments that several commands share, each defined once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from fractions import Fraction
from pathlib import Path
from typing import Annotated

import typer

from reach.errors import InputError, OutputError, Problem, ReachError
from reach.files import STANDARD_INPUT, origin_of
from reach.findings import Severity
from reach.json_text import shown

MAX_ROUNDED_PX = 64

OPTIONS = {
    "from_place": "--from",
    "memory_limit_mib": "--memory-limit",
    "name": "--name",
    "scale": "--scale",
    "tile_px": "--tile-px",
    "time_limit_s": "--time-limit",
    "timing_spread_ms": "--timing-spread-ms",
    "window_ms": "--window-ms",
    "window_threshold_ms": "--window-ms",
}
"""What is typed for what a caller from Python would name."""

LevelFile = Annotated[
    str,
    typer.Argument(
        metavar="LEVEL",
        help="The level: a reach-level/1 JSON file, a text grid, a CSV or a PNG; '-' reads JSON from standard input.",
        show_default=False,
    ),
]
MovementFile = Annotated[
    str,
    typer.Option(
        "-m", "--movement", metavar="FILE", help="The movement profile, reach-movement/1.", show_default=False
    ),
]
ProfileFile = Annotated[
    str,
    typer.Argument(
        metavar="MOVEMENT",
        help="The movement profile, reach-movement/1; '-' reads it from standard input.",
        show_default=False,
    ),
]
OtherProfileFile = Annotated[
    str | None,
    typer.Argument(metavar="MOVEMENT2", help="A second profile, to be compared with the first.", show_default=False),
]
OldProfileFile = Annotated[
    str, typer.Argument(metavar="OLD", help="The profile that levels were built for.", show_default=False)
]
NewProfileFile = Annotated[
    str, typer.Argument(metavar="NEW", help="The profile to compare it with.", show_default=False)
]
ProfileTilePx = Annotated[
    int,
    typer.Option("--tile-px", metavar="N", min=4, max=256, help="Pixels along a tile's side, for lengths in tiles."),
]
ScriptFile = Annotated[
    str, typer.Option("--script", metavar="SCRIPT", help="The inputs, reach-script/1.", show_default=False)
]
OnLevelFile = Annotated[
    str | None,
    typer.Option("--level", metavar="LEVEL", help="A level to move in, instead of endless flat ground."),
]
RecordingFile = Annotated[
    str,
    typer.Argument(
        metavar="RECORDING",
        help="Where the character was and which buttons were down, tick by tick: a CSV; '-' reads standard input.",
        show_default=False,
    ),
]


class YAxis(StrEnum):
    """The ways that the y of a recording can grow."""

    DOWN = "down"
    UP = "up"


RecordingYAxis = Annotated[YAxis, typer.Option("--y-axis", help="The way that y_px grows in RECORDING.")]
RoundedPx = Annotated[
    str | None,
    typer.Option(
        "--rounded-px",
        metavar="P",
        help="Positions in RECORDING are rounded to multiples of P px, 0 for not at all; found out unless told.",
    ),
]
RecordedTickRateHz = Annotated[
    int | None,
    typer.Option("--tick-rate-hz", metavar="N", min=10, max=1000, help="Ticks a second of RECORDING."),
]
PersonWindowMs = Annotated[
    float,
    typer.Option(
        "--window-ms",
        metavar="MS",
        help="The time that a person is given for each press and release: an average, not a promise.",
    ),
]
MappingFile = Annotated[
    str | None,
    typer.Option("--mapping", metavar="FILE", help="What the characters, numbers or colours of LEVEL stand for."),
]
TilePx = Annotated[
    int | None,
    typer.Option("--tile-px", metavar="N", help="Pixels along a tile's side, where LEVEL does not say so itself."),
]
Target = Annotated[
    str,
    typer.Option("--to", metavar="PLACE|C,R", help="A place's id, or a tile as column,row.", show_default=False),
]
FromPlace = Annotated[
    str,
    typer.Option("--from", metavar="ID", help="Begin at this entrance instead of the start."),
]
WindowMs = Annotated[
    float,
    typer.Option("--window-ms", metavar="MS", help="A landing whose window is shorter than this is called tight."),
]
TimingSpreadMs = Annotated[
    float,
    typer.Option(
        "--timing-spread-ms",
        metavar="MS",
        help="Standard deviation of the player's timing for which chances are given: an average, not a promise.",
    ),
]
TimeLimit = Annotated[
    float | None,
    typer.Option(
        "--time-limit", metavar="S", help="Stop after so many seconds; what is not proved by then is undecided."
    ),
]
MemoryLimit = Annotated[
    int | None,
    typer.Option(
        "--memory-limit",
        metavar="MIB",
        help="Stop exploring when its room takes more; what is not proved then is undecided.",
    ),
]


class ReportFormat(StrEnum):
    """The formats of a report."""

    TEXT = "text"
    JSON = "json"


AsReport = Annotated[ReportFormat, typer.Option("--format", help="How to write the report.")]
ReportFile = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="FILE", help="Write the report there instead of to standard output."),
]
FailOn = Annotated[Severity, typer.Option("--fail-on", help="Exit with 1 for a finding of this severity or above.")]
WorldFile = Annotated[
    str,
    typer.Argument(
        metavar="WORLD",
        help="The world: a reach-world/1 JSON file, or a folder of level files; '-' reads JSON from standard input.",
        show_default=False,
    ),
]
WorldMovementFile = Annotated[
    str | None,
    typer.Option(
        "-m",
        "--movement",
        metavar="FILE",
        help="The movement profile of every level that names none of its own; needed for a folder.",
    ),
]
MarkdownFile = Annotated[
    Path | None,
    typer.Option("--markdown", metavar="FILE.md", help="Write a summary for a review comment there as well."),
]

Jobs = Annotated[
    int | None,
    typer.Option("--jobs", metavar="N", min=1, max=256, help="Checks that run side by side; by default one a core."),
]
CacheFolder = Annotated[
    Path | None,
    typer.Option("--cache", metavar="DIR", help="Where reports are kept between runs; else in the user's cache."),
]
NoCache = Annotated[bool, typer.Option("--no-cache", help="Check everything anew, and keep nothing.")]


class TableFormat(StrEnum):
    """The formats of a table of numbers."""

    CSV = "csv"
    JSON = "json"


def target_of(words: str) -> str | tuple[int, int]:
    """Return a tile for `column,row`, else the words, which are then a place's id (an id has no comma)."""
    tile = re.fullmatch(r"\s*(\d+)\s*,\s*(\d+)\s*", words, re.ASCII)
    return (int(tile[1]), int(tile[2])) if tile else words


def message_lines(error: ReachError) -> list[str]:
    """Return an error's message, in which options are called as they are typed."""
    if isinstance(error, InputError):
        error = InputError(
            replace(problem, file="<arguments>", place=OPTIONS.get(problem.place, problem.place))
            if problem.file in ("<arguments>", "<options>")
            else problem
            for problem in error.problems
        )
    return str(error).splitlines()


def require_places_for(*outputs: Path | None, inputs: Sequence[str | None] = ()) -> None:
    """Refuse, before any work is done, an output file that has no folder, is a folder, or is another file named here.

    Raises
    ------
    OutputError
        For the first such file.
    """
    taken = {Path(name).resolve() for name in inputs if name is not None}
    for file in outputs:
        if file is None:
            continue
        if file.is_dir():
            raise OutputError(str(file), "it is a folder")
        if not file.parent.is_dir():
            raise OutputError(str(file), f"there is no folder {file.parent}")
        if file.resolve() in taken:
            raise OutputError(str(file), "another file of this command has the same name")
        if file.exists() and not file.is_file():
            continue  # a device such as /dev/null may take everything
        taken.add(file.resolve())


def require_one_reader(*inputs: str | None) -> None:
    """Refuse, before any work is done, to read more than one file from standard input, which can be read once.

    Raises
    ------
    InputError
        If more than one of the inputs is `-`.
    """
    readers = inputs.count(STANDARD_INPUT)
    if readers > 1:
        origin = origin_of(STANDARD_INPUT)
        raise InputError([Problem(origin, "", f"{readers} files to be read from it", "'-' for one file only")])


def require_no_file(folder: Path | None) -> None:
    """Refuse, before any work is done, an output folder in whose place there is a file.

    Raises
    ------
    OutputError
        If so.
    """
    if folder is not None and folder.exists() and not folder.is_dir():
        raise OutputError(str(folder), "it is a file, not a folder")


def require_ending(file: Path, *endings: str) -> str:
    """Return the output file's ending, one of `endings`, which decides what is written into it.

    Raises
    ------
    OutputError
        If it has another one.
    """
    ending = file.suffix.lower()
    if ending not in endings:
        raise OutputError(str(file), f"its name must end in {' or '.join(endings)}")
    return ending


def require_same_rate(asked_hz: int | None, profile_hz: int) -> None:
    """Refuse a rate for a recording that is not its profile's: their ticks are not of the same length.

    Raises
    ------
    InputError
        If so.
    """
    if asked_hz is not None and asked_hz != profile_hz:
        allowed = f"{profile_hz}, as the profile has it: ticks of another length cannot be compared"
        raise InputError([Problem("<arguments>", "--tick-rate-hz", str(asked_hz), allowed)])


def rounding_asked(text: str | None) -> Fraction | None:
    """Return what `--rounded-px` tells, None where it is not given.

    Raises
    ------
    InputError
        If it is no decimal number from 0 to 64.
    """
    if text is None:
        return None
    if re.fullmatch(r"[0-9]{1,2}(\.[0-9]{1,20})?", text) and Fraction(text) <= MAX_ROUNDED_PX:
        return Fraction(text)
    allowed = f"a decimal number of px from 0 to {MAX_ROUNDED_PX}"
    raise InputError([Problem("<arguments>", "--rounded-px", shown(text), allowed)])
