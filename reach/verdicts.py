"""The three verdicts on places and tiles: a script that replays, a completed superset without it, or neither."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import Tile, Verdict
from reach.kernels.contact import touch_table
from reach.kernels.params import Motion, State, Terrain
from reach.kernels.step import run_script
from reach.level import compile_terrain
from reach.simulator import start_state

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement
    from reach.reachability.result import Exploration
    from reach.script import Script

X, Y, VY, GROUNDED, LOST = 0, 1, 3, 4, 11


class ContradictionError(RuntimeError):
    """Two parts of the program disagree, so that one of them is wrong: never the user's mistake, never to be hidden."""


@dataclass(frozen=True)
class Judge:
    """Believes a script only after playing it, from one start of one level."""

    start: State
    motion: Motion
    terrain: Terrain

    def touching(self, inputs: np.ndarray, place: int) -> np.ndarray:
        """Return the inputs up to the tick in which they first touch a place (none if the start touches it).

        Raises
        ------
        ContradictionError
            If they do not touch it.
        """
        states = run_script(self.start, inputs, self.motion, self.terrain)
        touched = touch_table(states, self.motion, self.terrain)[:, place] != 0
        return self._until(touched, inputs, f"place {place}")

    def standing(self, inputs: np.ndarray, tile: Tile) -> np.ndarray:
        """Return the inputs up to the tick in which a tile's top first carries the body.

        Raises
        ------
        ContradictionError
            If it never does.
        """
        states = run_script(self.start, inputs, self.motion, self.terrain)
        return self._until(standing_on(states, tile, self.motion, self.terrain), inputs, f"tile {tile}")

    def _until(self, reached: np.ndarray, inputs: np.ndarray, what: str) -> np.ndarray:
        ticks = np.flatnonzero(reached)
        if ticks.size == 0:
            raise ContradictionError(f"a script said to reach {what} does not replay to it")
        return inputs[: ticks[0]]


def arrival_tick(level: Level, movement: Movement, script: Script, target: str | Tile) -> int | None:
    """Return the first tick of a script in which it touches a place, or a tile's top carries the body; None if never.

    Raises
    ------
    InputError
        If the level has no such place, or as `start_state` for the place that the script begins at.
    """
    start, terrain = start_state(level, movement, script.from_place), compile_terrain(level, movement)
    states = run_script(start, script.inputs(), movement.motion, terrain)
    if isinstance(target, str):
        place = level.places.index(level.place(target))
        there = touch_table(states, movement.motion, terrain)[:, place] != 0
    else:
        there = standing_on(states, target, movement.motion, terrain)
    ticks = np.flatnonzero(there)
    return int(ticks[0]) if ticks.size else None


def standing_on(states: np.ndarray, tile: Tile, motion: Motion, terrain: Terrain) -> np.ndarray:
    """Tell in which states the top of a standable tile carries the body. Approximation: exact.

    Parameters
    ----------
    states : int64 [ticks + 1, 13]
        As `run_script` returns them.
    tile : (column, row)
    motion, terrain : Motion, Terrain

    Returns
    -------
    bool [ticks + 1] True where the feet line is on the tile's top, the body overlaps its column, and it is grounded
    or was launched by a spring in that tick. A lost body stands on nothing.
    """
    column, row = tile
    x, y = states[:, X], states[:, Y]
    launched = np.zeros(len(states), np.bool_)
    launched[1:] = (states[1:, VY] < 0) & (y[1:] >= y[:-1])
    on_top = (states[:, GROUNDED] != 0) | launched
    over = (x < (column + 1) * terrain.tile) & (x + motion.body_w > column * terrain.tile)
    return on_top & over & (y + motion.body_h == row * terrain.tile) & (states[:, LOST] == 0)


def verdict(has_script: bool, in_superset: bool, complete: bool, exhausted: bool, what: str) -> Verdict:
    """Return what may be claimed.

    Parameters
    ----------
    has_script : bool
        A script replays to it.
    in_superset : bool
        The superset has it.
    complete : bool
        The superset is complete: what it lacks cannot be reached.
    exhausted : bool
        A search of all single states ended: what it has no script for cannot be reached.
    what : str
        Named where they contradict each other.

    Raises
    ------
    ContradictionError
        If a script reaches what the completed superset lacks.
    """
    if has_script:
        if complete and not in_superset:
            raise ContradictionError(f"a script reaches {what}, which the completed superset lacks")
        return Verdict.REACHABLE
    if exhausted or (complete and not in_superset):
        return Verdict.UNREACHABLE
    return Verdict.UNDECIDED


def place_verdicts(
    ids: Sequence[str], exploration: Exploration, scripts: Mapping[int, np.ndarray], exhausted: bool
) -> tuple[Verdict, ...]:
    """Return the verdict on every place, in the level's order; `scripts` by the place's index."""
    return tuple(
        verdict(
            index in scripts,
            bool(exploration.touched[index]),
            exploration.complete,
            exhausted,
            f"place '{name}'",
        )
        for index, name in enumerate(ids)
    )


def tile_verdicts(
    standable: np.ndarray,
    exploration: Exploration,
    proved: Collection[Tile],
    exhausted: bool,
) -> dict[Verdict, tuple[Tile, ...]]:
    """Return the standable tiles (bool [rows, columns]) by verdict, each sorted by row, then column.

    `proved` are those to which a script leads.
    """
    found: dict[Verdict, list[Tile]] = {each: [] for each in Verdict}
    for row, column in np.argwhere(standable).tolist():
        tile = (column, row)
        carried = bool(exploration.carried[row, column])
        found[verdict(tile in proved, carried, exploration.complete, exhausted, f"tile {tile}")].append(tile)
    return {each: tuple(tiles) for each, tiles in found.items()}
