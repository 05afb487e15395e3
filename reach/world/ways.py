"""Who can get where in a world: two graphs of entrances and places, one of what is not excluded, one of what is proved.

A node is an entrance, at which a player begins, or a place that a player has reached. An edge leads from an entrance to
a place of its level, and over a link from an exit to an entrance. Whoever follows a link begins at rest, so that edges
follow one another freely: every way in the graph is a way in the game.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING, TypeVar

import networkx as nx

from reach.findings import Verdict
from reach.world.fixpoint import first_jobs, over_reached, under_reached
from reach.world.result import Job

if TYPE_CHECKING:
    from reach.world.result import Outcome, Spot
    from reach.world.world_file import Link, LoadedWorld


class Kind(Enum):
    """The two kinds of node."""

    BEGIN = "begin"
    REACHED = "reached"


AnyNode = TypeVar("AnyNode")
Node = tuple[Kind, str, str]
"""A kind, a level's id and a place's id."""


NOTHING = nx.freeze(nx.DiGraph())
"""No edges."""


def begin(spot: Spot) -> Node:
    """Return the node of a player who begins at a place."""
    return Kind.BEGIN, *spot


def reached(spot: Spot) -> Node:
    """Return the node of a player who has reached a place."""
    return Kind.REACHED, *spot


@dataclass(frozen=True, eq=False)
class Part:
    """Some of the nodes of a graph, told by the parts that they are in: in a large world, most questions are alike."""

    parts: Collection[int]
    part_of: Mapping[Node, int]

    def __contains__(self, node: Node) -> bool:
        """Tell whether a node is one of them."""
        return self.part_of.get(node, -1) in self.parts


@dataclass(frozen=True, eq=False)
class Ways:
    """The ways of a world. `over_` has every way that is not excluded, `under_` every way that scripts prove.

    `starts` are where play begins.
    """

    over_: nx.DiGraph
    under_: nx.DiGraph
    starts: tuple[Node, ...]

    @cached_property
    def begins(self) -> Mapping[str, list[Node]]:
        """The nodes of players who begin, by level."""
        found: dict[str, list[Node]] = defaultdict(list)
        for node in self.over_:
            if node[0] is Kind.BEGIN:
                found[node[1]].append(node)
        return found

    @cached_property
    def over_from_start(self) -> set[Node]:
        """Every node that is not excluded."""
        return after(self.over_, self.starts)

    @cached_property
    def under_from_start(self) -> set[Node]:
        """Every node that scripts lead to."""
        return after(self.under_, self.starts)

    @cached_property
    def _over_parts(self) -> tuple[nx.DiGraph, Mapping[Node, int]]:
        """The parts of `over_` whose nodes all lead to one another, against their order, and the part of every node."""
        parts = nx.condensation(self.over_)
        return parts.reverse(), parts.graph["mapping"]

    def over_before(self, nodes: Iterable[Node]) -> Part:
        """Return the nodes from which it is not excluded that play comes to one of some nodes, these included."""
        backwards, part_of = self._over_parts
        return Part(after(backwards, {part_of[node] for node in nodes if node in part_of}), part_of)

    def verdict(self, node: Node) -> Verdict:
        """Return whether a player can come to a node from where play begins."""
        if node in self.under_from_start:
            return Verdict.REACHABLE
        return Verdict.UNDECIDED if node in self.over_from_start else Verdict.UNREACHABLE


def ways_of(world: LoadedWorld, outcomes: Mapping[Job, Outcome]) -> Ways:
    """Return both graphs of a world whose jobs are done."""
    return Ways(
        over_=_graph(world, {job: over_reached(world, outcome) for job, outcome in outcomes.items()}),
        under_=_graph(world, {job: under_reached(outcome) for job, outcome in outcomes.items()}),
        starts=tuple(begin((job.level, job.entrance)) for job in first_jobs(world)),
    )


def left_out(ways: Ways, spot: Spot, verdict: Callable[[Job, str], Verdict]) -> Ways:
    """Return the edges that are missing from both graphs where one place is not to be touched, as graphs.

    Parameters
    ----------
    ways : Ways
    spot : (level, place)
    verdict : callable
        Told a job of that place's level and another place; answers whether a player who begins there can reach the
        other place without touching the one.
    """
    level, place = spot
    over_, under_ = nx.DiGraph(), nx.DiGraph()
    for source, target in ways.over_.edges(ways.begins[level]):
        found = Verdict.UNREACHABLE if target[2] == place else verdict(Job(level, source[2]), target[2])
        if found is Verdict.UNREACHABLE:
            over_.add_edge(source, target)
        if found is not Verdict.REACHABLE:
            under_.add_edge(source, target)
    return Ways(over_, under_, ways.starts)


def crossing(
    links: Iterable[Link],
    graph: nx.DiGraph,
    taken: Collection[Node],
    over_before: Part,
    without: nx.DiGraph = NOTHING,
) -> tuple[Link, ...]:
    """Return the links that ways of a graph take out of a set of nodes from which something is not excluded.

    Parameters
    ----------
    links : iterable of Link
    graph : networkx.DiGraph
        Of proved ways: what is returned is proved to be taken. Of ways that are not excluded: to be not excluded.
    taken : collection of Node
        Where ways of the graph lead from where play begins.
    over_before : Part
    without : networkx.DiGraph, optional
        Its edges are not taken.
    """
    return tuple(
        link
        for link in links
        if begin(link.target) not in over_before
        and any(
            node in taken and node in over_before and not without.has_edge(node, reached(link.source))
            for node in graph.predecessors(reached(link.source))
        )
    )


def after(graph: nx.DiGraph, nodes: Iterable[AnyNode], without: nx.DiGraph = NOTHING) -> set[AnyNode]:
    """Return these nodes, as far as the graph has them, and all to which one can come from them.

    The edges of `without` are not taken.
    """
    known = [node for node in nodes if node in graph]
    if not without:
        return set(chain.from_iterable(nx.bfs_layers(graph, known)))
    found = set(known)
    while known:
        node = known.pop()
        for target in graph.successors(node):
            if target not in found and not (node in without and without.has_edge(node, target)):
                found.add(target)
                known.append(target)
    return found


def _graph(world: LoadedWorld, found: Mapping[Job, Iterable[str]]) -> nx.DiGraph:
    graph = nx.DiGraph()
    graph.add_nodes_from(begin((job.level, job.entrance)) for job in found)
    graph.add_edges_from((reached(link.source), begin(link.target)) for link in world.links)
    for job, places in found.items():
        source = begin((job.level, job.entrance))
        graph.add_edges_from((source, reached((job.level, place))) for place in places)
    return graph
