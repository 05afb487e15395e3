"""What a comparison says: single changes, each worse, better or neither, and all of them, worst first.

The order, the same everywhere: what got worse comes before what got better and that before what is neither. Causes come
before consequences: levels that merely cannot be entered any more stand behind those in which something was lost. Then
the kind decides, in the order of `Kind`: goals lost, new errors (a softlock, say), links lost, ways into levels lost,
other places lost, ground lost, new warnings, pickups that a move newly makes missable,
tight windows that got narrower. Lost is what was proved to be reachable and is not any more: proved not to be, or
undecided; a change tells which. A goal is lost too with the last place that ends the level; what is asked only where
some place does is neither better for being gone then nor worse for being back; nor is what is about endings where none
is proved reachable any more, or what was asked about a place that is deleted. Other notes that are new or gone, and
what is accepted, are neither worse nor better.
Within a kind the amount decides (tiles, ms), then the order of the world. How long the script to the end of the easiest
route takes is told, but makes nothing worse or better: scripts are found, not proved to be the shortest.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum, StrEnum
from typing import Any

from reach.findings import Severity, Tile, Verdict


class Direction(StrEnum):
    """Which way a change goes, for whoever plays; its values are in the order in which changes are told."""

    WORSE = "worse"
    BETTER = "better"
    OTHER = "other"
    """Neither, or not proved to be either: undecided before, say, and unreachable after."""


class Kind(Enum):
    """What a change is about: its name, how much it matters, and what it is when it got worse; the gravest first."""

    GOAL = ("goal", Severity.ERROR, "goals no longer proved")
    ERROR = ("error", Severity.ERROR, "new errors")
    LINK = ("link", Severity.ERROR, "links no longer proved")
    LEVEL = ("level", Severity.ERROR, "ways in no longer proved")
    PLACE = ("place", Severity.WARNING, "other places no longer proved")
    TILES = ("tiles", Severity.WARNING, "ground no longer proved")
    WARNING = ("warning", Severity.WARNING, "new warnings")
    MISSABLE = ("missable", Severity.NOTE, "pickups newly missable")
    WINDOW = ("window", Severity.NOTE, "tight windows narrower")
    NOTE = ("note", Severity.NOTE, "new notes")
    ROUTE = ("route", Severity.NOTE, "routes")

    @property
    def label(self) -> str:
        """Its name in reports."""
        return self.value[0]

    @property
    def severity(self) -> Severity:
        """How much it matters when it got worse."""
        return self.value[1]

    @property
    def worse_words(self) -> str:
        """What such changes are, as a title."""
        return self.value[2]


@dataclass(frozen=True)
class Change:
    """One change.

    `level` is None for the world as a whole, `entrance` None where it is about all entrances of the level, `place` the
    place it is about and `tiles` the tiles, if any. `before` and `after` are JSON-ready. `title` says what it is in a
    few words, `message` the rest, `reason` why it is called worse, better or neither where that needs saying. `amount`
    is how much got worse, in the kind's own measure, for the order. `in_doubt`: all that was lost is undecided now, or
    it is such a doubt itself.
    """

    kind: Kind
    direction: Direction
    level: str | None
    entrance: str | None
    title: str
    before: Any
    after: Any
    message: str = ""
    place: str | None = None
    tiles: tuple[Tile, ...] = ()
    amount: float = 1
    in_doubt: bool = False
    reason: str = ""

    @property
    def words(self) -> str:
        """The message and the reason, as far as there are such."""
        return f"{self.message} {self.reason}".strip()


@dataclass(frozen=True)
class LevelStanding:
    """How one level of both sides stands: the numbers of its changes by direction, and of the worse ones by kind."""

    level: str
    movements: tuple[str, str]
    numbers: Mapping[Direction, int]
    worse: Mapping[Kind, int]


@dataclass(frozen=True)
class Comparison:
    """All that changed from one report to another.

    `changes` and `levels` are worst first. `only_before` and `only_after` are levels of one side alone, `not_compared`
    levels that could not be checked and why, `unfinished` the number of checks, on either side, that a limit ended, and
    `remarks` what else the reader has to know about the two sides.
    """

    product: str
    name: str
    movements: tuple[tuple[str, ...], tuple[str, ...]]
    changes: tuple[Change, ...]
    levels: tuple[LevelStanding, ...]
    only_before: tuple[str, ...]
    only_after: tuple[str, ...]
    not_compared: Mapping[str, str]
    unfinished: int
    remarks: tuple[str, ...]

    def going(self, direction: Direction) -> list[Change]:
        """Return the changes that go this way, worst first."""
        return [change for change in self.changes if change.direction is direction]

    @property
    def in_doubt(self) -> list[Change]:
        """The changes for the worse that are but doubts: all that was lost is undecided now, and may be there still."""
        worse = self.going(Direction.WORSE)
        return [change for change in worse if change.in_doubt or change.after == Verdict.UNDECIDED]

    @property
    def worst(self) -> Severity | None:
        """How much the worst of what got worse matters; None where nothing did."""
        return max((change.kind.severity for change in self.going(Direction.WORSE)), key=_rank, default=None)


def _rank(severity: Severity) -> int:
    return severity.rank
