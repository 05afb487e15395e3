"""The levels of a world as a table: one row each, worst first, with where to look first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from reach.findings import Severity, Verdict
from reach.wording import tile_words

if TYPE_CHECKING:
    from reach.findings import Finding
    from reach.world.result import LevelResult, WorldReport

BY_WEIGHT = (Severity.ERROR, Severity.WARNING, Severity.NOTE)
"""The severities, gravest first."""


class Standing(Enum):
    """How a level stands: the sign and words that say so."""

    FAILED = "x failed"
    NOT_ENTERED = "x not entered"
    ERRORS = "x errors"
    UNDECIDED = "? undecided"
    NOT_FINISHED = "? not finished"
    WARNINGS = "! warnings"
    GOOD = "+ good"
    NOT_GRAVE = "+ not grave"
    """Of a report on a part of a world: from where nobody comes, more may be reached than from where they do."""
    LEFT_OUT = "- not checked"


@dataclass(frozen=True)
class Row:
    """One level's row: how it stands, its id, the counts of `BY_WEIGHT`, and its gravest error or warning, if any.

    `accepted` counts what is known and meant.
    """

    standing: Standing
    level: str
    counts: tuple[int, ...]
    first: str
    accepted: int = 0

    def cells(self, with_accepted: bool) -> tuple[str, ...]:
        """Return the row's text, a cell for each of `titles`."""
        counts = (*self.counts, self.accepted) if with_accepted else self.counts
        return (self.standing.value, self.level, *(str(number) if number else "-" for number in counts), self.first)


def titles(with_accepted: bool) -> tuple[str, ...]:
    """Return the titles of the columns; that of what is accepted is there only where anything is."""
    return ("", "level", "errors", "warnings", "notes", *(["accepted"] if with_accepted else []), "look first at")


def with_accepted(table: Sequence[Row]) -> bool:
    """Tell whether a table needs a column for what is accepted."""
    return any(row.accepted for row in table)


def rows(report: WorldReport) -> list[Row]:
    """Return a row for each level that was checked, worst first; those as bad stay in the world's order."""
    checked = (level for level in report.levels if not level.left_out)
    levels = sorted(checked, key=lambda level: _weight(report, level))
    return [
        Row(standing_of(report, each), each.id, _counts(report, each), _first(report, each), _accepted(report, each))
        for each in levels
    ]


def where_words(finding: Finding) -> str:
    """Return ` on tile 6,1`, or nothing for a finding about a whole level."""
    return "" if finding.at is None else f" on {tile_words(finding.at)}"


def _weight(report: WorldReport, level: LevelResult) -> tuple[int, ...]:
    return (not level.failed, *(-number for number in _counts(report, level)))


def _counts(report: WorldReport, level: LevelResult) -> tuple[int, ...]:
    return tuple(report.count_of(level.id, severity) for severity in BY_WEIGHT)


def _accepted(report: WorldReport, level: LevelResult) -> int:
    of_world = sum(found.level == level.id and found.accepted is not None for found in report.findings)
    return of_world + sum(entry.finding.accepted is not None for entry in level.findings)


def standing_of(report: WorldReport, level: LevelResult) -> Standing:
    """Return how a level of a report stands: the gravest that is true of it."""
    if level.left_out:
        return Standing.LEFT_OUT
    if level.failed:
        return Standing.FAILED
    if level.verdict is Verdict.UNREACHABLE:
        return Standing.NOT_ENTERED
    if report.count_of(level.id, Severity.ERROR):
        return Standing.ERRORS
    if level.verdict is Verdict.UNDECIDED and not report.changed_since:
        return Standing.UNDECIDED
    if not level.complete:
        return Standing.NOT_FINISHED
    if report.count_of(level.id, Severity.WARNING):
        return Standing.WARNINGS
    return Standing.NOT_GRAVE if report.changed_since else Standing.GOOD


def _first(report: WorldReport, level: LevelResult) -> str:
    """Name the gravest error or warning about a level, those of the world first but for what follows from others."""
    if level.unchecked:
        return "not checked: see below"
    if level.failed:
        return "see below"
    found: list[tuple[int, bool, str]] = []
    for each in report.findings:
        if each.level == level.id and each.accepted is None:
            found.append(
                (each.severity.rank, not each.follows, f"{each.rule}{f' of {each.place}' if each.place else ''}")
            )
    for entry in level.findings:
        if entry.finding.accepted is None:
            what = f"{entry.finding.rule}{where_words(entry.finding)}"
            found.append((entry.finding.severity.rank, True, what))
    grave = [one for one in found if one[0] >= Severity.WARNING.rank]
    return max(grave, key=lambda one: one[:2])[2] if grave else ""
