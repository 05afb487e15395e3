"""The differences of two movement sheets as `reach-movement-comparison/1`, the same bytes for the same two profiles."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from reach.workshop.sheet import MovementSheet
    from reach.workshop.sheet_changes import FigureChange, SheetChanges

FORMAT = "reach-movement-comparison/1"
DECIMALS = 6


def to_dict(changes: SheetChanges) -> dict[str, Any]:
    """Return the differences as the plain values of their JSON form, in the order in which they are written."""
    old, new = changes.old, changes.new
    return {
        "format": FORMAT,
        "old": _profile(old),
        "new": _profile(new),
        "options": {"tile_px": old.tile_px, "window_ms": old.window_ms},
        "complete": not old.reach.limits and not new.reach.limits,
        "effects": [{"kind": effect.kind.value, "what": effect.what} for effect in changes.effects],
        "figures": [_figure(figure) for figure in changes.figures],
    }


def dump(changes: SheetChanges) -> str:
    """Return the differences as JSON text."""
    return json.dumps(to_dict(changes), ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def _profile(sheet: MovementSheet) -> dict[str, Any]:
    return {"name": sheet.name, "tick_rate_hz": sheet.tick_rate_hz, "sha256": sheet.sha256}


def _figure(figure: FigureChange) -> dict[str, Any]:
    return {
        "kind": figure.kind.value,
        "name": figure.name,
        "unit": figure.unit,
        "old": _rounded(figure.old, figure.unit),
        "new": _rounded(figure.new, figure.unit),
        "relative": None if figure.relative is None else round(figure.relative, DECIMALS),
        "verdict": figure.verdict or None,
        "proved": figure.is_proved,
    }


def _rounded(value: float | None, unit: str) -> float | None:
    """A figure as it is written: lengths are exact, what may not end is rounded."""
    return value if value is None or unit in ("px", "ticks") else round(value, DECIMALS)
