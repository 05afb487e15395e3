"""Playing a script through a level, tick by tick; the motion model is stated in `reach/kernels/step.py`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from reach.errors import InputError, Problem
from reach.kernels.contact import overlaps_blocking, touch_table
from reach.kernels.params import HAZARD, SOLID, SPRING, Motion, State
from reach.kernels.step import initial_state, run_script
from reach.level import compile_terrain

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement
    from reach.script import Script


class Row(NamedTuple):
    """The body after one tick of a replay; row 0 is the start state.

    Positions in spx (65536 to a pixel) are the body's top-left corner, speeds are in spx per tick, flags 0 or 1.
    `places` are the ids of the places touched at the end of the tick, sorted.
    """

    tick: int
    x_spx: int
    y_spx: int
    vx_spx: int
    vy_spx: int
    grounded: int
    lost: int
    places: tuple[str, ...]


@dataclass(frozen=True)
class Replay:
    """What happened: one row a tick, and what the user may not have meant, one sentence each."""

    rows: tuple[Row, ...]
    warnings: tuple[str, ...]


def _what_a_start_overlaps(state: State, level: Level, motion: Motion) -> list[str]:
    """The tiles in a start's way, in reading order, each in words."""
    tile = 65536 * level.tile_px
    names = {SOLID: "the solid tile", SPRING: "the spring", HAZARD: "the hazard"}
    found = []
    for row in range(state.y // tile, (state.y + motion.body_h - 1) // tile + 1):
        for column in range(state.x // tile, (state.x + motion.body_w - 1) // tile + 1):
            if not 0 <= column < level.columns:
                found.append(f"the border at column {column}")
            elif 0 <= row < level.rows and int(level.material[row, column]) in names:
                found.append(f"{names[int(level.material[row, column])]} at ({column}, {row})")
    return list(dict.fromkeys(found))


def start_state(level: Level, movement: Movement, place_id: str | None = None) -> State:
    """The state in which play begins: at rest, the body centred on the place's tile with its feet on the tile's bottom.

    Parameters
    ----------
    level : Level
    movement : Movement
    place_id : str, optional
        The id of the place to begin at; the level's start unless given.

    Returns
    -------
    State
        Python ints, spx. `ended` is set where the place itself ends the level.

    Raises
    ------
    InputError
        There is no such place, or the body would overlap a blocking tile, the map's border or a hazard; or level and
        movement do not go together (`compile_terrain`).
    """
    place = level.start if place_id is None else level.place(place_id)
    terrain = compile_terrain(level, movement)
    motion = movement.motion
    state = State(*map(int, initial_state(place.column, place.row, motion, terrain)))
    if state.lost or overlaps_blocking(state.x, state.y, motion, terrain):
        where = f'place "{place.id}" at ({place.column}, {place.row})'
        width, height = motion.body_w / 65536, motion.body_h / 65536
        found = f"a body of {width:g} x {height:g} px that overlaps " + ", ".join(
            _what_a_start_overlaps(state, level, motion)
        )
        allowed = "a start where the body, centred on the tile, meets no solid tile, spring, border or hazard"
        raise InputError([Problem(level.origin, where, found, allowed)])
    return state


def replay(level: Level, movement: Movement, script: Script) -> Replay:
    """The rows of a script played from its start, ending with the script or with the row in which the body is lost.

    Parameters
    ----------
    level : Level
    movement : Movement
    script : Script
        Made for another level or movement by its names, it is played all the same, with a warning.

    Returns
    -------
    Replay
        After a place that ends the level the rows go on, unchanged, to the script's end.

    Raises
    ------
    InputError
        As `start_state` for the place that the script begins at.
    """
    warnings = []
    if script.level != level.name:
        warnings.append(f'the script is for level "{script.level}", not "{level.name}"')
    if script.movement != movement.name:
        warnings.append(f'the script is for movement "{script.movement}", not "{movement.name}"')

    start = start_state(level, movement, script.from_place)
    terrain = compile_terrain(level, movement)
    states = run_script(start, script.inputs(), movement.motion, terrain)
    touched = touch_table(states, movement.motion, terrain)
    ids = [place.id for place in level.places]

    rows = []
    ended = 0
    for tick, (values, touches) in enumerate(zip(states.tolist(), touched.tolist(), strict=True)):
        state = State(*values)
        if state.ended and not ended:
            ended = 1
            if tick < script.ticks:
                warnings.append(
                    f"the level ends in tick {tick}; the {script.ticks - tick} ticks after it change nothing"
                )
        places = tuple(sorted(name for name, hit in zip(ids, touches, strict=True) if hit))
        rows.append(Row(tick, state.x, state.y, state.vx, state.vy, state.grounded, state.lost, places))
        if state.lost:
            if tick < script.ticks:
                warnings.append(
                    f"the body is lost in tick {tick}; the {script.ticks - tick} ticks after it are not played"
                )
            break
    return Replay(tuple(rows), tuple(warnings))
