"""A profile made from design goals, for people: what was asked, what the simulator gives, and what had to give."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from reach.movement import SPX_PER_PX, decimal_text
from reach.workshop.design_goals import FIELDS, OPTIONS

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


def to_text(design: Design) -> str:
    """Return a table of the goals, asked and got, and what gave way to what."""
    rows = [("goal", "asked", "got")]
    rows += [(NAMES[name], _asked(design, name), _got(design, name)) for name in NAMES]
    widths = [max(len(row[column]) for row in rows) for column in range(3)]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    for gave in design.gave_way:
        to = f"gave way to {OPTIONS[gave.to]}" if gave.to else "is not met"
        lines += ["", f"{OPTIONS[gave.goal]} {to}: {gave.why}"]
    lines += ["", "Got is what the simulator gives; - was not asked and is a default or follows from the rest."]
    lines += ["The gap is crossed to the last subpixel: leave players room."]
    return "\n".join(lines) + "\n"


def _asked(design: Design, name: str) -> str:
    value = getattr(design.goals, FIELDS[name])
    if value is None:
        return "-"
    if isinstance(value, int):
        return str(value)
    return f"{decimal_text(value)} {'px/s' if name == 'terminal' else 'tiles'}"


def _got(design: Design, name: str) -> str:
    measured, goals = design.measured, design.goals
    if name in ("apex", "air", "top", "stop"):
        ticks = getattr(measured, f"{name}_ticks")
        return f"{ticks} ({ticks * 1000 / goals.tick_rate_hz:.0f} ms)"
    if name == "terminal":
        px_per_s = Fraction(measured.terminal_spx * goals.tick_rate_hz, SPX_PER_PX)
        return f"{float(px_per_s):.3f} px/s ({float(px_per_s / goals.tile_px):.2f} tiles/s)"
    px = Fraction(getattr(measured, f"{name}_spx"), SPX_PER_PX)
    return f"{float(px / goals.tile_px):.3f} tiles ({float(px):.2f} px)"
