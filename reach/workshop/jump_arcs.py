"""Jumps, band by band: heights, ticks and speeds of a held and of a tapped one, by the scalar simulator."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.workshop.one_ledge import MOST_TICKS, endless_ledge, held, middle_of, on_ledge, play_until
from reach.workshop.takeoff_speeds import reached_bands

if TYPE_CHECKING:
    from reach.kernels.params import Motion

_Y, _VY, _GROUNDED = (State._fields.index(name) for name in ("y", "vy", "grounded"))


@dataclass(frozen=True)
class Arc:
    """One jump from level ground back to it.

    `apex_ticks` are counted from the takeoff, whose tick is the first; where two ticks tie, the earlier. `fall_ticks`
    go from there to the landing. `landing_speed_spx_per_tick` is the speed downward of the tick that lands.
    """

    height_spx: int
    apex_ticks: int
    air_ticks: int
    fall_ticks: int
    landing_speed_spx_per_tick: int


@dataclass(frozen=True)
class TakeoffBand:
    """The jumps of one band of takeoff speeds, from `from_spx_per_tick` to `to_spx_per_tick` (None: and above).

    `takeoff_spx_per_tick` is the takeoff speed that the figures were measured at; up and down, every other one in the
    band gives the same. `is_reached` tells whether walking or running from rest ever takes off in this band; None: not
    decided. An arc is None where it takes longer than `one_ledge.MOST_TICKS`. `tapped` holds the button for one tick;
    `buffered`, where the profile has a jump buffer, has let it go before the takeoff.
    """

    from_spx_per_tick: int
    to_spx_per_tick: int | None
    takeoff_spx_per_tick: int
    is_reached: bool | None
    held: Arc | None
    tapped: Arc | None
    buffered: Arc | None


def measure_takeoff_bands(motion: Motion) -> tuple[TakeoffBand, ...]:
    """Return the figures of every band of takeoff speeds, slowest first."""
    begins = motion.jump_from.tolist()
    ends: list[int | None] = [begin - 1 for begin in begins[1:]]
    ends.append(None)
    reached = reached_bands(motion, list(zip(begins, ends, strict=True)))
    return tuple(
        TakeoffBand(
            begin,
            end,
            begin,
            is_reached,
            _arc(motion, begin, MOST_TICKS),
            _arc(motion, begin, 1),
            _arc(motion, begin, 0) if motion.buffer_ticks else None,
        )
        for begin, end, is_reached in zip(begins, ends, reached, strict=True)
    )


def highest_jump_spx(motion: Motion, bands: Sequence[TakeoffBand]) -> int:
    """Return the height of the highest jump of all bands, with the button held for any number of ticks.

    Letting go in between may rise higher than both a held and a tapped jump, where the released gravity is the weaker.
    """
    highest = 0
    for band in bands:
        longest = 1 if band.held is None else band.held.apex_ticks + 1
        arcs = (_arc(motion, band.from_spx_per_tick, ticks) for ticks in range(1, longest + 1))
        played = [*arcs, band.held, band.tapped, band.buffered]
        highest = max(highest, *(arc.height_spx for arc in played if arc is not None))
    return highest


def _arc(motion: Motion, takeoff: int, hold_ticks: int) -> Arc | None:
    terrain = endless_ledge()
    # with no direction pressed the takeoff's tick coasts: it takes off at exactly this speed
    buffered = 1 if hold_ticks == 0 else 0
    start = on_ledge(terrain, motion, middle_of(terrain), takeoff + motion.coast, buffered)
    first = held(min(hold_ticks, MOST_TICKS), jump=1)
    states = play_until(start, first, held(1), lambda s: s[:, _GROUNDED] != 0, motion, terrain)
    if states is None:
        return None
    heights = start.y - states[:, _Y]
    apex = int(np.argmax(heights))
    landed = len(states) - 1
    # the tick that lands, played where there is no ground that would take the speed away
    last = State(*states[landed - 1].tolist())._replace(x=terrain.tile + start.x)
    buttons = first[landed - 1 : landed] if landed <= len(first) else held(1)
    falling = run_script(last, buttons, motion, terrain)[-1, _VY]
    return Arc(int(heights[apex]), apex, landed, landed - apex, int(falling))
