"""The speeds that walking and running from rest lead to: in which bands a body ever takes off from the ground."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reach.kernels.params import Motion

MOST_STATES = 200_000
"""After so many speeds (with what is left of the run's memory) it is left open which others there are."""

Band = tuple[int, int | None]
"""The least and the greatest takeoff speed of a band, spx a tick; None: and above."""


def reached_bands(motion: Motion, bands: Sequence[Band]) -> tuple[bool | None, ...]:
    """Return for each band whether some input on level ground leads from rest to a speed in it.

    Every input is followed, one speed at a time, by rule 2 of the motion model. None: not decided within MOST_STATES.
    """
    waiting = set(range(len(bands)))
    seen = {(0, 0)}
    frontier = [(0, 0)]
    while frontier and waiting and len(seen) <= MOST_STATES:
        for speed, _ in frontier:
            waiting -= {i for i in waiting if _is_in(speed, bands[i])}
        frontier = [after for state in frontier for after in _after(motion, *state)]
        frontier = [state for state in dict.fromkeys(frontier) if state not in seen]
        seen.update(frontier)
    missing = None if frontier else False
    return tuple(missing if i in waiting else True for i in range(len(bands)))


def _is_in(speed: int, band: Band) -> bool:
    least, most = band
    return least <= speed and (most is None or speed <= most)


def _after(motion: Motion, speed: int, memory: int) -> list[tuple[int, int]]:
    """The speed and the run's memory after a tick of every input, without a sign: left and right are alike."""
    found = []
    for run in (0, 1) if motion.has_run else (0,):
        running = bool(run or memory)
        left = motion.run_memory if run else max(0, memory - 1)
        accel, cap = (motion.run_accel, motion.run_cap) if running else (motion.walk_accel, motion.walk_cap)
        onward = min(speed + accel, cap) if speed <= cap else max(speed - motion.coast, cap)
        found += [(each, left) for each in (onward, max(0, speed - motion.coast), max(0, speed - motion.reverse))]
    return found
