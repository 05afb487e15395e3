"""One side of a comparison: what a report says that can be compared, whether it was just made or was saved."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from reach.findings import Verdict
from reach.world.result import LinkVerdict, Outcome, Spot

if TYPE_CHECKING:
    from reach.findings import Finding, Move, PlaceVerdict, Report, Severity, Tile
    from reach.world.result import LevelResult, WorldFinding, WorldReport

FoundKey = tuple[str, str, int]
"""What makes two findings the same thing: the rule, the place or tile it is about, and which of those there it is."""
ABOUT_ENDING = ("softlock", "forced-loss", "no-return", "tight-landing")
"""Rules that find nothing where no place ends the level."""


@dataclass(frozen=True)
class Found:
    """One thing found, in a level or the world; `where` is a place's id, a tile as `tile 3,4`, or "" for all of it.

    `accepted`: a file says that it is known and meant. `undecided`: it says that something could not be decided.
    `missable`: places that can never be reached any more after what it tells. `about_ending`: it is about how the level
    can be ended, and asked only where some place ends it.
    """

    rule: str
    severity: Severity
    where: str
    place: str | None
    at: Tile | None
    message: str
    accepted: bool = False
    undecided: bool = False
    missable: frozenset[str] = frozenset()
    about_ending: bool = False


@dataclass(frozen=True)
class CheckSide:
    """What one check of a level from one entrance says.

    `places` are by id. `route` holds the moves of the easiest route to the place `route_to`, None where there is none.
    `has_ending`: some place ends the level.
    """

    entrance: str
    columns: int
    rows: int
    level_sha256: str
    movement_sha256: str
    tick_rate_hz: int
    complete: bool
    incomplete_why: str
    places: Mapping[str, PlaceVerdict]
    tiles: Mapping[Verdict, frozenset[Tile]]
    route: tuple[Move, ...]
    route_to: str | None
    route_easiest: bool
    has_ending: bool


@dataclass(frozen=True)
class LevelSide:
    """What is said of one level: `entered`, whether a player can get into it; `failed`, why a check has no report.

    `checks` are by entrance, `found` what was found in it.
    """

    id: str
    movement_name: str
    entered: Verdict
    checks: Mapping[str, CheckSide]
    found: Mapping[FoundKey, Found]
    failed: str = ""

    @property
    def complete(self) -> bool:
        """Whether it was checked, and no check of it was ended by a limit."""
        return bool(self.checks) and not self.failed and all(check.complete for check in self.checks.values())

    @property
    def endless(self) -> bool:
        """Whether it was checked, and no place ends it."""
        return bool(self.checks) and not any(check.has_ending for check in self.checks.values())


@dataclass(frozen=True)
class Side:
    """All that is compared of one report, and the `product` that made it.

    `linked`: of a world with links. `single`: of one level, not of a world or folder. `links` are by the exit that they
    lead from, `found` what was found in the world as a whole, by level ("" for the world).
    """

    product: str
    name: str
    linked: bool
    single: bool
    options: Mapping[str, Any]
    must_reach: tuple[Spot, ...]
    levels: Mapping[str, LevelSide]
    links: Mapping[Spot, LinkVerdict]
    found: Mapping[str, Mapping[FoundKey, Found]]

    @property
    def failed(self) -> bool:
        """Whether some level of it could not be checked."""
        return any(level.failed for level in self.levels.values())

    @property
    def movements(self) -> list[str]:
        """The names of the movement profiles, each once, in the order of the levels."""
        return list(dict.fromkeys(level.movement_name for level in self.levels.values()))


def side_of(report: WorldReport, single: bool = False) -> Side:
    """Return what is compared of a report that was just made; `single` where its only level is all there is."""
    by_level: dict[str, list[WorldFinding]] = {}
    for finding in report.findings:
        by_level.setdefault(finding.level or "", []).append(finding)
    return Side(
        product=report.product,
        name=report.name,
        linked=report.linked,
        single=single,
        options=report.options,
        must_reach=report.must_reach,
        levels={level.id: _level(level) for level in report.levels},
        links={link.source: link for link in report.links},
        found={level: numbered(map(_of_world, those)) for level, those in by_level.items()},
    )


def side_of_check(report: Report) -> Side:
    """Return what is compared of one check of one level."""
    check = _check(report.from_place, report)
    level = LevelSide(
        id=report.level_name,
        movement_name=report.movement_name,
        entered=Verdict.REACHABLE,
        checks={check.entrance: check},
        found=numbered(map(_of_level, report.findings)),
    )
    return Side(report.product, report.level_name, False, True, report.options, (), {level.id: level}, {}, {})


def _level(level: LevelResult) -> LevelSide:
    reports = {one.job.entrance: one.report for one in level.outcomes if one.report is not None}
    return LevelSide(
        id=level.id,
        movement_name=level.movement_name,
        entered=level.verdict,
        checks={entrance: _check(entrance, report) for entrance, report in reports.items()},
        found=numbered(_of_level(entry.finding) for entry in level.findings),
        failed=level.why or _whys(level.outcomes),
    )


def _whys(outcomes: Iterable[Outcome]) -> str:
    return "; ".join(f"from {one.job.entrance}: {one.why}" for one in outcomes if one.report is None)


def _check(entrance: str, report: Report) -> CheckSide:
    return CheckSide(
        entrance=entrance,
        columns=report.columns,
        rows=report.rows,
        level_sha256=report.level_sha256,
        movement_sha256=report.movement_sha256,
        tick_rate_hz=report.tick_rate_hz,
        complete=report.complete,
        incomplete_why=report.incomplete_why,
        places={place.id: place for place in report.places},
        tiles={verdict: frozenset(report.tiles.get(verdict, ())) for verdict in Verdict},
        route=tuple(report.moves[index] for index in report.route),
        route_to=report.route_to,
        route_easiest=report.route_easiest,
        has_ending=report.has_ending,
    )


def _of_level(finding: Finding) -> Found:
    place = finding.details.get("place")
    named = place if isinstance(place, str) else None
    where = named or ("" if finding.at is None else f"tile {finding.at[0]},{finding.at[1]}")
    return Found(
        finding.rule,
        finding.severity,
        where,
        named,
        finding.at,
        finding.message,
        finding.accepted is not None,
        finding.undecided,
        missable_of(finding.details),
        is_about_ending(finding.rule, finding.details),
    )


def is_about_ending(rule: str, details: Mapping[str, Any]) -> bool:
    """Return whether a finding of a level is one that is looked for only where some place ends the level."""
    return rule in ABOUT_ENDING or (rule == "undecided" and "footholds" in details)


def missable_of(details: Mapping[str, Any]) -> frozenset[str]:
    """Return the places that a finding's details call missable."""
    named = details.get("missable")
    return (
        frozenset(each for each in named if isinstance(each, str)) if isinstance(named, (list, tuple)) else frozenset()
    )


def _of_world(finding: WorldFinding) -> Found:
    return Found(
        finding.rule,
        finding.severity,
        finding.place or "",
        finding.place,
        None,
        finding.message,
        finding.accepted is not None,
        finding.undecided,
    )


def numbered(findings: Iterable[Found]) -> dict[FoundKey, Found]:
    """Return findings by what makes them the same."""
    numbers: Counter[tuple[str, str]] = Counter()
    kept: dict[FoundKey, Found] = {}
    for found in findings:
        kept[found.rule, found.where, numbers[found.rule, found.where]] = found
        numbers[found.rule, found.where] += 1
    return kept
