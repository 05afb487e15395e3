"""`reach movement new`: a profile from design goals."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Annotated

import typer

from reach.cli import streams
from reach.cli.arguments import ProfileTilePx, require_ending, require_places_for

MOST_TICKS = 2_000
MOST_TILES = 1_000


def _tiles(option: str, words: str) -> object:
    return typer.Option(option, metavar="N", min=0.01, max=MOST_TILES, help=words)


def _ticks(option: str, words: str) -> object:
    return typer.Option(option, metavar="N", min=1, max=MOST_TICKS, help=words)


def new(
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE.json", help="The profile to write.", show_default=False)
    ],
    name: Annotated[
        str | None, typer.Option("--name", metavar="NAME", help="What the profile is called; else as the file.")
    ] = None,
    jump_tiles: Annotated[float | None, _tiles("--jump-tiles", "Height of a full jump; else 3.5.")] = None,
    ticks_to_apex: Annotated[
        int | None, _ticks("--ticks-to-apex", "Ticks from the takeoff to the apex; else 400 ms of them.")
    ] = None,
    air_ticks: Annotated[
        int | None,
        _ticks("--air-ticks", "Ticks from the takeoff to a landing on the same level; else 7/4 of those to the apex."),
    ] = None,
    hop_tiles: Annotated[
        float | None,
        _tiles(
            "--hop-tiles",
            "Height of the least hop, with the button down for one tick; else as the rest gives.",
        ),
    ] = None,
    terminal_px_per_s: Annotated[
        float | None,
        typer.Option(
            "--terminal-px-per-s",
            metavar="V",
            min=0.01,
            max=64_000,
            help="Terminal speed in px/s; else 1.2 times that of a landing.",
        ),
    ] = None,
    terminal_tiles_per_s: Annotated[
        float | None,
        typer.Option("--terminal-tiles-per-s", metavar="V", min=0.001, max=16_000, help="The same in tiles/s."),
    ] = None,
    gap_tiles: Annotated[
        float | None, _tiles("--gap-tiles", "Widest gap that a full jump at full run crosses on the level; else 5.")
    ] = None,
    ticks_to_top: Annotated[
        int | None, _ticks("--ticks-to-top", "Ticks from rest to full run; else 300 ms of them.")
    ] = None,
    ticks_to_stop: Annotated[
        int | None, _ticks("--ticks-to-stop", "Ticks from full run to rest, coasting; else 200 ms of them.")
    ] = None,
    tile_px: ProfileTilePx = 16,
    tick_rate_hz: Annotated[
        int, typer.Option("--tick-rate-hz", metavar="N", min=10, max=1000, help="Ticks a second.")
    ] = 60,
    body_width_px: Annotated[
        float | None,
        typer.Option(
            "--body-width-px", metavar="PX", min=0.01, max=2048, help="Width of the body; else 3/4 of a tile."
        ),
    ] = None,
    body_height_px: Annotated[
        float | None,
        typer.Option("--body-height-px", metavar="PX", min=0.01, max=2048, help="Its height; else 1 1/2 tiles."),
    ] = None,
) -> None:
    """Make a profile from design goals.

    Solved for the motion model, then measured. Where goals contradict, the earlier of this list is kept: jump, apex,
    air, hop, terminal, gap; what gave way is told. Goals that letting one go does not reconcile are refused.
    """
    from reach.errors import InputError, Problem
    from reach.files import write_text
    from reach.report.goals_text import to_text
    from reach.report.profile_text import to_json
    from reach.workshop.design_goals import Goals
    from reach.workshop.goal_solver import design_profile

    require_ending(output, ".json")
    require_places_for(output)
    if terminal_px_per_s is not None and terminal_tiles_per_s is not None:
        found, allowed = "both --terminal-px-per-s and --terminal-tiles-per-s", "one of them"
        raise InputError([Problem("<arguments>", "", found, allowed)])
    goals = Goals(
        jump_tiles=_exact(jump_tiles),
        hop_tiles=_exact(hop_tiles),
        ticks_to_apex=ticks_to_apex,
        air_ticks=air_ticks,
        gap_tiles=_exact(gap_tiles),
        ticks_to_top=ticks_to_top,
        ticks_to_stop=ticks_to_stop,
        terminal_px_per_s=_exact(terminal_px_per_s),
        terminal_tiles_per_s=_exact(terminal_tiles_per_s),
        tile_px=tile_px,
        tick_rate_hz=tick_rate_hz,
        body_width_px=_exact(body_width_px),
        body_height_px=_exact(body_height_px),
    )
    with streams.progress() as tell:
        tell("solving", None)
        design = design_profile(goals, output.stem if name is None else name)
    write_text(output, to_json(design.data))
    streams.write_data(to_text(design))


def _exact(value: float | None) -> Fraction | None:
    """The decimal that was typed."""
    return None if value is None else Fraction(repr(value))
