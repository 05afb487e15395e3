"""What a finding of a world follows from: the nearest thing on the way that has to be mended first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING

from reach.findings import Verdict
from reach.level import PlaceKind
from reach.wording import list_words
from reach.world.ways import AnyNode, Kind, after, begin, reached

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


class Causes:
    """The causes in a world: from each, one pass forward over the graph finds everything that it is the nearest of."""

    def __init__(self, evidence: WorldEvidence) -> None:
        """Nothing is looked for yet."""
        self.evidence = evidence

    def barring(self, level: str, entrances: Iterable[str] | None = None) -> list[Cause]:
        """Return why nobody comes into a level, or to some entrances of it.

        Backwards over the links, these are the exits that cannot be reached in levels that a player may enter, and the
        levels that no link leads to, whichever come first. A ring of levels that has neither has no cause.

        Parameters
        ----------
        level : str
        entrances : iterable of str, optional
            Without them the level itself is meant, which nobody enters.
        """
        if entrances is None:
            return [*self._barring.get(level, ())]
        wanted = {*entrances}
        found: dict[Cause, None] = {}
        for link in self.evidence.links_into.get(level, ()):
            if link.target[1] in wanted:
                known = self._barring.get(link.source[0])
                found |= dict.fromkeys([_not_reached(self.evidence, link.source)] if known is None else known)
        return [*found]

    def leaving_open(self, nodes: Iterable[Node]) -> list[Cause]:
        """Return what leaves it undecided whether a player comes to any of some nodes.

        None of them is proved to be reached. Backwards over all ways that are not excluded, it is where the first step
        is that no script proves: a level that failed, or an exit that is undecided.
        """
        return [*dict.fromkeys(chain.from_iterable(self._open.get(node, ()) for node in nodes))]

    def only_failed(self, node: Node) -> bool:
        """Tell whether levels that could not be checked are all that leaves a node undecided."""
        return node in self._open and node not in self._open_otherwise

    def stranding(self, link: Link) -> list[Cause]:
        """Return what would have to be mended behind a link that strands: what counts there and cannot be reached.

        Beside it the exits that cannot be reached and that would lead, over their links, to where something may be, and
        the exits that can be reached and lead nowhere.
        """
        evidence = self.evidence
        world = evidence.world
        behind = after(evidence.ways.over_, [begin(link.target)])
        levels = {node[1] for node in behind if node[0] is Kind.BEGIN}
        found = [_not_reached(evidence, spot) for spot in evidence.counting if spot[0] in levels]
        for level in world.levels:
            for place in level.level.places if level.id in levels and level.level is not None else ():
                spot = (level.id, place.id)
                onward = world.leads_to.get(spot)
                if reached(spot) in behind:
                    if onward is None and place.kind is PlaceKind.EXIT and place.ends_level:
                        found.append(Cause("/".join(spot), f"no link leads on from '{'/'.join(spot)}'"))
                elif onward is not None and (begin(onward) in evidence.hopeful or self._leads_out(onward[0], levels)):
                    found.append(_not_reached(evidence, spot))
        return [*dict.fromkeys(found)]

    def _leads_out(self, level: str, stranded: set[str]) -> bool:
        """Tell whether links alone lead from a level that was never entered to where something that counts is."""
        seen, waiting = {level}, [level]
        while waiting:
            one = waiting.pop()
            if one in stranded:
                continue
            if one in self._wanted or self.evidence.entered[one] is not Verdict.UNREACHABLE:
                return True
            following = {link.target[0] for link in self.evidence.links_out_of.get(one, ())} - seen
            seen |= following
            waiting += following
        return False

    @cached_property
    def _wanted(self) -> set[str]:
        return {spot[0] for spot in self.evidence.counting}

    @cached_property
    def _barring(self) -> Mapping[str, Sequence[Cause]]:
        """By level that nobody enters."""
        evidence = self.evidence
        closed = [level for level, found in evidence.entered.items() if found is Verdict.UNREACHABLE]
        first: dict[str, list[Cause]] = {}
        for level in closed:
            links = evidence.links_into.get(level, ())
            if not links:
                first[level] = [Cause(level, f"no link leads to the level '{level}'")]
            sources = [link.source for link in links if evidence.entered[link.source[0]] is not Verdict.UNREACHABLE]
            if sources:
                first[level] = [_not_reached(evidence, source) for source in sources]

        def following(level: str) -> list[str]:
            return [link.target[0] for link in evidence.links_out_of.get(level, ())]

        return dict.fromkeys(closed, ()) | _nearest(first, following, {*closed})

    @cached_property
    def _first_open(self) -> Mapping[Node, Sequence[Cause]]:
        """By node that is not proved to be reached, and to which a step leads from one that is."""
        evidence, ways = self.evidence, self.evidence.ways
        first: dict[Node, list[Cause]] = {}
        for job, outcome in evidence.outcomes.items():
            here = begin((job.level, job.entrance))
            if here not in ways.under_from_start:
                continue
            for node in ways.over_.successors(here):
                if node not in ways.under_from_start:
                    spot = (node[1], node[2])
                    cause = _undecided(evidence, spot) if outcome.report is not None else _failed(evidence, job.level)
                    first.setdefault(node, []).append(cause)
        return first

    @cached_property
    def _open(self) -> Mapping[Node, Sequence[Cause]]:
        ways = self.evidence.ways
        return _nearest(self._first_open, ways.over_.successors, ways.over_from_start - ways.under_from_start)

    @cached_property
    def _open_otherwise(self) -> set[Node]:
        """The nodes that something else than a failed level leaves undecided as well."""
        first = [node for node, causes in self._first_open.items() if not all(cause.failed for cause in causes)]
        later = [
            begin((job.level, job.entrance))
            for job, outcome in self.evidence.outcomes.items()
            if outcome.report is not None
        ]
        ways = self.evidence.ways
        doubtful = [node for node in later if node in ways.over_ and node not in ways.under_from_start]
        steps = [
            target
            for node in doubtful
            for target in ways.over_.successors(node)
            if not ways.under_.has_edge(node, target)
        ]
        return after(ways.over_, [*first, *steps])


def _nearest(
    first: Mapping[AnyNode, Sequence[Cause]],
    following: Callable[[AnyNode], Iterable[AnyNode]],
    within: Collection[AnyNode],
) -> dict[AnyNode, Sequence[Cause]]:
    """Return the causes of everything that follows from something, each by the least number of steps from a cause."""
    found = {node: dict.fromkeys(causes) for node, causes in first.items()}
    layer = [*first]
    while layer:
        new: dict[AnyNode, dict[Cause, None]] = {}
        for node in layer:
            for target in following(node):
                if target in within and target not in found:
                    new.setdefault(target, {}).update(found[node])
        found |= new
        layer = [*new]
    return {node: [*causes] for node, causes in found.items()}


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
