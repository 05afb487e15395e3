"""`reach movement fit`: a movement profile from a recording of a character."""

from __future__ import annotations

import re
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import (
    RecordedTickRateHz,
    RecordingFile,
    RecordingYAxis,
    RoundedPx,
    YAxis,
    require_ending,
    require_one_reader,
    require_places_for,
    require_same_rate,
    rounding_asked,
)
from reach.errors import InputError, Problem
from reach.json_text import shown


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
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.json", help="Write the profile there, reach-movement/1."),
    ] = None,
    body_px: Annotated[
        str | None,
        typer.Option("--body-px", metavar="WxH", help="The size of the body, which no recording tells, for -o."),
    ] = None,
    image: Annotated[
        Path | None,
        typer.Option("--image", metavar="FILE.png", help="Draw how far each row lies from the profile found."),
    ] = None,
    y_axis: RecordingYAxis = YAxis.DOWN,
    rounded_px: RoundedPx = None,
    tick_rate_hz: RecordedTickRateHz = None,
) -> None:
    """Find out a movement profile from a recording.

    Each value comes with how sure it is and the ticks it rests on; what the recording does not tell is named.
    """
    from reach.files import write_text
    from reach.movement import load_movement
    from reach.report import movement_fit_json, movement_fit_text, profile_text
    from reach.workshop.fit.completion import complete
    from reach.workshop.fit.fitting import fit_recording
    from reach.workshop.missing_buttons import missing_said
    from reach.workshop.recording import load_recording

    require_one_reader(recording, start)
    require_places_for(output, image, inputs=(recording, start))
    if output is not None:
        require_ending(output, ".json")
    if image is not None:
        require_ending(image, ".png")
    body = body_asked(body_px)
    rounding = rounding_asked(rounded_px)
    the_start = None if start is None else load_movement(start)
    if the_start is not None:
        require_same_rate(tick_rate_hz, the_start.tick_rate_hz)
    rate = tick_rate_hz or (None if the_start is None else the_start.tick_rate_hz)
    with streams.progress() as tell:
        tell("reading", None)
        recorded = load_recording(recording, y_axis is YAxis.UP, rounding, rate)
        for said in missing_said(recorded, the_start):
            streams.say(said)
        tell("fitting", None)
        fitted = fit_recording(recorded, the_start, rate)
        completed = None if output is None else complete(fitted, the_start, body)
        if image is not None:
            from reach.report.fit_residuals import save_residuals

            tell("drawing", None)
            save_residuals(fitted, image)
    written = []
    if output is not None and completed is not None:
        write_text(output, profile_text.to_json(dict(completed.data)))
        said = f"Wrote {output}"
        if completed.from_start:
            said += f"; from --start, not from the recording: {', '.join(completed.from_start)}"
        if completed.least:
            said += f"; only bounded, written as the least possible: {', '.join(completed.least)}"
        written.append(f"{said}.")
    if fit_format is FitFormat.JSON:
        streams.write_data(movement_fit_json.to_json(fitted))
        for line in written:
            streams.say(line)
    else:
        streams.write_text(movement_fit_text.compose(fitted, streams.terminal_width(), written))


def body_asked(text: str | None) -> dict[str, int | float] | None:
    """Return the body that `--body-px` tells, None where it is not given.

    Raises
    ------
    InputError
        If it is not two decimal numbers with an x between them.
    """
    if text is None:
        return None
    match = re.fullmatch(r"([0-9]{1,4}(?:\.[0-9]{1,6})?)x([0-9]{1,4}(?:\.[0-9]{1,6})?)", text)
    if match is None or not float(match[1]) or not float(match[2]):
        allowed = "the width and the height in px, such as 11x23"
        raise InputError([Problem("<arguments>", "--body-px", shown(text), allowed)])
    return {"width_px": _number(match[1]), "height_px": _number(match[2])}


def _number(text: str) -> int | float:
    return int(float(text)) if float(text).is_integer() else float(text)
