"""A movement profile fitted to a recording."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from reach.errors import InputError, Problem
from reach.movement import SPX_PER_PX, movement_from_dict
from reach.workshop.fit.aids import fit_aids, mark_first_tick_jumps
from reach.workshop.fit.exact_air import fit_air
from reach.workshop.fit.exact_flight import fit_flights, settle_launches
from reach.workshop.fit.exact_ground import fit_ground
from reach.workshop.fit.outcome import Estimate, Found, Missing, Replayed, Residual, Segment
from reach.workshop.fit.outliers import line_of, without_strays
from reach.workshop.fit.phases import rounded_segments, segments
from reach.workshop.fit.replay import replay
from reach.workshop.fit.rounded_aids import fit_rounded_aids
from reach.workshop.fit.rounded_air import fit_rounded_air, takeoffs_of
from reach.workshop.fit.rounded_flight import Speeds, fit_rounded_flights
from reach.workshop.fit.rounded_ground import fit_rounded_ground
from reach.workshop.fit.rounded_spans import Span, spans_of
from reach.workshop.fit.rounded_track import label_rounded
from reach.workshop.fit.stretches import Stretch, cut_into_stretches, label
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
    cleaned, strays = without_strays(recording)
    stretches = cut_into_stretches(cleaned)
    found = Found()
    fit = _fit_exact if recording.exact else _fit_rounded
    replayed = fit(recording, stretches, found, start)
    replayed = replace(
        replayed,
        judged=replayed.judged + len(strays),
        residuals=tuple(sorted((*replayed.residuals, *strays), key=lambda each: (each.ref, each.axis))),
    )
    return Fit(
        recording,
        rate,
        found,
        tuple(missing(found, recording)),
        tuple(
            segments(stretches, found)
            if recording.exact
            else rounded_segments(stretches, spans_of_all(stretches, recording))
        ),
        replayed,
        cleaned.rows - sum(stretch.rows for stretch in stretches),
    )


def _fit_exact(recording: Recording, stretches: list[Stretch], found: Found, start: Movement | None) -> Replayed:
    """Add what exact positions tell, and hold it against them."""
    for stretch in stretches:
        label(stretch)
    found.counts["ground.run"] = _ever_runs(stretches)
    fit_ground(stretches, found)
    fit_air(stretches, found)
    fit_flights(stretches, found)
    assumed = start is not None and bool(start.motion.launch_tick_gravity)
    settle_launches(found, assumed)
    mark_first_tick_jumps(stretches, motions_of(found, assumed, recording.origin))
    fit_aids(stretches, found)
    return replay(recording, stretches, motions_of(found, assumed, recording.origin))


def _fit_rounded(recording: Recording, stretches: list[Stretch], found: Found, start: Movement | None) -> Replayed:
    """Add what rounded positions tell, as intervals; how far rows lie from them comes with the intervals."""
    rounding_px = float(recording.rounding_px)
    for stretch in stretches:
        label_rounded(stretch, rounding_px * SPX_PER_PX)
    found.counts["ground.run"] = _ever_runs(stretches)
    spans = spans_of_all(stretches, recording)
    shape = _shape(start)
    fit_rounded_ground(spans, rounding_px, found)
    fit_rounded_flights(stretches, spans, rounding_px, found, [edge for (edge,) in shape.get("jump.bands", [])])
    takeoffs = takeoffs_of(spans, Speeds(spans).takeoff)
    fit_rounded_air(spans, takeoffs, rounding_px, found, shape)
    settle_launches(found, start is not None and bool(start.motion.launch_tick_gravity))
    fit_rounded_aids(stretches, spans, rounding_px, found)
    rows = tuple(sorted(set(found.rows)))
    residuals = [Residual(ref, line_of(recording, ref), axis, off) for ref, axis, off in sorted(set(found.wrong))]
    return Replayed(len(rows) + len(residuals), 0, tuple(residuals), rows)


def spans_of_all(stretches: list[Stretch], recording: Recording) -> list[Span]:
    """The spans of all stretches of a rounded recording, in its order."""
    return [span for stretch in stretches for span in spans_of(stretch, float(recording.rounding_px))]


def _ever_runs(stretches: list[Stretch]) -> int:
    return int(any((stretch.run[2:] & (stretch.rule[2:] == 1)).any() for stretch in stretches))


def _shape(start: Movement | None) -> dict[str, list[tuple[float, ...]]]:
    """The thresholds of a profile's lists of bands, px a tick."""
    if start is None:
        return {}
    motion = start.motion
    columns = {
        "jump.bands": (motion.jump_from,),
        "air.acceleration": (motion.air_accel_from,),
        "air.reverse_deceleration": (motion.air_reverse_from_speed, motion.air_reverse_from_takeoff),
        "air.top_speed": (motion.air_cap_from,),
    }
    return {
        path: [tuple(int(value) / SPX_PER_PX for value in edge) for edge in zip(*thresholds, strict=True)]
        for path, thresholds in columns.items()
    }


def motions_of(found: Found, launch_tick_gravity: bool, origin: str) -> list[Motion]:
    """The fitted profile twice, what was not found filled in with very small and with great numbers."""
    body = {"width_px": 1, "height_px": 1}
    motions = []
    for filled in (1, 32):

        def fill(path: str, number: int = filled) -> Any:
            return number

        data = profile_data(found, "fitted", None, body, fill)
        data["jump"].setdefault("launch_tick_gravity", launch_tick_gravity)
        try:
            motions.append(movement_from_dict(data).motion)
        except InputError:
            found_out = "positions that contradict each other"
            allowed = "a character's own exact positions, or --rounded-px with what they were rounded to"
            raise InputError([Problem(origin, "", found_out, allowed)]) from None
    return motions
