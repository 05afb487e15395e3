"""Walking and running on level ground: how long and how far speeding up, coasting, reversing and turning round take.

All by the scalar simulator; nothing here is a formula.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reach.kernels.params import State
from reach.workshop.one_ledge import endless_ledge, held, middle_of, on_ledge, play_until

if TYPE_CHECKING:
    from reach.kernels.params import Motion

_X, _VX = State._fields.index("x"), State._fields.index("vx")


@dataclass(frozen=True)
class Change:
    """Ticks and distance of a change of speed."""

    ticks: int
    distance_spx: int


@dataclass(frozen=True)
class GroundSpeed:
    """One gait on level ground; a `Change` is None where it takes longer than `one_ledge.MOST_TICKS`.

    `to_top`: from rest to top speed. `coasting`, `reversing`: from top speed to rest, with no direction and with the
    opposite one pressed. `turning`: from top speed one way to top speed the other way; its distance is how far the body
    gets beyond where it was when the direction changed.
    """

    gait: str
    top_speed_spx_per_tick: int
    to_top: Change | None
    coasting: Change | None
    reversing: Change | None
    turning: Change | None


def measure_ground_speeds(motion: Motion) -> tuple[GroundSpeed, ...]:
    """Return the figures of the walk and, where the profile has one, of the run."""
    gaits = [("walk", 0, motion.walk_cap)]
    if motion.has_run:
        gaits.append(("run", 1, motion.run_cap))
    return tuple(
        GroundSpeed(
            gait,
            top,
            _change(motion, 0, 1, run, top),
            _change(motion, top, 0, run, 0),
            # the tick in which it stands still: speeding up the other way begins in the next
            _change(motion, top, -1, run, 0),
            _change(motion, top, -1, run, -top),
        )
        for gait, run, top in gaits
    )


def _change(motion: Motion, vx: int, direction: int, run: int, until_vx: int) -> Change | None:
    """Return what pressing a direction takes until the body has a speed."""
    terrain = endless_ledge()
    start = on_ledge(terrain, motion, middle_of(terrain), vx)
    buttons = held(1, direction, run=run)
    states = play_until(start, buttons, buttons, lambda s: s[:, _VX] == until_vx, motion, terrain)
    if states is None:
        return None
    return Change(len(states) - 1, int(states[:, _X].max()) - start.x)
