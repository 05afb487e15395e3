"""A movement profile fitted to a recording."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from reach.errors import InputError, Problem
from reach.movement import movement_from_dict
from reach.workshop.fit.aids import fit_aids, mark_first_tick_jumps
from reach.workshop.fit.exact_air import fit_air
from reach.workshop.fit.exact_flight import fit_flights, settle_launches
from reach.workshop.fit.exact_ground import fit_ground
from reach.workshop.fit.outcome import Estimate, Found, Missing, Replayed, Segment
from reach.workshop.fit.phases import segments
from reach.workshop.fit.replay import replay
from reach.workshop.fit.stretches import cut_into_stretches, label
from reach.workshop.fit.wanted import missing
from reach.workshop.fit.written_profile import profile_data
from reach.workshop.recording import Recording

if TYPE_CHECKING:
    from reach.kernels.params import Motion
    from reach.movement import Movement


@dataclass(frozen=True, eq=False)
class Fit:
    """What a recording tells: estimates in a movement file's order, what is missing, and how well it all agrees.

    `tick_rate_hz` is None where nothing tells it; then numbers count per tick.
    """

    recording: Recording
    tick_rate_hz: int | None
    found: Found
    missing: tuple[Missing, ...]
    segments: tuple[Segment, ...]
    replayed: Replayed
    unused_rows: int

    @property
    def estimates(self) -> tuple[Estimate, ...]:
        """The estimates in a movement file's order."""
        return tuple(sorted(self.found.estimates.values(), key=lambda estimate: _order(estimate.path)))


_SECTIONS = ("ground.walk", "ground.run", "ground.", "jump.bands", "jump.", "fall.", "air.", "help.")


def _order(path: str) -> tuple[int, str]:
    return next(n for n, section in enumerate(_SECTIONS) if path.startswith(section)), path


def fit_recording(recording: Recording, start: Movement | None = None, tick_rate_hz: int | None = None) -> Fit:
    """Return what a recording tells of its character's movement profile.

    Parameters
    ----------
    recording : Recording
    start : Movement, optional
        A profile to start from: its tick rate, and how its bands are split. No estimate is taken from it.
    tick_rate_hz : int, optional
        Ticks a second; by default those that the recording's times were read with, or the start's.
    """
    rate = tick_rate_hz or recording.tick_rate_hz or (start.tick_rate_hz if start is not None else None)
    if not recording.exact:
        found_out = f"positions {recording.rounding_said}"
        raise InputError([Problem(recording.origin, "", found_out, "exact positions")])
    stretches = cut_into_stretches(recording)
    found = Found()
    for stretch in stretches:
        label(stretch)
    found.counts["ground.run"] = int(any((stretch.run[2:] & (stretch.rule[2:] == 1)).any() for stretch in stretches))
    fit_ground(stretches, found)
    fit_air(stretches, found)
    fit_flights(stretches, found)
    assumed = start is not None and bool(start.motion.launch_tick_gravity)
    settle_launches(found, assumed)
    mark_first_tick_jumps(stretches, motions_of(found, assumed))
    fit_aids(stretches, found)
    replayed = replay(recording, stretches, motions_of(found, assumed))
    return Fit(
        recording,
        rate,
        found,
        tuple(missing(found, recording.buttons)),
        tuple(segments(stretches, found)),
        replayed,
        recording.rows - sum(stretch.rows for stretch in stretches),
    )


def motions_of(found: Found, launch_tick_gravity: bool) -> list[Motion]:
    """The fitted profile twice, what was not found filled in with very small and with great numbers."""
    body = {"width_px": 1, "height_px": 1}
    motions = []
    for filled in (1, 32):

        def fill(path: str, number: int = filled) -> Any:
            return number

        data = profile_data(found, "fitted", None, body, fill)
        data["jump"].setdefault("launch_tick_gravity", launch_tick_gravity)
        motions.append(movement_from_dict(data).motion)
    return motions
