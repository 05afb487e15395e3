"""What was found in a level, put together over its entrances: each thing once, and what another entrance settles."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from reach.findings import Severity, Verdict
from reach.world.result import LevelFinding

if TYPE_CHECKING:
    from reach.findings import Finding, Report, Tile
    from reach.level import Level
    from reach.world.result import Outcome

FROM_EVERY_ENTRANCE = ("stale-accept",)
"""Rules that say what is not found: that counts only where it is so from every entrance."""

Key = tuple[str, "Tile | None", int]
"""A rule, a tile, and which of that rule's findings there it is in its report."""


def gathered(
    level: Level | None, outcomes: Sequence[Outcome], entered: Mapping[str, Verdict]
) -> tuple[LevelFinding, ...]:
    """Return what the jobs of one level found, sorted as in a report.

    The same rule at the same tile is the same thing, whatever the entrance that it is found from. That a place is not
    reached, or not decided, from one entrance is a note where a script reaches it from another that can be entered,
    unless the place ends the level and no other ending is reached from the first: then the player is stuck there.

    Parameters
    ----------
    level : Level or None
    outcomes : sequence of Outcome
        In the order of the level's places.
    entered : mapping of str to Verdict
        By entrance, whether a player can begin there.
    """
    if level is None:
        return ()
    endings = {place.id for place in level.places if place.ends_level}
    reports = {one.job.entrance: one.report for one in outcomes if one.report is not None}
    reached = {entrance: _reached(report) for entrance, report in reports.items()}
    found: dict[Key, tuple[Finding, list[str]]] = {}
    for entrance, report in reports.items():
        numbers: Counter[tuple[str, Tile | None]] = Counter()
        for finding in report.findings:
            key = (finding.rule, finding.at, numbers[finding.rule, finding.at])
            numbers[finding.rule, finding.at] += 1
            place = finding.details.get("place")
            others = [
                other
                for other, places in reached.items()
                if place in places and entered.get(other) is Verdict.REACHABLE and other != entrance
            ]
            if others and not (place in endings and not (endings & reached[entrance])):
                finding = _settled(finding, str(place), entrance, others[0])
            known = found.get(key)
            if known is None:
                found[key] = (finding, [entrance])
            elif known[0].severity.rank < finding.severity.rank:
                found[key] = (finding, [entrance, *known[1]])
            else:
                known[1].append(entrance)
    entries = [
        LevelFinding(finding, tuple(entrances))
        for finding, entrances in found.values()
        if finding.rule not in FROM_EVERY_ENTRANCE or len(entrances) == len(outcomes)
    ]
    return tuple(sorted(entries, key=_order))


def _reached(report: Report) -> set[str]:
    return {place.id for place in report.places if place.verdict is Verdict.REACHABLE}


def _settled(finding: Finding, place: str, entrance: str, other: str) -> Finding:
    if finding.severity is Severity.NOTE or finding.details.get("must_be") == "unreachable":
        return finding
    message = f"Beginning at '{entrance}': {finding.message} Beginning at '{other}', a script reaches it."
    return replace(finding, severity=Severity.NOTE, message=message, advice="")


def _order(entry: LevelFinding) -> tuple[int, str, int, int, str]:
    finding = entry.finding
    column, row = finding.at or (-1, -1)
    return -finding.severity.rank, finding.rule, row, column, finding.message
