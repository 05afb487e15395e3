"""The widest gap that any input crosses, for every difference in height, from both sides.

The near ledge stands alone over nothing; the far one would have its top so much higher or lower and be solid all the
way down. A body is carried where it overlaps a ledge by at least one subpixel, on either side.

From above (`OverLimits`): the near ledge alone is explored. A body lands on a far ledge in a tick that would take its
feet from its top or above to below it, at the columns overlapped after the tick's sideways move. So none lands on a far
ledge that begins beyond the right edge of every body in such a tick, unless the far ledge itself has helped it.

All that it can do before is to stop the body at its side. Had it not been there, the same buttons, with no direction
from then on, would have led farther right with the same height in every tick: that body too is in the exploration. One
thing alone can come out otherwise: a jump within coyote time after meeting the side, at another takeoff speed. So what
is within reach of a body that still has coyote time, below the far top and with a launch that could take it there, is
counted as well.

From below (`Crossing`): scripts, played by the scalar simulator, that take off at the near ledge's last subpixel.
Where both are equal, the limit is exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels import heap
from reach.reachability.explore import Explorer
from reach.workshop.one_ledge import ledge_world, on_ledge

if TYPE_CHECKING:
    from reach.kernels.params import Motion, Terrain


@dataclass(frozen=True)
class OverLimits:
    """What no input gets beyond. Approximation: over.

    `gaps_spx` has, for each height asked about, the widest gap that may be crossed, -1 where no landing is possible at
    all. `step_up_spx` is the greatest height at which there may be a landing. `why` tells why nothing is known
    (a limit was hit); the rest is empty then.
    """

    gaps_spx: tuple[int, ...]
    step_up_spx: int
    why: str = ""


class _Seen:
    """Collects, from the stored sets of an exploration, how far right bodies get that come to a height."""

    def __init__(self, motion: Motion, terrain: Terrain, heights_spx: Sequence[int]) -> None:
        self.motion = motion
        self.top = terrain.tile
        self.levels = terrain.tile - np.array(heights_spx, np.int64)
        self.landing_x = np.full(len(heights_spx), -1, np.int64)
        self.beside_x = np.full(len(heights_spx), -1, np.int64)
        self.highest_feet = terrain.tile
        self.most_rise = _most_rise(motion)

    def __call__(self, node: int, job: np.ndarray) -> None:
        del node
        sets = heap.region(job, heap.SET, heap.SET_WIDTH)
        records = heap.region(job, heap.RECORD, heap.RECORD_WIDTH)[: job[heap.RECORD_N]]
        y, vy, coyote, right = records[:, 1], records[:, 2], records[:, 4], sets[records[:, 5], heap.SET_X1]
        after = y + self.motion.body_h
        before = after - vy
        self.highest_feet = min(self.highest_feet, int(after.min(initial=self.highest_feet)))
        peak = after - self.most_rise
        for i, level in enumerate(self.levels.tolist()):
            lands = (before <= level) & (level < after)
            self.landing_x[i] = max(self.landing_x[i], right[lands].max(initial=-1))
            beside = (coyote > 0) & (before > level) & (peak <= level)
            self.beside_x[i] = max(self.beside_x[i], right[beside].max(initial=-1))


def over_limits(
    motion: Motion,
    ledge_spx: int,
    heights_spx: Sequence[int],
    *,
    deadline: float | None = None,
) -> OverLimits:
    """Return what no input gets beyond, from rest anywhere on a ledge with a wall behind it.

    Parameters
    ----------
    motion : Motion
    ledge_spx : int
        The near ledge's length.
    heights_spx : sequence of int
        How much higher the far ledge's top is; negative: lower.
    deadline : float, optional
        `time.monotonic()` value at which to give up.

    Returns
    -------
    OverLimits
        Approximation: over.
    """
    depth = max(0, -min(heights_spx)) + motion.terminal + 1
    width = _farthest_flight(motion, depth)
    while True:
        terrain = ledge_world(ledge_spx, depth, width)
        seen = _Seen(motion, terrain, heights_spx)
        start = on_ledge(terrain, motion, 0)
        explored = Explorer(motion, terrain).explore(start, deadline=deadline, seen=seen)
        if not explored.complete:
            return OverLimits((), 0, explored.why)
        wall = terrain.tile * terrain.material.shape[1] - motion.body_w
        if max(seen.landing_x.max(), seen.beside_x.max()) < wall:
            break
        width *= 2  # what came to the world's other wall might have come farther
    farthest = np.maximum(seen.landing_x, seen.beside_x) + motion.body_w - 1 - ledge_spx
    gaps = np.where(seen.landing_x < 0, -1, farthest)
    return OverLimits(tuple(gaps.tolist()), terrain.tile - seen.highest_feet)


def _most_rise(motion: Motion) -> int:
    """Return more than any jump rises, spx: the strongest launch of all bands under the weakest gravity."""
    gravity = int(min(motion.jump_gravity.min(), motion.jump_gravity_held.min()))
    v0 = int(motion.jump_launch.max()) + gravity
    ticks = v0 // gravity
    return v0 * ticks - gravity * (ticks * (ticks + 1) // 2)


def _farthest_flight(motion: Motion, depth_spx: int) -> int:
    """Return about how far a body gets that jumps at top speed and falls so deep, spx: more rather than less."""
    gravity = int(min(motion.jump_gravity.min(), motion.jump_gravity_held.min()))
    rise = int(motion.jump_launch.max()) // gravity + 1
    height = rise * int(motion.jump_launch.max()) // 2 + depth_spx
    fall = motion.terminal // gravity + height // motion.terminal + 1
    fastest = max(motion.walk_cap, motion.run_cap, int(motion.air_cap.max()))
    return fastest * (rise + fall + motion.coyote_ticks + 2) + motion.body_w
