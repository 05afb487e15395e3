"""The sheet of a movement profile: the figures a level designer lays out ground by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reach.errors import InputError, Problem
from reach.options import MOST_TIME_S, MOST_WINDOW_MS, USUAL_WINDOW_MS
from reach.timing import threshold_ticks
from reach.workshop.ground_speeds import GroundSpeed, measure_ground_speeds
from reach.workshop.jump_arcs import Arc, TakeoffBand, measure_takeoff_bands
from reach.workshop.landings import Landing, measure_landings
from reach.workshop.reach_table import ReachTable, Tell, make_reach_table

if TYPE_CHECKING:
    from reach.movement import Movement

SPX = 65536

LEAST_TILE_PX = 4
MOST_TILE_PX = 256
"""The sides that a level's tiles may have."""


@dataclass(frozen=True)
class SheetOptions:
    """Options of a sheet.

    `tile_px` is the side of a tile, for the heights of the reach table and everything given in tiles. `window_ms` is
    the window that a person is given, at most MOST_WINDOW_MS. After `time_limit_s`, explorations and the search for
    windows stop, and the sheet's `reach.limits` says so.
    """

    tile_px: int = 16
    window_ms: float = USUAL_WINDOW_MS
    time_limit_s: float | None = None

    def __post_init__(self) -> None:
        """Refuse numbers that mean nothing, all at once."""
        problems = []
        if not LEAST_TILE_PX <= self.tile_px <= MOST_TILE_PX:
            allowed = f"a whole number from {LEAST_TILE_PX} to {MOST_TILE_PX}"
            problems.append(Problem("<options>", "tile_px", repr(self.tile_px), allowed))
        if not 0 <= self.window_ms <= MOST_WINDOW_MS:
            allowed = f"a number from 0 to {MOST_WINDOW_MS}"
            problems.append(Problem("<options>", "window_ms", repr(self.window_ms), allowed))
        if self.time_limit_s is not None and not 0 < self.time_limit_s <= MOST_TIME_S:
            allowed = f"a number greater than 0 and at most {MOST_TIME_S}"
            problems.append(Problem("<options>", "time_limit_s", repr(self.time_limit_s), allowed))
        if problems:
            raise InputError(problems)


@dataclass(frozen=True)
class Headroom:
    """The lowest corridors, spx: to walk through, and for each takeoff band to jump in without a bump.

    `smallest_hop_spx` is the height of the lowest jump from the ground that walking or running can take.
    """

    walk_spx: int
    held_spx: tuple[int | None, ...]
    tapped_spx: tuple[int | None, ...]
    smallest_hop_spx: int | None


@dataclass(frozen=True)
class MovementSheet:
    """The figures of one profile; lengths in spx (65536 to a px), speeds in spx a tick.

    `window_ticks` is the least number of ticks that lasts at least `window_ms`: averages over players are all that such
    a figure can stand for, and it promises no accessibility.
    """

    name: str
    sha256: str
    tick_rate_hz: int
    tile_px: int
    window_ms: float
    window_ticks: int
    body_w_spx: int
    body_h_spx: int
    terminal_spx_per_tick: int
    ground_speeds: tuple[GroundSpeed, ...]
    takeoff_bands: tuple[TakeoffBand, ...]
    reach: ReachTable
    landings: tuple[Landing, ...]
    headroom: Headroom


def make_sheet(
    movement: Movement,
    options: SheetOptions = SheetOptions(),
    tell: Tell = lambda stage, done: None,
) -> MovementSheet:
    """Return the sheet of a movement profile.

    Parameters
    ----------
    movement : Movement
    options : SheetOptions
    tell : callable, optional
        Told what is being done.

    Returns
    -------
    MovementSheet
    """
    motion = movement.motion
    window_ticks = threshold_ticks(options.window_ms, movement.tick_rate_hz)
    bands = measure_takeoff_bands(motion)
    return MovementSheet(
        movement.name,
        movement.sha256,
        movement.tick_rate_hz,
        options.tile_px,
        options.window_ms,
        window_ticks,
        motion.body_w,
        motion.body_h,
        motion.terminal,
        measure_ground_speeds(motion),
        bands,
        make_reach_table(
            motion, bands, options.tile_px * SPX, window_ticks, time_limit_s=options.time_limit_s, tell=tell
        ),
        measure_landings(motion, window_ticks),
        _headroom(motion.body_h, bands),
    )


def _headroom(body_h: int, bands: tuple[TakeoffBand, ...]) -> Headroom:
    """The body's height, and with each jump on top of it."""
    hops = [arc.height_spx for band in bands if band.is_reached for arc in (band.tapped, band.buffered) if arc]
    return Headroom(
        body_h,
        tuple(_with_jump(body_h, band.held) for band in bands),
        tuple(_with_jump(body_h, band.tapped) for band in bands),
        min(hops, default=None),
    )


def _with_jump(body_h: int, arc: Arc | None) -> int | None:
    return None if arc is None else body_h + arc.height_spx
