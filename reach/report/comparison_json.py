"""A comparison as `reach-comparison/1`: the same bytes for the same two sides; one line a change or level."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from reach.comparison.changes import Direction, Kind
from reach.report.json_report import plain

if TYPE_CHECKING:
    from reach.comparison.changes import Change, Comparison, LevelStanding

FORMAT = "reach-comparison/1"


def dump(comparison: Comparison) -> str:
    """Return the comparison as JSON text."""
    parts = {
        "format": _line(FORMAT),
        "product": _line(comparison.product),
        "name": _line(comparison.name),
        "movements": _line(dict(zip(("before", "after"), map(list, comparison.movements), strict=True))),
        "changes": _list(_change(change) for change in comparison.changes),
        "levels": _list(_level(level) for level in comparison.levels),
        "only_before": _line(list(comparison.only_before)),
        "only_after": _line(list(comparison.only_after)),
        "not_compared": _list({"level": level, "why": why} for level, why in comparison.not_compared.items()),
        "remarks": _line(list(comparison.remarks)),
        "summary": _line({direction.value: len(comparison.going(direction)) for direction in Direction}),
    }
    return "{\n" + ",\n".join(f"  {_line(key)}: {text}" for key, text in parts.items()) + "\n}\n"


def _change(change: Change) -> dict[str, Any]:
    return {
        "direction": change.direction.value,
        "kind": change.kind.label,
        "severity": change.kind.severity.value,
        "level": change.level,
        "entrance": change.entrance,
        "place": change.place,
        "tiles": plain(change.tiles),
        "title": change.title,
        "before": plain(change.before),
        "after": plain(change.after),
        "message": change.words,
    }


def _level(level: LevelStanding) -> dict[str, Any]:
    return {
        "id": level.level,
        "movements": dict(zip(("before", "after"), level.movements, strict=True)),
        "changes": {direction.value: level.numbers[direction] for direction in Direction},
        "worse": {kind.label: level.worse[kind] for kind in Kind},
    }


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _list(items: Iterable[Any]) -> str:
    lines = [f"    {_line(item)}" for item in items]
    return "[\n" + ",\n".join(lines) + "\n  ]" if lines else "[]"
