"""What a finding of a world follows from: the nearest thing on the way that has to be mended first."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reach.findings import Verdict
from reach.level import PlaceKind
from reach.wording import list_words
from reach.world.result import Job
from reach.world.ways import Kind, after, begin, reached

if TYPE_CHECKING:
    from reach.world.result import Spot
    from reach.world.ways import Node
    from reach.world.world_evidence import WorldEvidence
    from reach.world.world_file import Link

MOST_NAMED = 3
"""So many causes are told in a sentence; of the rest only the number is."""


@dataclass(frozen=True)
class Cause:
    """One cause: the place, or level, that it is about, and what is wrong there; `failed`: it was not checked."""

    about: str
    words: str
    failed: bool = False


def because(causes: Sequence[Cause]) -> str:
    """Return the causes in one part of a sentence."""
    words = [each.words for each in causes[:MOST_NAMED]]
    more = len(causes) - len(words)
    return list_words([*words, *([f"{more} more"] if more else [])])


def about(causes: Iterable[Cause]) -> list[str]:
    """Return what the causes are about, as a finding keeps it."""
    return [each.about for each in causes]


def barring(evidence: WorldEvidence, level: str, entrances: Iterable[str] | None = None) -> list[Cause]:
    """Return why nobody comes into a level, or to some entrances of it: the nearest first.

    Backwards over the links, these are the exits that cannot be reached in levels that a player may enter, and levels
    that no link leads to. What nobody comes to may be linked in a ring that has neither: then there is no cause.

    Parameters
    ----------
    evidence : WorldEvidence
    level : str
    entrances : iterable of str, optional
        Without them the level itself is meant, which nobody enters.
    """
    wanted = None if entrances is None else set(entrances)
    found: dict[Cause, None] = {}
    seen, waiting = {level}, deque([level])
    while waiting:
        one = waiting.popleft()
        links = evidence.links_into.get(one, ())
        if one == level:
            links = [link for link in links if wanted is None or link.target[1] in wanted]
        elif not links:
            found[Cause(one, f"no link leads to the level '{one}'")] = None
        for link in links:
            source = link.source[0]
            if evidence.entered[source] is not Verdict.UNREACHABLE:
                found[_not_reached(evidence, link.source)] = None
            elif source not in seen:
                seen.add(source)
                waiting.append(source)
    return [*found]


def leaving_open(evidence: WorldEvidence, nodes: Iterable[Node]) -> list[Cause]:
    """Return what leaves it undecided whether a player comes to any of some nodes.

    None of them is proved to be reached. Backwards over all ways that are not excluded, it is where the first step is
    that no script proves: a level that failed, or an exit that is undecided. A node that is itself the first such step
    has no other cause than that.
    """
    graph, proved = evidence.ways.over_, evidence.ways.under_from_start
    possible = evidence.ways.over_from_start
    found: dict[Cause, None] = {}
    asked = [node for node in nodes if node in possible]
    seen, waiting = set(asked), deque(asked)
    while waiting:
        node = waiting.popleft()
        for before in graph.predecessors(node):
            if before in proved:
                failed = evidence.outcomes[Job(before[1], before[2])].report is None
                if failed:
                    found[_failed(evidence, before[1])] = None
                elif node not in asked:
                    found[_undecided(evidence, (node[1], node[2]))] = None
            elif before in possible and before not in seen:
                seen.add(before)
                waiting.append(before)
    return [*found]


def stranding(evidence: WorldEvidence, link: Link, counting: Iterable[Spot]) -> list[Cause]:
    """Return what would have to be mended behind a link that strands: what counts there and cannot be reached.

    Beside it the exits that cannot be reached and that would lead, over their links, to where something may be, and
    the exits that can be reached and lead nowhere.
    """
    world, ways = evidence.world, evidence.ways
    behind = after(ways.over_, [begin(link.target)])
    levels = {node[1] for node in behind if node[0] is Kind.BEGIN}
    wanted = [*counting]
    hopeful = ways.over_before([reached(spot) for spot in wanted])
    found = [_not_reached(evidence, spot) for spot in wanted if spot[0] in levels]
    for level in world.levels:
        for place in level.level.places if level.id in levels and level.level is not None else ():
            spot = (level.id, place.id)
            onward = world.leads_to.get(spot)
            if reached(spot) in behind:
                if onward is None and place.kind is PlaceKind.EXIT and place.ends_level:
                    found.append(Cause("/".join(spot), f"no link leads on from '{'/'.join(spot)}'"))
            elif onward is not None and (begin(onward) in hopeful or _leads_out(evidence, onward[0], levels, wanted)):
                found.append(_not_reached(evidence, spot))
    return [*dict.fromkeys(found)]


def _leads_out(evidence: WorldEvidence, level: str, stranded: set[str], wanted: Sequence[Spot]) -> bool:
    """Tell whether links alone lead from a level that was never entered to where something that counts is."""
    goals = {spot[0] for spot in wanted}
    seen, waiting = {level}, [level]
    while waiting:
        one = waiting.pop()
        if one in stranded:
            continue
        if one in goals or evidence.entered[one] is not Verdict.UNREACHABLE:
            return True
        following = {link.target[0] for link in evidence.links_out_of.get(one, ())} - seen
        seen |= following
        waiting += following
    return False


def _not_reached(evidence: WorldEvidence, spot: Spot) -> Cause:
    return Cause("/".join(spot), f"'{'/'.join(spot)}' cannot be reached{_see(evidence, spot)}")


def _undecided(evidence: WorldEvidence, spot: Spot) -> Cause:
    words = f"it is undecided whether '{'/'.join(spot)}' can be reached{_see(evidence, spot)}"
    return Cause("/".join(spot), words)


def _failed(evidence: WorldEvidence, level: str) -> Cause:
    how = "read" if evidence.world.by_id[level].level is None else "checked"
    return Cause(level, f"the level '{level}' could not be {how}", failed=True)


def _see(evidence: WorldEvidence, spot: Spot) -> str:
    """The finding of the level that tells of a place, to look at."""
    for entry in evidence.findings.get(spot[0], ()):
        if entry.finding.details.get("place") == spot[1] and entry.finding.accepted is None:
            return f" (see {entry.finding.rule} of {spot[0]})"
    return ""
