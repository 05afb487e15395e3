"""What was found in a world, in the order to read it in: what is wrong in itself, then what follows from it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reach.findings import Severity
from reach.report.world_table import where_words

if TYPE_CHECKING:
    from reach.findings import Finding
    from reach.world.result import LevelResult, WorldFinding, WorldReport

HEADINGS = {
    (Severity.ERROR, False): "Errors",
    (Severity.WARNING, False): "Warnings",
    (Severity.ERROR, True): "Errors that follow from others",
    (Severity.WARNING, True): "Warnings that follow from others",
}
"""The lists of what is found, by how grave it is and whether it follows from something else."""
MEANT = "Known and meant, not counted"


@dataclass(frozen=True)
class Told:
    """A finding in words: its title, what was found and what to do; of one that is meant, why."""

    title: str
    message: str
    advice: str = ""


def counting(report: WorldReport, severity: Severity, follows: bool) -> list[Told]:
    """Return what counts and is of a severity; what is found in levels, which causes the rest, comes first."""
    told = []
    if not follows:
        for level, finding, entrances in _of_levels(report):
            if finding.severity is severity and finding.accepted is None:
                told.append(Told(_level_title(level, finding, entrances), finding.message, finding.advice))
    for found in report.findings:
        if found.severity is severity and found.follows is follows and found.accepted is None:
            told.append(Told(world_title(found), found.message, found.advice))
    return told


def meant(report: WorldReport) -> list[Told]:
    """Return what the world file and the levels accept, with the reasons."""
    told = [
        Told(_level_title(level, finding, entrances), finding.accepted)
        for level, finding, entrances in _of_levels(report)
        if finding.accepted is not None
    ]
    of_world = [Told(world_title(found), found.accepted) for found in report.findings if found.accepted is not None]
    return told + of_world


def notes_of_world(report: WorldReport) -> list[Told]:
    """Return the notes about the world that follow from nothing else that is found."""
    return [Told(world_title(found), found.message, found.advice) for found in report.findings if _stands_alone(found)]


def other_notes(report: WorldReport) -> Counter[str]:
    """Return how many other notes there are of each rule."""
    of_world: list[WorldFinding | Finding] = [found for found in report.findings if not _stands_alone(found)]
    notes = of_world + [finding for _, finding, _ in _of_levels(report)]
    return Counter(each.rule for each in notes if each.severity is Severity.NOTE and each.accepted is None)


def _stands_alone(found: WorldFinding) -> bool:
    return found.severity is Severity.NOTE and found.accepted is None and not found.follows


def world_title(found: WorldFinding) -> str:
    """Return the rule, and what of the world it is about."""
    where = "/".join(filter(None, (found.level, found.place)))
    return f"{found.rule}{f' of {where}' if where else ''}"


def _of_levels(report: WorldReport) -> Iterable[tuple[LevelResult, Finding, tuple[str, ...]]]:
    return ((level, entry.finding, entry.entrances) for level in report.levels for entry in level.findings)


def _level_title(level: LevelResult, finding: Finding, entrances: tuple[str, ...]) -> str:
    coming = f", from {', '.join(entrances)}" if len(level.outcomes) > 1 else ""
    return f"{level.id}: {finding.rule}{where_words(finding)}{coming}"
