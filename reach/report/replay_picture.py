"""A proof to look at: a replay as a picture with the body drawn along its way, or as a film."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from reach.errors import InputError, Problem
from reach.files import write_bytes
from reach.report.film_palette import FilmPalette
from reach.report.flown import flown
from reach.report.replay_film import Film
from reach.report.replay_ghosts import draw_ghosts

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement
    from reach.simulator import Replay, Row

PICTURE = ".png"
FILM = ".gif"


def draw_replay(level: Level, movement: Movement, rows: Sequence[Row], kind: str = PICTURE) -> bytes:
    """The bytes of a picture file of a replay.

    Parameters
    ----------
    level : Level
    movement : Movement
    rows : sequence of Row
        Of the simulator's replay, row 0 the start; at least one.
    kind : str
        `.png`: one picture, the body drawn along its way. `.gif`: a film at the speed of play.

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        If the kind is another.
    """
    if kind.lower() not in (PICTURE, FILM):
        raise InputError([Problem("<arguments>", "kind", kind or "no ending", f"{PICTURE} or {FILM}")])
    way = flown(movement, rows)
    if kind.lower() == FILM:
        return _encode_film(Film(level, movement.name, way))
    data = BytesIO()
    draw_ghosts(level, movement.name, way).image.save(data, format="PNG", compress_level=6)
    return data.getvalue()


def save_replay(level: Level, movement: Movement, replay: Replay, path: str | Path) -> None:
    """Write a replay as a picture or a film, by the ending of the file's name, whole or not at all.

    Parameters
    ----------
    level : Level
    movement : Movement
    replay : Replay
    path : str or Path
        Ends in .png or .gif.

    Raises
    ------
    InputError
        If the name ends otherwise.
    OutputError
        If it cannot be written. The file is then as it was before.
    """
    write_bytes(path, draw_replay(level, movement, replay.rows, Path(path).suffix))


def _encode_film(film: Film) -> bytes:
    """All frames in one palette, so that colours do not flicker."""
    count = len(film.ticks)
    palette = FilmPalette([film.frame(index) for index in (0, count // 2, count - 1)])
    frames = (palette.apply(film.frame(index)) for index in range(count))
    data = BytesIO()
    next(frames).save(
        data,
        format="GIF",
        save_all=True,
        append_images=frames,
        duration=[10 * centiseconds for centiseconds in film.durations_cs],
        loop=0,
        optimize=False,
    )
    return data.getvalue()
