"""What a run over a world found out: the checks of every level from every entrance, the links, and the findings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, Any

from reach.findings import Verdict

if TYPE_CHECKING:
    from reach.findings import Finding, Report, Severity

Spot = tuple[str, str]
"""A place of a world as (level id, place id)."""


@dataclass(frozen=True)
class Job:
    """One check to run: a level, as its id in the world, from one of its entrances.

    `entrance` is a place's id; "start" has been resolved to the id of the start, where the level could be read. With
    `without`, the id of another place, it is a question beside: what can be reached without touching that place, as in
    the same level where touching it ends the level.
    """

    level: str
    entrance: str
    without: str = ""


class State(StrEnum):
    """How a job ended."""

    CHECKED = "checked"
    """It has a report, which may be incomplete where a limit was hit."""
    FAILED = "failed"
    """It has none: a broken file, a body that cannot be there, an internal error, a worker that died."""


@dataclass(frozen=True)
class Outcome:
    """What became of one job. `why` is one sentence where it failed; `cached` is no part of any output that is kept."""

    job: Job
    state: State
    report: Report | None
    why: str = ""
    cached: bool = False


@dataclass(frozen=True)
class LinkVerdict:
    """One link, one way, and whether its exit can be reached from any entrance that can be entered."""

    source: Spot
    target: Spot
    verdict: Verdict


@dataclass(frozen=True)
class LevelFinding:
    """One thing found in a level, once whatever the number of entrances from which it is found.

    `finding` is that of the first of the `entrances`. Where another entrance settles it, it is a note and says so.
    """

    finding: Finding
    entrances: tuple[str, ...]


@dataclass(frozen=True)
class WorldFinding:
    """One thing found in the world as a whole: as `Finding`, but about a level or a place of it instead of a tile.

    `accepted` holds the world file's reason where the finding is known and meant.
    """

    rule: str
    severity: Severity
    level: str | None
    place: str | None
    message: str
    advice: str = ""
    details: Mapping[str, Any] = field(default_factory=dict)
    accepted: str | None = None

    @property
    def undecided(self) -> bool:
        """Whether it says that something could not be decided, as `Finding.undecided`."""
        return self.details.get("verdict") == Verdict.UNDECIDED

    @property
    def follows(self) -> bool:
        """Whether it follows from something else that is wrong, which `details` names under `because`."""
        return bool(self.details.get("because"))


@dataclass(frozen=True)
class LevelResult:
    """What was found out about one level of a world.

    `file` is the level's file as the world file names it, `why` what is wrong with it ("" if it could be read) and
    `verdict` whether a player can enter the level. `outcomes` are those of its jobs, in the order of the level's
    places; `findings` what they found, each thing once. Of a report on a part of the world: `left_out` tells that
    the level was not checked, since it has not changed, and `verdict` is always undecided.
    """

    id: str
    file: str
    level_name: str
    movement_name: str
    verdict: Verdict
    outcomes: tuple[Outcome, ...]
    findings: tuple[LevelFinding, ...]
    why: str = ""
    left_out: bool = False

    @property
    def failed(self) -> bool:
        """Whether the level, or a job of it, has no report."""
        return not self.left_out and (bool(self.why) or any(one.state is State.FAILED for one in self.outcomes))

    @property
    def unchecked(self) -> bool:
        """Whether it failed and there is no report from any entrance: nothing that it holds was looked at."""
        return self.failed and all(one.report is None for one in self.outcomes)

    @property
    def complete(self) -> bool:
        """Whether it was checked, every job of it has a report and no limit was hit."""
        if self.left_out:
            return False
        return not self.failed and all(one.report is not None and one.report.complete for one in self.outcomes)


@dataclass(frozen=True)
class WorldReport:
    """Everything that was found out about a world.

    `levels` are in the world file's order; their reports are without what only a picture needs (`without_drawing`).
    `linked`: it is a world with links, not a folder of levels that have nothing to do with each other. `start` is where
    the game begins, None for a folder. With `changed_since`, a commit as the user named it, it is a report on a part of
    the world: only levels that changed and those that links join them to were checked, from every place at which a
    player could enter them. Then it tells nothing of the world as a whole.
    `instead_of` is the file of the movement that the world file names, where the caller gave another.
    """

    product: str
    name: str
    origin: str
    linked: bool
    start: Spot | None
    must_reach: tuple[Spot, ...]
    options: Mapping[str, Any]
    levels: tuple[LevelResult, ...]
    links: tuple[LinkVerdict, ...]
    findings: tuple[WorldFinding, ...]
    changed_since: str = ""
    instead_of: str = ""

    def count(self, severity: Severity) -> int:
        """Number of findings of this severity, of the world and of its levels, that no file accepts."""
        return sum(number for (_, each), number in self._counts.items() if each is severity)

    def count_of(self, level: str, severity: Severity) -> int:
        """Number of such findings about one level."""
        return self._counts[level, severity]

    @property
    def failed(self) -> tuple[LevelResult, ...]:
        """The levels that have no report from some entrance."""
        return tuple(level for level in self.levels if level.failed)

    @property
    def left_out(self) -> tuple[LevelResult, ...]:
        """The levels that were not checked, since they have not changed."""
        return tuple(level for level in self.levels if level.left_out)

    @property
    def complete(self) -> bool:
        """Whether every level was checked and no limit was hit."""
        return all(level.complete for level in self.levels)

    @cached_property
    def _counts(self) -> Counter[tuple[str | None, Severity]]:
        counting = [(found.level, found.severity) for found in self.findings if found.accepted is None]
        for result in self.levels:
            found_in = (entry.finding for entry in result.findings)
            counting += [(result.id, each.severity) for each in found_in if each.accepted is None]
        return Counter(counting)


def without_drawing(report: Report) -> Report:
    """Return a report without what only a picture needs, which is most of its size: of a world hundreds are kept."""
    return replace(
        report,
        coverage=report.coverage[:0, :0].copy(),
        moves=tuple(replace(move, arc_px=()) for move in report.moves),
        findings=tuple(replace(finding, marks=()) for finding in report.findings),
    )
