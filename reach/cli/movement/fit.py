"""`reach movement fit`: a movement profile from a recording of a character."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    RecordedTickRateHz,
    RecordingFile,
    RecordingYAxis,
    RoundedPx,
    YAxis,
    require_one_reader,
    rounding_asked,
)


class FitFormat(StrEnum):
    """The forms in which a fit is told."""

    TEXT = "text"
    JSON = "json"


def fit(
    recording: RecordingFile,
    start: Annotated[
        str | None,
        typer.Option(
            "--start",
            metavar="MOVEMENT",
            help="A profile to start from: its tick rate, bands, and what is not recorded.",
        ),
    ] = None,
    fit_format: Annotated[FitFormat, typer.Option("--format", help="How to tell what was found.")] = FitFormat.TEXT,
    y_axis: RecordingYAxis = YAxis.DOWN,
    rounded_px: RoundedPx = None,
    tick_rate_hz: RecordedTickRateHz = None,
) -> None:
    """Find out a movement profile from a recording.

    Each value comes with how sure it is and the ticks it rests on; what the recording does not tell is named.
    """
    from reach.movement import load_movement
    from reach.report import movement_fit_json, movement_fit_text
    from reach.workshop.fit.fitting import fit_recording
    from reach.workshop.recording import load_recording

    require_one_reader(recording, start)
    rounding = rounding_asked(rounded_px)
    the_start = None if start is None else load_movement(start)
    rate = tick_rate_hz or (None if the_start is None else the_start.tick_rate_hz)
    with streams.progress() as tell:
        tell("reading", None)
        recorded = load_recording(recording, y_axis is YAxis.UP, rounding, rate)
        tell("fitting", None)
        fitted = fit_recording(recorded, the_start, rate)
    if fit_format is FitFormat.JSON:
        streams.write_data(movement_fit_json.to_json(fitted))
    else:
        streams.write_text(movement_fit_text.compose(fitted, streams.terminal_width()))
