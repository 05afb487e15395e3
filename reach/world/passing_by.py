"""What has to be had, and whether a player can get to where it is out of reach without having been there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reach.findings import Verdict
from reach.level import PlaceKind
from reach.simulator import replay
from reach.world.result import Job
from reach.world.ways import Part, Ways, crossing, left_out, reached

if TYPE_CHECKING:
    from reach.world.result import Outcome, Spot
    from reach.world.world_file import Link, LoadedWorld


@dataclass(frozen=True, eq=False)
class Leaving:
    """A place that has to be had and is proved to be reached, and the links that may lead to where it is out of reach.

    `over_before` are the nodes from which the place is not excluded; the `links`, which are not excluded, lead out of
    them.
    """

    spot: Spot
    over_before: Part
    links: tuple[Link, ...]


def leavings(world: LoadedWorld, ways: Ways) -> Iterator[Leaving]:
    """Yield every such place that a link may leave behind for good."""
    for spot in _wanted(world):
        if ways.verdict(reached(spot)) is Verdict.REACHABLE:
            over_before = ways.over_before([reached(spot)])
            links = crossing(world.links, ways.over_, ways.over_from_start, over_before)
            if links:
                yield Leaving(spot, over_before, links)


def questions(world: LoadedWorld, ways: Ways, outcomes: Mapping[Job, Outcome]) -> list[Job]:
    """Return what has to be asked beside: what can be reached without touching a place that may be left behind.

    Where scripts that were kept already show it of every exit that is linked and not excluded, nothing is asked.
    """
    asked: dict[Job, None] = {}
    for leaving in leavings(world, ways):
        level, place = leaving.spot
        for job, outcome in outcomes.items():
            if job.level != level or outcome.report is None:
                continue
            exits = [each.id for each in outcome.report.places if (level, each.id) in world.leads_to]
            if any(_by_script(world, outcome, each, place) is None for each in exits if each != place):
                asked[Job(level, job.entrance, place)] = None
    return list(asked)


def not_passing_by(
    world: LoadedWorld, ways: Ways, spot: Spot, outcomes: Mapping[Job, Outcome], asides: Mapping[Job, Outcome]
) -> Ways:
    """Return the edges of ways that are not left where a place is not touched, given what the questions asked gave."""

    def verdict(job: Job, other: str) -> Verdict:
        shown = _by_script(world, outcomes[job], other, spot[1])
        aside = asides.get(Job(job.level, job.entrance, spot[1]))
        if shown is not None:
            return shown
        if aside is None or aside.report is None:
            return Verdict.UNDECIDED
        return next(place.verdict for place in aside.report.places if place.id == other)

    return left_out(ways, spot, verdict)


def _wanted(world: LoadedWorld) -> tuple[Spot, ...]:
    """The places that must be reached, and the pickups that their level requires."""
    required = [
        (level.id, place.id)
        for level in world.levels
        if level.level is not None
        for place in level.level.places
        if place.kind is PlaceKind.PICKUP and place.required
    ]
    return tuple(dict.fromkeys((*world.must_reach, *required)))


def _by_script(world: LoadedWorld, outcome: Outcome, other: str, place: str) -> Verdict | None:
    """What an outcome alone tells of reaching a place without touching another; None if it does not tell."""
    level, report = world.by_id[outcome.job.level], outcome.report
    if level.level is None or report is None:
        return None
    if any(each.id == other and each.verdict is Verdict.UNREACHABLE for each in report.places):
        return Verdict.UNREACHABLE
    if other not in report.scripts:
        return None
    rows = replay(level.level, level.movement, report.scripts[other]).rows
    return None if any(place in row.places for row in rows) else Verdict.REACHABLE
