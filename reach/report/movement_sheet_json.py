"""A movement sheet as `reach-movement-sheet/1`: the same bytes for the same profile, options and version.

Lengths in px are exact: a subpixel is 1/65536 px, and so has finitely many decimals.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from reach.workshop.bounds import Bound
    from reach.workshop.ground_speeds import Change, GroundSpeed
    from reach.workshop.jump_arcs import Arc, TakeoffBand
    from reach.workshop.landings import Landing
    from reach.workshop.reach_table import ReachRow
    from reach.workshop.sheet import MovementSheet

FORMAT = "reach-movement-sheet/1"
SPX = 65536
DECIMALS = 6
"""Digits kept of tiles, ms and px a second, which need not end."""


def to_dict(sheet: MovementSheet) -> dict[str, Any]:
    """Return the sheet as the plain values of its JSON form, in the order in which they are written."""
    return _Writer(sheet).write()


def dump(sheet: MovementSheet) -> str:
    """Return the sheet as JSON text."""
    return json.dumps(to_dict(sheet), ensure_ascii=False, allow_nan=False, indent=2) + "\n"


class _Writer:
    """Writes one sheet's figures in its units."""

    def __init__(self, sheet: MovementSheet) -> None:
        self.sheet = sheet

    def write(self) -> dict[str, Any]:
        sheet = self.sheet
        table = sheet.reach
        return {
            "format": FORMAT,
            "movement": {"name": sheet.name, "tick_rate_hz": sheet.tick_rate_hz, "sha256": sheet.sha256},
            "options": {"tile_px": sheet.tile_px, "window_ms": sheet.window_ms},
            "window": self.time(sheet.window_ticks),
            "body": {"width_px": sheet.body_w_spx / SPX, "height_px": sheet.body_h_spx / SPX},
            "terminal_px_per_s": self.speed(sheet.terminal_spx_per_tick),
            "gaps": {
                "near_ledge": self.length(table.ledge_spx),
                "step_up": self.bound(table.step_up),
                "heights": [self.row(row) for row in table.rows],
            },
            "ground": [self.ground(gait) for gait in sheet.ground_speeds],
            "jumps": [self.band(band) for band in sheet.takeoff_bands],
            "landings": [self.landing(landing) for landing in sheet.landings],
            "corridors": {
                "walk": self.length(sheet.headroom.walk_spx),
                "jump_held": [self.length(spx) for spx in sheet.headroom.held_spx],
                "jump_tapped": [self.length(spx) for spx in sheet.headroom.tapped_spx],
            },
            "smallest_hop": self.length(sheet.headroom.smallest_hop_spx),
            "complete": not table.limits,
            "incomplete_why": list(table.limits),
        }

    def length(self, spx: int | None) -> dict[str, float] | None:
        if spx is None:
            return None
        return {"px": spx / SPX, "tiles": round(spx / SPX / self.sheet.tile_px, DECIMALS)}

    def time(self, ticks: int) -> dict[str, float]:
        return {"ticks": ticks, "ms": round(ticks * 1000 / self.sheet.tick_rate_hz, DECIMALS)}

    def speed(self, spx_per_tick: int | None) -> float | None:
        return None if spx_per_tick is None else round(spx_per_tick * self.sheet.tick_rate_hz / SPX, DECIMALS)

    def bound(self, bound: Bound | None) -> dict[str, Any] | None:
        if bound is None:
            return None
        return {
            "at_least": self.length(bound.at_least_spx),
            "at_most": self.length(bound.at_most_spx),
            "exact": bound.is_exact,
        }

    def row(self, row: ReachRow) -> dict[str, Any]:
        return {
            "height_tiles": row.height_tiles,
            "widest": self.bound(row.gap),
            "takeoff_px_per_s": self.speed(row.takeoff_spx_per_tick),
            "ledge_for_widest": self.length(row.full_ledge_spx),
            "whole_tiles": row.whole_tiles,
            "ledge_for_whole_tiles": self.bound(row.ledge),
            "with_window_at_least": self.length(row.gap_with_window_spx),
        }

    def ground(self, gait: GroundSpeed) -> dict[str, Any]:
        return {
            "gait": gait.gait,
            "top_speed_px_per_s": self.speed(gait.top_speed_spx_per_tick),
            "to_top": self.change(gait.to_top),
            "coasting": self.change(gait.coasting),
            "reversing": self.change(gait.reversing),
            "turning": self.change(gait.turning),
        }

    def change(self, change: Change | None) -> dict[str, Any] | None:
        if change is None:
            return None
        return {"time": self.time(change.ticks), "distance": self.length(change.distance_spx)}

    def band(self, band: TakeoffBand) -> dict[str, Any]:
        return {
            "from_px_per_s": self.speed(band.from_spx_per_tick),
            "to_px_per_s": self.speed(band.to_spx_per_tick),
            "measured_at_px_per_s": self.speed(band.takeoff_spx_per_tick),
            "reached_from_the_ground": band.is_reached,
            "held": self.arc(band.held),
            "tapped": self.arc(band.tapped),
            "let_go_before": self.arc(band.buffered),
        }

    def arc(self, arc: Arc | None) -> dict[str, Any] | None:
        if arc is None:
            return None
        return {
            "height": self.length(arc.height_spx),
            "to_apex": self.time(arc.apex_ticks),
            "fall": self.time(arc.fall_ticks),
            "air": self.time(arc.air_ticks),
            "landing_px_per_s": self.speed(arc.landing_speed_spx_per_tick),
        }

    def landing(self, landing: Landing) -> dict[str, Any]:
        return {
            "at": landing.name,
            "speed_px_per_s": self.speed(landing.speed_spx_per_tick),
            "braking": self.length(landing.braking_spx),
            "to_stop_on": self.length(landing.stop_spx),
            "to_stop_on_in_window": self.length(landing.stop_in_window_spx),
            "to_jump_on_from": self.length(landing.jump_spx),
            "to_jump_on_from_in_window": self.length(landing.jump_in_window_spx),
        }
