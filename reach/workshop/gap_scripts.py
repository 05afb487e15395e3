"""Scripts that cross gaps: a run-up to the last subpixel of a ledge, a press there or within coyote time, a hold.

Approximation: under. Each is played by the scalar simulator, and what it crosses is read off its own flight; that
there is no better one is not said here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.workshop.one_ledge import endless_ledge, held, middle_of, on_ledge, play_until

if TYPE_CHECKING:
    from reach.kernels.params import Motion

_X, _Y, _VX, _TAKEOFF, _GROUNDED = (State._fields.index(name) for name in ("x", "y", "vx", "takeoff", "grounded"))

MOST_CHOICES = 160
"""Of run-ups (or holds) that may last more ticks than this, so many lengths are tried, the longest among them."""

MOST_BEGINNING_TICKS = 4
MOST_HOPS = 4


@dataclass(frozen=True, eq=False)
class RunUp:
    """Buttons from rest on a ledge, up to the tick before the takeoff, and the state that they lead to.

    `inputs` int64 [ticks, 4]; `run` tells whether the run button goes on being down; `distance_spx` is covered.
    """

    inputs: np.ndarray
    run: int
    distance_spx: int
    state: State


@dataclass(frozen=True, eq=False)
class Crossing:
    """A script that crosses a gap, from rest on the near ledge to the landing on the far one.

    `gap_spx` is the widest gap that it crosses, `ledge_spx` the shortest ledge with a wall behind it that it has room
    on, `takeoff_spx_per_tick` the speed along the ground in its takeoff. `inputs` int64 [ticks, 4] begin at rest with
    the body's left edge `ledge_spx` - 1 before the ledge's last subpixel, which is the last spot that carries it.
    `path_spx` is where the body's foremost lower corner is, from the last tick of the run-up on: how far beyond the
    near ledge's end, and how far above its top.
    """

    gap_spx: int
    ledge_spx: int
    takeoff_spx_per_tick: int
    inputs: np.ndarray
    path_spx: tuple[tuple[int, int], ...]


class Flights:
    """Every script tried, and the gap that it crosses at each height; heights as of `gap_limits.over_limits`."""

    def __init__(self, motion: Motion, heights_spx: Sequence[int]) -> None:
        """Play them all."""
        self.motion = motion
        self._world = endless_ledge()
        self._levels = self._world.tile - np.array(heights_spx, np.int64)
        self._lowest_y = max(int(self._levels.max()), self._world.tile) + motion.terminal
        self._scripts: list[tuple[RunUp, np.ndarray]] = []
        gaps: list[list[int]] = []
        peaks: list[int] = []
        for run_up in _run_ups(motion):
            for buttons in _takeoffs(motion, run_up.run):
                flight = self._fly(run_up, buttons)
                if flight is not None:
                    self._scripts.append((run_up, buttons))
                    gaps.append([self._gap(flight, level) for level in self._levels.tolist()])
                    peaks.append(self._world.tile - motion.body_h - int(flight[:, _Y].min()))
        self.gaps_spx = np.array(gaps, np.int64).reshape(-1, len(heights_spx))
        self.ledges_spx = np.array([run_up.distance_spx + 1 for run_up, _ in self._scripts], np.int64)
        self.step_up_spx = max(peaks, default=0)

    def widest(self, height: int, ledge_spx: int) -> Crossing | None:
        """Return a script with the widest gap at the height of that index, from a ledge of that length at most."""
        gaps = np.where(self.ledges_spx <= ledge_spx, self.gaps_spx[:, height], -1)
        if gaps.max(initial=-1) < 0:
            return None
        best = np.flatnonzero(gaps == gaps.max())
        return self._crossing(int(best[np.argmin(self.ledges_spx[best])]), height)

    def shortest(self, height: int, gap_spx: int) -> Crossing | None:
        """Return a script with the shortest ledge that crosses a gap at the height of that index."""
        crossing = np.flatnonzero(self.gaps_spx[:, height] >= gap_spx)
        if not crossing.size:
            return None
        return self._crossing(int(crossing[np.argmin(self.ledges_spx[crossing])]), height)

    def _fly(self, run_up: RunUp, buttons: np.ndarray) -> np.ndarray | None:
        """The states from the end of a run-up at the ledge's last subpixel to below all far ledges."""
        start = run_up.state._replace(x=self._world.tile - 1)
        return play_until(start, buttons, buttons[-1:], lambda s: s[:, _Y] >= self._lowest_y, self.motion, self._world)

    def _landing(self, flight: np.ndarray, level: int) -> int:
        """The last tick in which the feet pass a level downward, 0 if none does."""
        feet = flight[:, _Y] + self.motion.body_h
        ticks = np.flatnonzero((feet[:-1] <= level) & (level < feet[1:]))
        return int(ticks[-1]) + 1 if ticks.size else 0

    def _gap(self, flight: np.ndarray, level: int) -> int:
        """The widest gap that a flight crosses to a far ledge with its top at a level, -1 if none.

        The direction is down all the way, so that the body was not so far right in any tick before: it has not met the
        side of a far ledge that begins just where it lands.
        """
        landing = self._landing(flight, level)
        if landing == 0:
            return -1
        return max(-1, int(flight[landing, _X]) + self.motion.body_w - 1 - self._world.tile)

    def _crossing(self, script: int, height: int) -> Crossing:
        run_up, buttons = self._scripts[script]
        flight = self._fly(run_up, buttons)
        assert flight is not None
        landing = self._landing(flight, int(self._levels[height]))
        flown = np.concatenate([buttons, np.tile(buttons[-1:], (max(0, landing - len(buttons)), 1))])[:landing]
        return Crossing(
            int(self.gaps_spx[script, height]),
            run_up.distance_spx + 1,
            int(flight[landing - 1, _TAKEOFF]),
            np.concatenate([run_up.inputs, flown]),
            self._path(flight[: landing + 1]),
        )

    def _path(self, flight: np.ndarray) -> tuple[tuple[int, int], ...]:
        ends = flight[:, _X] + self.motion.body_w - self._world.tile
        heights = self._world.tile - self.motion.body_h - flight[:, _Y]
        return tuple(zip(ends.tolist(), heights.tolist(), strict=True))


