"""The report on a world as `reach-world-report/1`: the same bytes for the same files, options and version.

One line holds one link or finding, so that reports compare line by line. The report on a level from one entrance is
laid out as `reach check` writes it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from reach.findings import Severity, Verdict
from reach.report import json_report

if TYPE_CHECKING:
    from reach.world.result import LevelFinding, LevelResult, Outcome, Spot, WorldFinding, WorldReport

FORMAT = "reach-world-report/1"


def dump(report: WorldReport) -> str:
    """Return the report as JSON text."""
    parts = {
        "format": _line(FORMAT),
        "product": _line(report.product),
        "name": _line(report.name),
        "linked": _line(report.linked),
        "start": _line(_spot(report.start)),
        "must_reach": _line([_spot(spot) for spot in report.must_reach]),
        "options": _line(json_report.plain(report.options)),
        "changed_since": _line(report.changed_since or None),
        "complete": _line(report.complete),
        "levels": _list(_level(level) for level in report.levels),
        "links": _list(
            _line({"from": _spot(link.source), "to": _spot(link.target), "verdict": link.verdict.value})
            for link in report.links
        ),
        "findings": _list(_line(_world_finding(finding)) for finding in report.findings),
        "summary": _line(_summary(report)),
    }
    return _object(parts) + "\n"


def _level(level: LevelResult) -> str:
    parts = {
        "id": _line(level.id),
        "file": _line(level.file),
        "name": _line(level.level_name),
        "movement": _line(level.movement_name),
        "left_out": _line(level.left_out),
        "entered": _line(level.verdict.value),
        "why": _line(level.why),
        "findings": _list(_line(_level_finding(entry)) for entry in level.findings),
        "entrances": _list(_entrance(outcome) for outcome in level.outcomes),
    }
    return _object(parts)


def _entrance(outcome: Outcome) -> str:
    parts = {
        "entrance": _line(outcome.job.entrance),
        "state": _line(outcome.state.value),
        "why": _line(outcome.why),
        "report": "null" if outcome.report is None else json_report.dump(outcome.report).rstrip(),
    }
    return _object(parts)


def _level_finding(entry: LevelFinding) -> dict[str, Any]:
    return {**json_report.finding_to_dict(entry.finding), "entrances": list(entry.entrances)}


def _world_finding(finding: WorldFinding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "level": finding.level,
        "place": finding.place,
        "message": finding.message,
        "advice": finding.advice,
        "accepted": finding.accepted,
        "details": json_report.plain(finding.details),
    }


def _summary(report: WorldReport) -> dict[str, Any]:
    return {
        "findings": {severity.value: report.count(severity) for severity in Severity},
        "levels": {verdict.value: sum(level.verdict is verdict for level in report.levels) for verdict in Verdict},
        "links": {verdict.value: sum(link.verdict is verdict for link in report.links) for verdict in Verdict},
        "failed": len(report.failed),
    }


def _spot(spot: Spot | None) -> str | None:
    return None if spot is None else "/".join(spot)


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _object(parts: dict[str, str]) -> str:
    return "{\n" + ",\n".join(f"  {_line(key)}: {_indented(text)}" for key, text in parts.items()) + "\n}"


def _list(items: Iterable[str]) -> str:
    lines = [f"  {_indented(item)}" for item in items]
    return "[\n" + ",\n".join(lines) + "\n]" if lines else "[]"


def _indented(text: str) -> str:
    return text.replace("\n", "\n  ")
