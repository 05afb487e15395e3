"""What a check is asked: one level, one movement and one start, compiled for the kernels, with the limits to keep."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from reach.errors import InputError
from reach.errors import Problem as Mistake
from reach.level import compile_terrain
from reach.reachability.explore import Explorer
from reach.reachability.footholds import standable_tiles
from reach.reachability.job_memory import JobMemory
from reach.reachability.passages import FootholdFinder
from reach.simulator import start_state

if TYPE_CHECKING:
    from reach.kernels.params import Motion, State, Terrain
    from reach.level import Level
    from reach.movement import Movement
    from reach.options import CheckOptions
    from reach.reachability.memory import Memory
    from reach.reachability.result import Exploration, Foothold

Tell = Callable[[str, float | None], None]
"""Told what is being done and, where it is known, which part of it is done (0 to 1)."""


@dataclass(frozen=True, eq=False)
class Problem:
    """The question, ready for the kernels. `deadline` is a value of `time.monotonic()`, None without a limit.

    `memory` holds what earlier checks left.
    """

    level: Level
    movement: Movement
    options: CheckOptions
    terrain: Terrain
    start: State
    deadline: float | None
    tell: Tell
    memory: Memory | None = None

    @property
    def motion(self) -> Motion:
        """The compiled movement."""
        return self.movement.motion

    @cached_property
    def explorer(self) -> Explorer:
        """The level made ready for explorations."""
        return Explorer(self.motion, self.terrain, memory=self.jobs)

    @cached_property
    def jobs(self) -> JobMemory:
        """What jobs of explorations found, for all explorations of this check and, where it is handed on, the next."""
        return JobMemory() if self.memory is None else self.memory.jobs

    @property
    def footholds(self) -> tuple[Foothold, ...]:
        """Every foothold of the level."""
        return self.explorer.footholds

    @cached_property
    def finder(self) -> FootholdFinder:
        """Finds the foothold that a body stands on."""
        return FootholdFinder(self.footholds, self.motion, self.terrain)

    @cached_property
    def standable(self) -> np.ndarray:
        """The standable tiles, bool [rows, columns]."""
        return standable_tiles(self.motion, self.terrain)

    def explore(self, explorer: Explorer | None = None) -> Exploration:
        """Return the superset of everything that any input can lead to from the start.

        Another `explorer` of the level than its own measures misses to something else.
        """
        what = "exploring every input"
        self.tell(what, None)
        return (explorer or self.explorer).explore(
            self.start,
            deadline=self.deadline,
            memory_limit_mib=self.options.memory_limit_mib,
            progress=lambda done, waiting: self.tell(what, done / max(1, done + waiting)),
        )

    def explore_from(self, foothold: Foothold, seen: Exploration, *, until_lost: bool = False) -> Exploration:
        """Return the superset from rest anywhere on a foothold, or from all bounces on a spring that `seen` has.

        It ends where an ending place is touched first, or with `until_lost` at the first loss.
        """
        self.tell("asking where a player gets stuck", foothold.index / len(self.footholds))
        return self.explorer.explore(
            rest_on=None if foothold.is_spring else foothold.index,
            bounce_on=foothold.index if foothold.is_spring else None,
            known=seen,
            until_lost=until_lost,
            until_touched=() if until_lost else tuple(self.ending_ids),
            deadline=self.deadline,
            memory_limit_mib=self.options.memory_limit_mib,
        )

    def nearest_standable(self, column: int, row: int) -> tuple[int, int] | None:
        """Return the standable tile (column, row) nearest to a tile, None if there is none."""
        tiles = [(c, r) for r, c in np.argwhere(self.standable).tolist()]
        return min(tiles, key=lambda tile: (abs(tile[0] - column) + abs(tile[1] - row), tile[1], tile[0]), default=None)

    @cached_property
    def ending_ids(self) -> dict[int, str]:
        """Ids of the places that end the level, by index."""
        return {index: place.id for index, place in enumerate(self.level.places) if place.ends_level}

    @property
    def late(self) -> bool:
        """Whether the time limit has been reached."""
        return self.deadline is not None and time.monotonic() >= self.deadline


MOST_WINDOW_TICKS = 250
"""A threshold of more ticks is refused: so many cubed are flown, and kept, for every move that is measured."""


def pose(
    level: Level, movement: Movement, options: CheckOptions, tell: Tell | None, memory: Memory | None = None
) -> Problem:
    """Return the problem; the time limit begins to run.

    Raises
    ------
    InputError
        If the level has no such place to begin at, or the body cannot be there, or is too large for the level, or if
        the threshold for windows is more than MOST_WINDOW_TICKS ticks of the movement.
    """
    _refuse_threshold(options.window_threshold_ms, movement.tick_rate_hz)
    limit = options.time_limit_s
    deadline = None if limit is None else time.monotonic() + limit
    place = level.place(options.from_place)
    terrain = compile_terrain(level, movement)
    start = start_state(level, movement, place.id)
    if memory is not None:
        memory.begin()
    return Problem(level, movement, options, terrain, start, deadline, tell or (lambda stage, done: None), memory)


def _refuse_threshold(threshold_ms: float, tick_rate_hz: int) -> None:
    most_ms = MOST_WINDOW_TICKS * 1000 / tick_rate_hz
    if threshold_ms > most_ms:
        allowed = f"at most {most_ms:g}: {MOST_WINDOW_TICKS} ticks at {tick_rate_hz} ticks a second"
        raise InputError([Mistake("<options>", "window_threshold_ms", repr(threshold_ms), allowed)])