def _run_ups(motion: Motion) -> Iterator[RunUp]:
    """Run-ups of every length, walking and running: straight on; with a beginning that makes other takeoff speeds;
    coasting after top speed; and hopping on where the air makes the body faster than the ground does.
    """
    for run in (0, 1) if motion.has_run else (0,):
        cap = motion.run_cap if run else motion.walk_cap
        onward = held(1, 1, run=run)
        top = _ticks(motion, 0, onward, cap)
        if top is None:
            continue
        for beginning in _beginnings(run):
            for ticks in _choices(top):
                yield _run_up(motion, np.concatenate([beginning, held(ticks, 1, run=run)]), run)
        full = held(top, 1, run=run)
        for ticks in _choices(_ticks(motion, cap, held(1), 0) or 0):
            yield _run_up(motion, np.concatenate([full, held(ticks)]), run)
        if motion.air_cap.max() > cap:
            yield from _hops(motion, full, run)


def _beginnings(run: int) -> Iterator[np.ndarray]:
    """Ticks to begin a run-up with: none, a few and one without a direction, or a few walked before running."""
    yield held(0)
    for ticks in range(1, MOST_BEGINNING_TICKS + 1):
        yield np.concatenate([held(ticks, 1, run=run), held(1)])
        if run:
            yield held(ticks, 1)


def _hops(motion: Motion, inputs: np.ndarray, run: int) -> Iterator[RunUp]:
    """Run-ups that go on with one jump after the other, each to its landing."""
    terrain = endless_ledge()
    start = on_ledge(terrain, motion, middle_of(terrain))
    for _ in range(MOST_HOPS):
        state = State(*run_script(start, inputs, motion, terrain)[-1].tolist())
        onward = held(1, 1, run=run)
        jump = held(1, 1, run=run, jump=1)
        hop = play_until(state, jump, onward, lambda s: s[:, _GROUNDED] != 0, motion, terrain)
        if hop is None:
            return
        inputs = np.concatenate([inputs, jump, held(len(hop) - 2, 1, run=run)])
        yield _run_up(motion, inputs, run)


def _ticks(motion: Motion, vx: int, buttons: np.ndarray, until_vx: int) -> int | None:
    """How many ticks the buttons take from one speed to another, None where it is too many."""
    terrain = endless_ledge()
    start = on_ledge(terrain, motion, middle_of(terrain), vx)
    states = play_until(start, buttons, buttons, lambda s: s[:, _VX] == until_vx, motion, terrain)
    return None if states is None else len(states) - 1


def _run_up(motion: Motion, inputs: np.ndarray, run: int) -> RunUp:
    terrain = endless_ledge()
    start = on_ledge(terrain, motion, middle_of(terrain))
    last = State(*run_script(start, inputs, motion, terrain)[-1].tolist())
    return RunUp(inputs, run, last.x - start.x, last)


def _choices(most: int) -> list[int]:
    """Whole numbers from 0 to `most`: all, or where they are too many some, both ends among them."""
    return np.unique(np.linspace(0, most, min(most + 1, MOST_CHOICES)).round().astype(int)).tolist()


def _takeoffs(motion: Motion, run: int) -> Iterator[np.ndarray]:
    """Buttons from the takeoff (or from walking off) on; the last row's stay down."""
    onward, jump = held(1, 1, run=run), held(1, 1, run=run, jump=1)
    for late in range(motion.coyote_ticks + 1):
        walking_off = np.tile(onward, (late, 1))
        for hold in _holds(motion):
            yield np.concatenate([walking_off, np.tile(jump, (hold, 1)), onward])
        yield np.concatenate([walking_off, jump])
    # no direction in the takeoff's tick makes another takeoff speed
    yield np.concatenate([held(1, run=run, jump=1), jump])
    yield onward


def _holds(motion: Motion) -> list[int]:
    """Ticks of holding that may carry farther than holding all the way: none where that has the weakest gravity."""
    if (motion.jump_gravity_held <= motion.jump_gravity).all():
        return []
    apex = int(motion.jump_launch.max() // motion.jump_gravity_held.min()) + 1
    return [hold for hold in _choices(apex) if hold > 0]
