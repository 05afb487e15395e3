"""Buttons for the ticks that a recording lacks, such that a profile explains the rows after them, if it can.

Which buttons were down in a missing tick is unknown, so a profile explains a take with gaps if it does so with some
buttons. First every split of a gap is tried: those of the row before, from some tick on those of the row after. Where
none explains what follows, gaps of few ticks are filled in every way there is; only then does a difference after them
not depend on what is unknown.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np

from reach.kernels.params import Motion, State, Terrain
from reach.kernels.step import run_script

LONGEST_GAP_TICKS = 60
"""A gap of more missing ticks is not gone past."""
EXHAUSTIVE_TICKS = 2
"""Gaps of up to so many missing ticks are filled in every way."""
MOST_BRANCHES = 64
"""So many ways in which a profile can have come to a row are followed."""
MOST_PLAYS = 20_000
"""After so many stretches played, gaps are no longer filled in every way."""


@dataclass(frozen=True, eq=False)
class Filled:
    """Buttons of every tick of a take.

    `inputs` is int64 [ticks, 4]. `is_exhaustive` tells that every way to press the buttons in the missing ticks was
    followed, so that where these inputs first fail to explain a row, or before, all others fail too.
    """

    inputs: np.ndarray
    is_exhaustive: bool


class Rows(NamedTuple):
    """The rows of a take.

    `at` is int64 [rows], ticks since the first; `shift_spx` float64 [rows, 2]; `inputs` int64 [rows, 4]; `buttons` the
    names of the buttons that the recording has.
    """

    at: np.ndarray
    shift_spx: np.ndarray
    inputs: np.ndarray
    buttons: tuple[str, ...]


class _Branch(NamedTuple):
    """One way to have come to a row: the state, the shifts that explain the rows so far, and the filled gaps."""

    state: State
    low: tuple[float, float]
    high: tuple[float, float]
    fills: tuple[np.ndarray, ...]


def fill_missing(rows: Rows, start: State, motion: Motion, terrain: Terrain, allowance: tuple[float, float]) -> Filled:
    """Return the buttons of every tick with which a profile follows a take for longest, of those that were tried.

    Parameters
    ----------
    rows : Rows
        With gaps of at most LONGEST_GAP_TICKS.
    start : State
        The body at the first row.
    motion : Motion
    terrain : Terrain
    allowance : (float, float)
        Half of the rounding of positions, and the tolerance, spx.
    """
    search = _Search(rows, start, motion, terrain, allowance)
    if not search.gaps:
        return Filled(rows.inputs[1:], True)
    fills, row, passed = search.followed(every=False)
    if row < len(rows.at) and passed:
        fills, _, _ = search.followed(every=True)
    return Filled(search.dense(fills), search.is_exhaustive)


class _Search:
    def __init__(
        self, rows: Rows, start: State, motion: Motion, terrain: Terrain, allowance: tuple[float, float]
    ) -> None:
        self.rows, self.start, self.motion, self.terrain = rows, start, motion, terrain
        self.rounding, self.tolerance = allowance
        self.gaps = (np.flatnonzero(np.diff(rows.at) > 1) + 1).tolist()
        self.is_exhaustive = True
        self.plays = 0
        directions = [0, *(way for way, name in ((-1, "left"), (1, "right")) if name in rows.buttons)]
        down = range(1 + ("down" in rows.buttons and bool(motion.drop_through)))
        run = range(1 + ("run" in rows.buttons and bool(motion.has_run)))
        self.possible = list(product(directions, down, run, range(1 + ("jump" in rows.buttons))))

    def followed(self, every: bool) -> tuple[tuple[np.ndarray, ...], int, int]:
        """Fills, the row up to which they explain the take, and how many gaps there are before it."""
        self.is_exhaustive = True
        side = (self.rounding, self.rounding)
        branches = [_Branch(self.start, (-side[0], -side[1]), side, ())]
        row = 1
        for number, end in enumerate([*self.gaps, len(self.rows.at)]):
            survivors: dict[tuple[object, ...], _Branch] = {}
            best: tuple[np.ndarray, ...] | None = None
            farthest = row
            for branch in branches:
                for fill in self._fills(number, row, every):
                    grown, reached = self._played(branch, fill, row, end)
                    if reached == end:
                        survivors.setdefault(grown[:3], grown)
                    elif best is None or reached > farthest:
                        best, farthest = grown.fills, reached
            if not survivors:
                return best or (), farthest, number
            if len(survivors) > MOST_BRANCHES:
                self.is_exhaustive = False
            branches = list(survivors.values())[:MOST_BRANCHES]
            row = end
        return branches[0].fills, row, len(self.gaps)

    def _fills(self, number: int, row: int, every: bool) -> Iterator[np.ndarray | None]:
        """The buttons to try in the gap before a row: None before the first stretch, which has no gap before it."""
        if number == 0:
            yield None
            return
        missing = int(self.rows.at[row] - self.rows.at[row - 1]) - 1
        before, after = self.rows.inputs[row - 1], self.rows.inputs[row]
        for kept in range(missing, -1, -1):
            yield np.concatenate([np.tile(before, (kept, 1)), np.tile(after, (missing - kept, 1))])
            if np.array_equal(before, after):
                break
        if every and missing <= EXHAUSTIVE_TICKS and self.plays <= MOST_PLAYS:
            for ticks in product(self.possible, repeat=missing):
                yield np.array(ticks, np.int64)
        else:
            self.is_exhaustive = False

    def _played(self, branch: _Branch, fill: np.ndarray | None, row: int, end: int) -> tuple[_Branch, int]:
        """A branch played through a gap and the rows up to `end`, and the first of them that it does not explain."""
        self.plays += 1
        inputs = self.rows.inputs[row:end]
        skipped = 0
        if fill is not None:
            skipped, inputs = len(fill), np.concatenate([fill, inputs])
        states = run_script(branch.state, np.ascontiguousarray(inputs), self.motion, self.terrain)
        moved = states[1 + skipped :, :2] - np.array([self.start.x, self.start.y])
        off = self.rows.shift_spx[row:end] - moved
        low = np.maximum.accumulate(np.maximum(off - self.rounding - self.tolerance, branch.low))
        high = np.minimum.accumulate(np.minimum(off + self.rounding + self.tolerance, branch.high))
        bad = np.flatnonzero((low > high).any(axis=1))
        fills = branch.fills if fill is None else (*branch.fills, fill)
        if len(bad):
            return branch._replace(fills=fills), row + int(bad[0])
        if end == row:
            return branch._replace(fills=fills), end
        ends = ((float(each[-1, 0]), float(each[-1, 1])) for each in (low, high))
        return _Branch(State(*states[-1].tolist()), next(ends), next(ends), fills), end

    def dense(self, fills: Sequence[np.ndarray]) -> np.ndarray:
        """The buttons of every tick; those of the row before in gaps that are not filled."""
        known = np.repeat(self.rows.inputs[:-1], np.diff(self.rows.at), axis=0)
        known[self.rows.at[1:] - 1] = self.rows.inputs[1:]
        for gap, fill in zip(self.gaps, fills, strict=False):
            begin = int(self.rows.at[gap - 1])
            known[begin : begin + len(fill)] = fill
        return np.ascontiguousarray(known)
