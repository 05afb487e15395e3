"""`reach movement parity`: does your character move as its profile says?"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    FromPlace,
    MappingFile,
    OnLevelFile,
    ProfileFile,
    RecordedTickRateHz,
    RecordingFile,
    RecordingYAxis,
    RoundedPx,
    TilePx,
    YAxis,
    require_one_reader,
    require_places_for,
    require_same_rate,
    rounding_asked,
)


class ParityFormat(StrEnum):
    """The forms in which a comparison is told."""

    TEXT = "text"
    JSON = "json"


def parity(
    movement: ProfileFile,
    recording: RecordingFile,
    level: OnLevelFile = None,
    from_place: FromPlace = "start",
    tolerance_px: Annotated[
        float | None,
        typer.Option(
            "--tolerance-px",
            metavar="PX",
            min=0,
            max=1000,
            help="How far off a position may be; 0 for exact positions and 0.05 else, unless told.",
        ),
    ] = None,
    y_axis: RecordingYAxis = YAxis.DOWN,
    rounded_px: RoundedPx = None,
    tick_rate_hz: RecordedTickRateHz = None,
    parity_format: Annotated[
        ParityFormat, typer.Option("--format", help="How to tell what was found.")
    ] = ParityFormat.TEXT,
    output: Annotated[Path | None, typer.Option("-o", "--output", metavar="FILE", help="Write that there.")] = None,
    mapping: MappingFile = None,
    tile_px: TilePx = None,
) -> None:
    """Tell where a recorded character leaves its profile.

    Every take is replayed from rest with the recorded buttons. The first tick that differs is told, and which single
    change of a rule or a number of the profile explains it best. Ticks may be missing: buttons are tried for them. Exit
    0 without a difference, 1 with one, 3 if missing ticks leave it undecided.
    """
    from reach.files import write_text
    from reach.level_sources import load_any_level
    from reach.movement import load_movement
    from reach.report import parity_json, parity_text
    from reach.workshop.explanations import explain_difference
    from reach.workshop.missing_buttons import missing_said
    from reach.workshop.parity import Agreement, compare_recording
    from reach.workshop.parity_hints import find_hint
    from reach.workshop.recording import load_recording

    require_one_reader(movement, recording, level, mapping)
    require_places_for(output, inputs=(movement, recording, level, mapping))
    rounding = rounding_asked(rounded_px)
    the_movement = load_movement(movement)
    require_same_rate(tick_rate_hz, the_movement.tick_rate_hz)
    the_level = None if level is None else load_any_level(level, mapping, tile_px)
    with streams.progress() as tell:
        tell("reading", None)
        recorded = load_recording(recording, y_axis is YAxis.UP, rounding, the_movement.tick_rate_hz)
        tell("comparing", None)
        compared = compare_recording(the_movement, recorded, the_level, tolerance_px, from_place)
        differs = any(compared.differences)
        hint = find_hint(compared) if differs else None
        explained = explain_difference(compared, tell) if differs and hint is None else None
    for said in missing_said(recorded, the_movement):
        streams.say(said)
    write = parity_json.to_json if parity_format is ParityFormat.JSON else parity_text.to_text
    if output is None:
        streams.write_data(write(compared, explained, hint))
    else:
        write_text(output, write(compared, explained, hint))
    raise typer.Exit({Agreement.AGREES: 0, Agreement.DIFFERS: 1, Agreement.UNDECIDED: 3}[compared.agreement])
