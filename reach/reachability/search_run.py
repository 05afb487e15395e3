"""The order of a concrete search: the grid, trials, near misses from spots beside, single states."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels import attempts as a
from reach.kernels import book as b
from reach.kernels import trials as t
from reach.kernels.search import begin, search
from reach.reachability.search_room import make_book
from reach.reachability.search_shift import add_shifted
from reach.reachability.search_targets import TargetList
from reach.reachability.single_states import numbers_are_coarse, visit_all, visit_around

if TYPE_CHECKING:
    from reach.kernels.params import Motion, State, Terrain
    from reach.reachability.result import Foothold

TIME_LIMIT = "time limit"

SHIFT_ROUNDS = 8
SHIFT_TICKS = 30_000
"""How often and for how many ticks a near miss is tried from another spot."""

SLICE_TICKS = 1_000_000
"""Ticks simulated between two looks at the clock, about a tenth of a second."""


@dataclass(frozen=True)
class SearchLimits:
    """When the search gives up; what is not found by then stays unproved.

    `ticks` are simulated ticks in all. A missing tile or place is tried `trials` times from each foothold that could
    lead there, a missing move `move_trials` times. `single_states` bounds each search over single states. `deadline`
    is a value of `time.monotonic()`, None without one.
    """

    ticks: int = 400_000_000
    trials: int = 30_000
    move_trials: int = 512
    single_states: int = 300_000
    deadline: float | None = None


@dataclass(frozen=True)
class GaveUp:
    """Why a search ended although something it wanted has no script.

    `by_limit`: a limit of time, of ticks or of room cut it short; else all it tries was tried. The time limit has the
    short name `TIME_LIMIT`.
    """

    why: str
    by_limit: bool


class SearchRun:
    """One search: the book, and the order in which it is filled.

    After it, `gave_up` says why it ended, None where nothing is missing or every state was visited.
    """

    def __init__(
        self,
        motion: Motion,
        terrain: Terrain,
        footholds: Sequence[Foothold],
        start: State,
        wanted_tiles: np.ndarray,
        wanted_places: np.ndarray,
        targets: TargetList,
        limits: SearchLimits,
    ) -> None:
        """Open the book at the start state."""
        self.motion, self.terrain, self.start = motion, terrain, start
        self.footholds = footholds
        self.limits = limits
        self.targets = targets
        self.book = make_book(motion, terrain, footholds, wanted_tiles, wanted_places)
        self.exhausted = False
        self.gave_up: GaveUp | None = None
        begin(start, self.book, motion, terrain)

    @property
    def missing(self) -> int:
        """Number of wanted tiles and places without a script."""
        return int(self.book.counts[b.MISSING])

    @property
    def stopped(self) -> bool:
        """Whether a limit has been reached."""
        late = self.limits.deadline is not None and time.monotonic() >= self.limits.deadline
        return late or self.book.counts[b.TICKS] >= self.limits.ticks or self.book.counts[b.FULL] != 0

    def _why_missing(self) -> GaveUp | None:
        limits, counts = self.limits, self.book.counts
        if not self.missing or self.exhausted:
            return None
        if counts[b.FULL] != 0:
            return GaveUp("the search for scripts ran out of room", by_limit=True)
        if counts[b.TICKS] >= limits.ticks:
            return GaveUp(f"the search for scripts ended after {limits.ticks} simulated ticks", by_limit=True)
        if self.stopped:
            return GaveUp(TIME_LIMIT, by_limit=True)
        tries = f"up to {limits.trials} tries from each foothold that could lead there"
        return GaveUp(f"{tries} and up to {limits.single_states} single states around it gave none", by_limit=False)

    @property
    def _slice(self) -> int:
        """Ticks to simulate before the next look at the clock."""
        return min(SLICE_TICKS, self.limits.ticks - int(self.book.counts[b.TICKS]))

    def go(self, want_moves: bool) -> None:
        """Search: the grid, trials, single states; each gain leads back to the grid."""
        self._grid(want_moves)
        self._try_all(self.limits.trials // 16)
        if self.missing and not self.stopped and numbers_are_coarse(self.motion):
            limits = self.limits
            self.exhausted = visit_all(limits.single_states, limits.deadline, self.book, self.motion, self.terrain)
        if not self.exhausted:
            self._try_all(self.limits.trials)
            while self.missing and not self.stopped and (self._shift() or self._look_around()):
                self._grid(False)
                self._try_all(self.limits.trials)
        self.gave_up = self._why_missing()
        if want_moves and not self.stopped:
            self._grid(True)
            self._trials(True, self.limits.move_trials)
        if not self.missing:
            self.gave_up = None

    def _try_all(self, most: int) -> None:
        while self._trials(False, most):
            pass

    def _grid(self, want_moves: bool) -> None:
        self.book.counts[b.TRIALS] = 0
        while (self.missing or want_moves) and not self.stopped:
            if search(self._slice, self.book, self.motion, self.terrain) == 0:
                break

    def _trials(self, want_moves: bool, most: int) -> bool:
        """Aim at what is missing; True once a tile or place is gained, False when all targets are tried enough."""
        missing = self.missing
        while (self.missing or want_moves) and not self.stopped:
            if self.targets.refresh(self.book, want_moves, most) == 0:
                return False
            book = self.book._replace(targets=self.targets.rows)
            book.counts[b.TRIALS] = 1
            book.counts[b.GO_ON] = int(want_moves)
            if search(self._slice, book, self.motion, self.terrain) == 0:
                return False
            self._grid(False)
            if self.missing < missing and not want_moves:
                return True
        return self.missing < missing

    def _shift(self) -> bool:
        """Try what narrowly missed from spots beside; True as soon as a tile or place is gained."""
        missing = self.missing
        for index in self.targets.near_misses(self.book, self.motion.walk_cap + self.motion.run_cap):
            for _ in range(SHIFT_ROUNDS):
                miss = self.targets.aim_alone(index)
                row = self.targets.rows[index]
                nodes = add_shifted(row, miss, self.book, self.motion, self.terrain)
                for node in nodes:
                    row[[t.BEST + a.NODE, t.BEST + a.TAP_TICKS]] = node, 0
                    book = self.book._replace(targets=self.targets.rows)
                    book.counts[b.TARGET], book.counts[b.TRIAL], book.counts[b.TRIALS] = index, 0, 1
                    search(SHIFT_TICKS, book, self.motion, self.terrain)
                    self._grid(False)
                    if self.missing < missing:
                        return True
                    if self.stopped:
                        return False
                if not nodes or row[t.CLOSEST] - t.NOT_LANDED >= miss:
                    break
        return False

    def _look_around(self) -> bool:
        """Search single states around what is missing, target by target; True as soon as a tile or place is gained."""
        for sources, aim in self.targets.missing(self.book):
            if self.stopped:
                return False
            most = self.limits.single_states
            if visit_around(sources, aim, most, self.limits.deadline, self.book, self.motion, self.terrain):
                return True
        return False
