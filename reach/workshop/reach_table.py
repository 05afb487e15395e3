"""The reach table: for every height, the widest gap that any input crosses, what it takes, and what a person can do."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reach.workshop.bounds import Bound
from reach.workshop.gap_limits import OverLimits, over_limits
from reach.workshop.gap_scripts import Crossing, Flights
from reach.workshop.gap_windows import Guess, widest_gap_with_window
from reach.workshop.jump_arcs import highest_jump_spx
from reach.workshop.run_ups import shortest_ledges

if TYPE_CHECKING:
    from reach.kernels.params import Motion
    from reach.workshop.jump_arcs import TakeoffBand

TILES_DOWN = 8
"""The reach table goes down so many tiles."""

LEAST_LEDGE_TILES = 20
"""The near ledge of the reach table is at least so long, and at least twice as long as any run-up tried."""

Tell = Callable[[str, float | None], None]
"""Told what is being done and, where it is known, which part of it is done (0 to 1)."""


@dataclass(frozen=True)
class ReachRow:
    """What can be crossed to a far ledge whose top is `height_tiles` higher (negative: lower).

    `gap` is the widest gap that any input crosses from rest anywhere on the near ledge. `full_ledge_spx` is the ledge
    that the script needs that crosses `gap.at_least_spx`, and `takeoff_spx_per_tick` its takeoff speed. `whole_tiles`
    is the widest gap of whole tiles that is proved possible, and `ledge` how long the near ledge must be for that one;
    None where it is 0. `gap_with_window_spx` is the widest gap found that leaves a person the sheet's window on press,
    hold and steering: a lower bound; None where none was found or looked for.
    """

    height_tiles: int
    gap: Bound
    full_ledge_spx: int | None
    takeoff_spx_per_tick: int | None
    whole_tiles: int | None
    ledge: Bound | None
    gap_with_window_spx: int | None


@dataclass(frozen=True)
class ReachTable:
    """The widest gaps by height, from the highest step up downward.

    `ledge_spx` is the length of the near ledge, with a wall behind it; the far one is solid all the way down and so
    long that nobody comes to its end. `step_up` is the greatest height on which a landing is possible. `limits` tells
    which limit left figures out; empty where none did. `path_spx` is the path of the script that crosses the lowest
    row's gap, as of `Crossing`; empty without one.
    """

    ledge_spx: int
    step_up: Bound
    rows: tuple[ReachRow, ...]
    limits: tuple[str, ...]
    path_spx: tuple[tuple[int, int], ...] = ()


def make_reach_table(
    motion: Motion,
    bands: tuple[TakeoffBand, ...],
    tile_spx: int,
    window_ticks: int,
    *,
    time_limit_s: float | None = None,
    tell: Tell = lambda stage, done: None,
) -> ReachTable:
    """Return the reach table of a motion.

    Parameters
    ----------
    motion : Motion
    bands : tuple of TakeoffBand
        Its jumps; no landing is higher than they are.
    tile_spx : int
        Side of a tile.
    window_ticks : int
        What a person is given on every axis.
    time_limit_s : float, optional
    tell : callable, optional
    """
    deadline = None if time_limit_s is None else time.monotonic() + time_limit_s
    heights = tuple(range(highest_jump_spx(motion, bands) // tile_spx, -TILES_DOWN - 1, -1))
    heights_spx = tuple(height * tile_spx for height in heights)
    limits = []

    tell("playing jumps over gaps", None)
    flights = Flights(motion, heights_spx)
    longest = int(flights.ledges_spx.max(initial=0))
    ledge = max(LEAST_LEDGE_TILES, -(-2 * longest // tile_spx)) * tile_spx
    crossings = [flights.widest(index, ledge) for index in range(len(heights))]

    tell("exploring the widest gaps", None)
    over = over_limits(motion, ledge, heights_spx, deadline=deadline)
    if over.why:
        limits.append(f"the widest gaps have no upper bound: {over.why}")

    wanted = {
        index: crossing.gap_spx // tile_spx * tile_spx
        for index, crossing in enumerate(crossings)
        if crossing is not None and crossing.gap_spx >= tile_spx
    }
    ledges = shortest_ledges(
        motion,
        flights,
        heights_spx,
        wanted,
        deadline=deadline,
        tell=lambda done: tell("exploring shorter ledges", done),
    )

    rows = []
    less = 0
    for index, (height, crossing) in enumerate(zip(heights, crossings, strict=True)):
        windowed = None
        if crossing is not None and not _late(deadline):
            tell("looking for gaps with a window", index / len(heights))
            # what a window takes away is much the same at every height
            less = less or (window_ticks - 1) * crossing.takeoff_spx_per_tick
            guess = Guess(crossing.gap_spx, less)
            windowed = widest_gap_with_window(motion, ledge, heights_spx[index], window_ticks, guess)
            less = less if windowed is None else crossing.gap_spx - windowed
        row = _row(height, crossing, over, index, tile_spx, ledges.get(index), windowed)
        if row is not None:
            rows.append(row)
    if _late(deadline):
        limits.append(f"the time limit of {time_limit_s:g} s was reached")
    step_up = Bound(flights.step_up_spx, None if over.why else over.step_up_spx)
    path = () if crossings[-1] is None else crossings[-1].path_spx
    return ReachTable(ledge, step_up, tuple(rows), tuple(limits), path)


def height_words(height_tiles: int) -> str:
    """Return how much higher or lower a far ledge is: `4 up`, `level`, `8 down`."""
    if height_tiles == 0:
        return "level"
    return f"{abs(height_tiles)} {'up' if height_tiles > 0 else 'down'}"


def _row(
    height: int,
    crossing: Crossing | None,
    over: OverLimits,
    index: int,
    tile_spx: int,
    ledge: Bound | None,
    windowed: int | None,
) -> ReachRow | None:
    """A row, None where it is proved that no landing is so high."""
    most = None if over.why else over.gaps_spx[index]
    if crossing is None:
        return None if most is not None and most < 0 else ReachRow(height, Bound(None, most), *(None,) * 5)
    return ReachRow(
        height,
        Bound(crossing.gap_spx, most),
        crossing.ledge_spx,
        crossing.takeoff_spx_per_tick,
        crossing.gap_spx // tile_spx,
        ledge,
        windowed,
    )


def _late(deadline: float | None) -> bool:
    return deadline is not None and time.monotonic() >= deadline
