"""The widest gap that leaves a person time: press, hold and steering each work in a window of ticks in a row.

A lower bound: it rests on the plans that were tried, all of whose combinations were flown. Timing figures of players
are averages, and no promise of accessibility.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import MoveKind
from reach.kernels.course import BLOCKS, CARRIES, FAR, make_course
from reach.reachability.plan_answers import alone
from reach.reachability.plan_search import find_window
from reach.reachability.plan_task import Ground, Task, make_task

if TYPE_CHECKING:
    from reach.kernels.params import Motion

SPX = 65536
_NEAR_TOP = 1 << 36
"""Where the near ledge's top is; all that matters is far from the ends of the course."""

_FAR_LEDGE = 1 << 30
"""Length of the far ledge, spx: whoever lands on it can come to rest."""


@dataclass(frozen=True)
class Guess:
    """Where to begin: a gap that is surely too wide, and by how much less the last answer was, spx."""

    limit_spx: int
    less_spx: int


def widest_gap_with_window(
    motion: Motion, ledge_spx: int, height_spx: int, window_ticks: int, guess: Guess
) -> int | None:
    """Return the widest gap found, in whole px, that some plan crosses with such a window; None where none is found.

    Parameters
    ----------
    motion : Motion
    ledge_spx, height_spx : int
        As of `gap_limits.over_limits`; the plan starts at rest on the ledge and lands on the far one.
    window_ticks : int
        So many consecutive ticks of press, hold and steering each, in every combination.
    guess : Guess

    Returns
    -------
    int, optional
        Spx. Approximation: under.
    """
    most = guess.limit_spx // SPX

    def has_window(gap_px: int) -> bool:
        task = gap_task(motion, ledge_spx, height_spx, gap_px * SPX)
        found = alone(find_window(task, (), window_ticks, window_ticks))
        return found is not None and found.window_ticks >= window_ticks

    best = None
    px = min(max((guess.limit_spx - guess.less_spx) // SPX, 0), most)
    step = 1
    too_wide = most + 1
    while best is None:
        if has_window(px):
            best = px
        elif px == 0:
            return None
        else:
            too_wide = px
            px = max(0, px - step)
            step *= 2
    if step == 1:
        while best + 1 < too_wide and has_window(best + 1):
            best += 1
    while too_wide - best > 1 and step > 1:
        middle = (best + too_wide) // 2
        if has_window(middle):
            best = middle
        else:
            too_wide = middle
    return best * SPX


def gap_task(motion: Motion, ledge_spx: int, height_spx: int, gap_spx: int) -> Task:
    """Return the task of jumping from a ledge with a wall behind it to a far one, both solid all the way down."""
    far_top = _NEAR_TOP - height_spx
    far_left = ledge_spx + gap_spx
    xs = [-FAR, 0, ledge_spx, *([far_left] if gap_spx else []), FAR]
    ys = [-FAR, *sorted({_NEAR_TOP, far_top}), FAR]
    flags = np.zeros((len(ys) - 1, len(xs) - 1), np.uint8)
    solid = BLOCKS | CARRIES
    flags[:, 0] = solid
    for row, top in enumerate(ys[:-1]):
        if top >= _NEAR_TOP:
            flags[row, 1] = solid
        if top >= far_top:
            flags[row, -1] = solid
    course = make_course(np.array(xs, np.int64), np.array(ys, np.int64), flags, np.zeros(flags.shape, np.int64))
    near = Ground(0, ledge_spx - 1, _NEAR_TOP - motion.body_h)
    far = Ground(far_left - motion.body_w + 1, far_left + _FAR_LEDGE, far_top - motion.body_h)
    return make_task(motion, course, MoveKind.JUMP, near, far)
