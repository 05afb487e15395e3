"""Everything the rules of a world may look at: its links, what its jobs found, and who can get where."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from reach.findings import Severity, Verdict
from reach.level import PlaceKind
from reach.world.causes import Causes
from reach.world.ways import begin, crossing, reached

if TYPE_CHECKING:
    from reach.findings import Finding
    from reach.world.result import Job, LevelFinding, Outcome, Spot
    from reach.world.ways import Part, Ways
    from reach.world.world_file import Link, LoadedWorld


@dataclass(frozen=True, eq=False)
class WorldEvidence:
    """What was found out about a world, for the rules to judge.

    `outcomes` has every job that opened and `asides` the questions asked beside; `ways` tells who can get where, and
    `findings` what was found in each level.
    """

    world: LoadedWorld
    outcomes: Mapping[Job, Outcome]
    asides: Mapping[Job, Outcome]
    ways: Ways
    findings: Mapping[str, tuple[LevelFinding, ...]]

    @cached_property
    def entered(self) -> Mapping[str, Verdict]:
        """Whether a player can enter each level, at any place."""
        best = dict.fromkeys(self.world.by_id, Verdict.UNREACHABLE)
        for job in self.outcomes:
            found = self.ways.verdict(begin((job.level, job.entrance)))
            if found is Verdict.REACHABLE or best[job.level] is Verdict.UNREACHABLE:
                best[job.level] = found
        return best

    def verdict(self, spot: Spot) -> Verdict:
        """Return whether a player can reach a place, coming from where play begins."""
        return self.ways.verdict(reached(spot))

    @cached_property
    def links_into(self) -> Mapping[str, Sequence[Link]]:
        """The links that lead into each level from another one, by its id; none where there are none."""
        found = defaultdict(list)
        for link in self.world.links:
            if link.source[0] != link.target[0]:
                found[link.target[0]].append(link)
        return dict(found)

    @cached_property
    def links_out_of(self) -> Mapping[str, Sequence[Link]]:
        """The same for those that lead from each level into another one."""
        found = defaultdict(list)
        for link in self.world.links:
            if link.source[0] != link.target[0]:
                found[link.source[0]].append(link)
        return dict(found)

    @cached_property
    def causes(self) -> Causes:
        """What findings of the world follow from."""
        return Causes(self)

    @cached_property
    def counting(self) -> tuple[Spot, ...]:
        """What a way has to lead to, not to strand the player: the places that must be reached, and the endings."""
        return (*self.world.must_reach, *self.endings)

    @cached_property
    def hopeful(self) -> Part:
        """Where it is not excluded that something that counts is still reached."""
        return self.ways.over_before([reached(spot) for spot in self.counting])

    @cached_property
    def endings(self) -> tuple[Spot, ...]:
        """The goals that end their level and that no link leads on from: the game ends there."""
        return tuple(
            (level.id, place.id)
            for level in self.world.levels
            if level.level is not None
            for place in level.level.places
            if place.kind is PlaceKind.GOAL and place.ends_level and (level.id, place.id) not in self.world.leads_to
        )

    @cached_property
    def traps(self) -> tuple[Link, ...]:
        """The links that scripts take, from where something that counts is not excluded, to where all of it is.

        What counts are the places that must be reached, and the endings. There are none where no script reaches any of
        it in the first place.
        """
        if not any(self.verdict(spot) is Verdict.REACHABLE for spot in self.counting):
            return ()
        return crossing(self.world.links, self.ways.under_, self.ways.under_from_start, self.hopeful)

    def told_by(self, spot: Spot) -> Finding | None:
        """Return the error about a place that the findings of its own level count, None if there is none."""
        for entry in self.findings.get(spot[0], ()):
            finding = entry.finding
            counts = finding.severity is Severity.ERROR and finding.accepted is None
            if counts and finding.details.get("place") == spot[1]:
                return finding
        return None
