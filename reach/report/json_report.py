"""The report as `reach-report/1`: the same bytes for the same level, movement, options and version.

One line holds one place, move or finding, or the tiles of one row of the map, so that reports compare line by line.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from reach.findings import Severity, Verdict

if TYPE_CHECKING:
    from reach.findings import Finding, Move, PlaceVerdict, Report, Tile

FORMAT = "reach-report/1"
DECIMALS = 6
"""Digits kept of a number that is not whole: beyond them machines may differ."""


def to_dict(report: Report) -> dict[str, Any]:
    """Return the report as the plain values of its JSON form, in the order in which they are written."""
    return {
        "format": FORMAT,
        "product": report.product,
        "level": {
            "name": report.level_name,
            "columns": report.columns,
            "rows": report.rows,
            "sha256": report.level_sha256,
        },
        "movement": {
            "name": report.movement_name,
            "tick_rate_hz": report.tick_rate_hz,
            "sha256": report.movement_sha256,
        },
        "from": report.from_place,
        "options": plain(report.options),
        "complete": report.complete,
        "incomplete_why": report.incomplete_why,
        "places": [_place(place) for place in sorted(report.places, key=lambda place: (*place.at[::-1], place.id))],
        "tiles": {verdict.value: plain(_in_reading_order(report.tiles.get(verdict, ()))) for verdict in Verdict},
        "moves": [_move(move) for move in report.moves],
        "route": list(report.route),
        "route_to": report.route_to,
        "route_easiest": report.route_easiest,
        "findings": [finding_to_dict(finding) for finding in report.findings],
        "summary": _summary(report),
    }


def dump(report: Report) -> str:
    """Return the report as JSON text."""
    parts = [f"  {_compact(key)}: {_laid_out(key, value)}" for key, value in to_dict(report).items()]
    return "{\n" + ",\n".join(parts) + "\n}\n"


def _place(place: PlaceVerdict) -> dict[str, Any]:
    return {
        "id": place.id,
        "kind": place.kind,
        "at": list(place.at),
        "required": place.required,
        "must_be": place.must_be,
        "verdict": place.verdict.value,
        "ticks": place.ticks,
    }


def _move(move: Move) -> dict[str, Any]:
    return {
        "from": list(move.source),
        "to": list(move.target),
        "kind": move.kind.value,
        "air_ticks": move.air_ticks,
        "window_ticks": move.window_ticks,
        "window_ms": plain(move.window_ms),
        "window_open": move.window_open,
        "chance": plain(move.chance),
        "landing_room_px": plain(move.landing_room_px),
        "needs_speed": move.needs_speed,
        "passing_only": move.passing_only,
    }


def finding_to_dict(finding: Finding) -> dict[str, Any]:
    """Return a finding as the plain values of its JSON form."""
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "at": None if finding.at is None else list(finding.at),
        "message": finding.message,
        "advice": finding.advice,
        "accepted": finding.accepted,
        "details": plain(finding.details),
    }


def _summary(report: Report) -> dict[str, Any]:
    return {
        "findings": {severity.value: report.count(severity) for severity in Severity},
        "accepted": sum(finding.accepted is not None for finding in report.findings),
        "places": {verdict.value: sum(place.verdict is verdict for place in report.places) for verdict in Verdict},
        "tiles": {verdict.value: len(report.tiles.get(verdict, ())) for verdict in Verdict},
        "has_ending": report.has_ending,
    }


def _in_reading_order(tiles: Iterable[Tile]) -> list[Tile]:
    return sorted(tiles, key=lambda tile: (tile[1], tile[0]))


def plain(value: Any) -> Any:
    """Return a value with mappings sorted by key, tuples as lists and numbers rounded."""
    if isinstance(value, Mapping):
        return {key: plain(value[key]) for key in sorted(value)}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"a report cannot hold the number {value}")
        return round(value, DECIMALS) + 0.0
    return value


def _compact(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _laid_out(key: str, value: Any) -> str:
    if key == "tiles":
        parts = [f"    {_compact(verdict)}: {_tile_rows(tiles)}" for verdict, tiles in value.items()]
        return "{\n" + ",\n".join(parts) + "\n  }"
    if key in ("places", "moves", "findings") and value:
        return "[\n" + ",\n".join(f"    {_compact(item)}" for item in value) + "\n  ]"
    return _compact(value)


def _tile_rows(tiles: Sequence[Sequence[int]]) -> str:
    if not tiles:
        return "[]"
    rows = [", ".join(_compact(tile) for tile in row) for _, row in groupby(tiles, key=lambda tile: tile[1])]
    return "[\n" + ",\n".join(f"      {row}" for row in rows) + "\n    ]"
