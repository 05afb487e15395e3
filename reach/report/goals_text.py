"""A profile made from design goals, for people: what was asked, what the simulator gives, and what had to give."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from reach.movement import SPX_PER_PX, decimal_text

if TYPE_CHECKING:
    from reach.workshop.goal_solver import Design

NAMES = {
    "jump": "jump height",
    "apex": "ticks to the apex",
    "air": "ticks in the air",
    "hop": "least hop",
    "terminal": "terminal speed",
    "gap": "gap at full run",
    "top": "ticks to top speed",
    "stop": "ticks to stop",
}
"""The goals, those that are kept first where goals contradict first."""
STOPS_RISE = (
    "Letting go of the button stops the rise at once: the fall is slower than the rise, so that after a softer release "
    "the body would rise higher than with the button held (with a low terminal speed instead, a release can be soft)."
)


def to_text(design: Design) -> str:
    """Return a table of the goals, asked and got, and what gave way to what."""
    rows = [("goal", "asked", "got")]
    for name in NAMES:
        rows.append((NAMES[name], _asked(design, name), _got(design, name)))
        if name == "gap":
            rows.append(("top speed", "-", _speed(design, design.movement.motion.walk_cap)))
    widths = [max(len(row[column]) for row in rows) for column in range(3)]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    for gave in design.gave_way:
        option = design.goals.option
        to = f"gave way to {option(gave.to)}" if gave.to else "is not met"
        lines += ["", f"{option(gave.goal)} {to}: {gave.why}"]
    if design.stops_rise:
        lines += ["", STOPS_RISE]
    lines += ["", "Got is what the simulator gives; - was not asked and is a default or follows from the rest."]
    lines += ["The gap is crossed to the last subpixel: leave players room."]
    return "\n".join(lines) + "\n"


def _asked(design: Design, name: str) -> str:
    goals = design.goals
    value = goals.asked(name)
    if value is None:
        return "-"
    if isinstance(value, int):
        return str(value)
    if name == "terminal" and goals.terminal_tiles_per_s is not None:
        return f"{decimal_text(goals.terminal_tiles_per_s)} tiles/s"
    return f"{decimal_text(value)} {'px/s' if name == 'terminal' else 'tiles'}"


def _got(design: Design, name: str) -> str:
    measured, goals = design.measured, design.goals
    if name in ("apex", "air", "top", "stop"):
        ticks = getattr(measured, f"{name}_ticks")
        return f"{ticks} ({ticks * 1000 / goals.tick_rate_hz:.0f} ms)"
    if name == "terminal":
        return _speed(design, measured.terminal_spx)
    px = Fraction(getattr(measured, f"{name}_spx"), SPX_PER_PX)
    return f"{float(px / goals.tile_px):.3f} tiles ({float(px):.2f} px)"


def _speed(design: Design, spx_per_tick: int) -> str:
    px_per_s = Fraction(spx_per_tick * design.goals.tick_rate_hz, SPX_PER_PX)
    return f"{float(px_per_s):.3f} px/s ({float(px_per_s / design.goals.tile_px):.2f} tiles/s)"
