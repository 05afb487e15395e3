"""Footholds and moves as directed graphs, and the questions asked of them.

Two graphs over the same nodes are kept apart by name. `over_` has the moves of the superset: where it has no path,
there is no way. `under_` has the moves that a script proves, from rest to rest: where it has a path, each of its
moves is possible. A claim that something is impossible uses `over_`, a claim that it is possible `under_`.

Nodes are footholds (their index, an int), places that end the level (their id, a str) and, for a start in mid-air,
`AIR`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice, pairwise
from typing import TYPE_CHECKING

import networkx as nx

if TYPE_CHECKING:
    from reach.reachability.result import Exploration, Foothold

Node = int | str
"""A foothold's index, or the id of a place that ends the level."""

Edge = tuple[Node, Node]

AIR = -1
"""The node of a start in mid-air, in `over_` only."""


@dataclass(frozen=True)
class ProvedMove:
    """A move that a script makes from rest on `source` to rest on `target` (or into an ending place).

    `moves` are the indices, among the report's moves, of those it is made of: one, or several where the body is not
    at rest in between (over a spring, or with speed carried on), or none where it only walks into the place.
    `ticks` counts those of the script's part from rest to rest. `window_ticks` is the smallest window of its moves,
    0 where one has none.
    """

    source: int
    target: Node
    moves: tuple[int, ...]
    window_ticks: int
    ticks: int


@dataclass(frozen=True, eq=False)
class MoveGraph:
    """Both graphs of one level.

    `over_` edges have `rest_to_rest` (some such move starts from rest and can end at rest), `air_ticks` (the least) and
    `kinds` (sorted). `under_` edges have `proved` (the ProvedMove with the largest window). `over_starts` are all nodes
    that the body can be on first, `under_starts` the footholds on which a script comes to rest first; `endings` are the
    ids of the places that end the level. `move_edges` holds the edge of `over_` that each of the report's moves takes.
    """

    over_: nx.DiGraph
    under_: nx.DiGraph
    over_starts: tuple[int, ...]
    under_starts: tuple[int, ...]
    endings: tuple[str, ...]
    move_edges: tuple[Edge, ...]


def over_graph(exploration: Exploration, ending_ids: dict[int, str], in_air: bool = False) -> nx.DiGraph:
    """Return the graph of all moves that the superset has. Approximation: over.

    A start in mid-air has a move to every foothold that the body can ever be on.

    Parameters
    ----------
    exploration : Exploration
    ending_ids : dict
        Ids of the places that end the level, by their index in the level.
    in_air : bool
        Whether the exploration began with a start that is on no foothold.
    """
    graph = _nodes(exploration.footholds, ending_ids.values())
    if in_air:
        for foothold in exploration.footholds:
            if exploration.landed[foothold.index]:
                _add_over(graph, AIR, foothold.index, False, 0, "start")
    for move in exploration.moves:
        both = move.from_rest and move.comes_to_rest
        _add_over(graph, move.source, move.target, both, move.air_ticks, str(move.kind))
    for source, place, from_rest in exploration.place_moves:
        if place in ending_ids:
            _add_over(graph, source, ending_ids[place], from_rest, 0, "touch")
    return graph


def under_graph(footholds: Iterable[Foothold], ending_ids: Iterable[str], proved: Iterable[ProvedMove]) -> nx.DiGraph:
    """Return the graph of moves from rest to rest that a script proves. Approximation: under.

    Of several moves between the same two nodes the one with the largest window is kept, then with the fewest ticks.
    """
    graph = _nodes(footholds, ending_ids)
    for one in sorted(proved, key=lambda p: (-p.window_ticks, p.ticks, p.moves)):
        if one.source != one.target and not graph.has_edge(one.source, one.target):
            graph.add_edge(one.source, one.target, proved=one)
    return graph


def leading_to(graph: nx.DiGraph, targets: Collection[Node]) -> set[Node]:
    """Return the nodes from which some path leads to one of the targets, the targets included."""
    found = {target for target in targets if target in graph}
    waiting = list(found)
    while waiting:
        new = [node for node in graph.predecessors(waiting.pop()) if node not in found]
        found.update(new)
        waiting += new
    return found


def led_to(graph: nx.DiGraph, sources: Collection[Node]) -> set[Node]:
    """Return the nodes to which some path leads from one of the sources, the sources included."""
    return leading_to(graph.reverse(copy=False), sources)


def leading_by_rests(over_: nx.DiGraph, targets: Collection[Node]) -> set[Node]:
    """Return the nodes from which a chain of moves, each from rest to rest, leads to a target, the targets included."""
    calm = nx.subgraph_view(over_, filter_edge=lambda source, target: over_.edges[source, target]["rest_to_rest"])
    return leading_to(calm, targets)


def mutual_groups(over_: nx.DiGraph, footholds: Collection[int]) -> tuple[tuple[int, ...], ...]:
    """Return the footholds grouped by mutual reach among themselves, each group and the list of groups ascending."""
    components = nx.strongly_connected_components(over_.subgraph(footholds))
    return tuple(sorted(tuple(sorted(component)) for component in components))


def bottlenecks(over_: nx.DiGraph, sources: Collection[int], endings: Collection[str]) -> tuple[Edge, ...]:
    """Return the edges that every path from the sources to any ending uses, in the order in which they are passed.

    They are the dominators of the endings in the graph whose edges are nodes as well (computed by the algorithm of
    Cooper, Harvey and Kennedy 2001, in networkx). Since `over_` has every possible move, there is no way around
    them.
    """
    root, sink = ("root",), ("sink",)
    split = nx.DiGraph()
    split.add_edges_from((root, ("node", source)) for source in sorted(sources))
    for source, target in over_.edges:
        split.add_edge(("node", source), ("edge", source, target))
        split.add_edge(("edge", source, target), ("node", target))
    split.add_edges_from((("node", ending), sink) for ending in sorted(endings))
    if root not in split or sink not in split or not nx.has_path(split, root, sink):
        return ()
    parents = nx.immediate_dominators(split, root)
    passed = []
    at: tuple = sink
    while at != root:
        if at[0] == "edge":
            passed.append((at[1], at[2]))
        at = parents[at]
    return tuple(reversed(passed))


def widest_routes(
    under_: nx.DiGraph, sources: Collection[int], endings: Collection[str], most: int
) -> Iterator[tuple[Node, ...]]:
    """Yield routes to the ending places, the easiest first; of those with one smallest window at most the first `most`.

    Ordered by the smallest window on the route, largest first (the widest path); then by the number of moves; then by
    ticks.
    """
    root, sink = ("root",), ("sink",)
    windows = {(u, v): data["proved"].window_ticks for u, v, data in under_.edges(data=True)}
    for width in sorted(set(windows.values()), reverse=True):
        wide = nx.DiGraph()
        wide.add_edges_from((root, source, {"cost": 0}) for source in sorted(sources))
        wide.add_edges_from((ending, sink, {"cost": 0}) for ending in sorted(endings))
        for (source, target), window in sorted(windows.items(), key=lambda item: _edge_order(item[0])):
            if window >= width:
                one = under_.edges[source, target]["proved"]
                wide.add_edge(source, target, cost=_MOVE_COST * len(one.moves) + one.ticks)
        if sink not in wide or root not in wide or not nx.has_path(wide, root, sink):
            continue
        paths = (tuple(path[1:-1]) for path in nx.shortest_simple_paths(wide, root, sink, weight="cost"))
        for path in islice(paths, most):
            if min(windows[edge] for edge in route_edges(path)) == width:
                yield path


def route_edges(route: tuple[Node, ...]) -> tuple[Edge, ...]:
    """Return the edges of a route."""
    return tuple(pairwise(route))


_MOVE_COST = 1 << 40
"""More than the ticks of any route: fewer moves come first, ticks break ties."""


def _nodes(footholds: Iterable[Foothold], ending_ids: Iterable[str]) -> nx.DiGraph:
    graph = nx.DiGraph()
    for foothold in footholds:
        graph.add_node(foothold.index, row=foothold.row, columns=foothold.columns, is_spring=foothold.is_spring)
    graph.add_nodes_from(ending_ids)
    return graph


def _add_over(graph: nx.DiGraph, source: int, target: Node, rest_to_rest: bool, air_ticks: int, kind: str) -> None:
    if graph.has_edge(source, target):
        known = graph.edges[source, target]
        rest_to_rest = rest_to_rest or known["rest_to_rest"]
        air_ticks = min(air_ticks, known["air_ticks"])
        kinds = tuple(sorted({kind, *known["kinds"]}))
    else:
        kinds = (kind,)
    graph.add_edge(source, target, rest_to_rest=rest_to_rest, air_ticks=air_ticks, kinds=kinds)


def _node_order(node: Node) -> tuple[bool, str, int]:
    return (isinstance(node, str), node if isinstance(node, str) else "", node if isinstance(node, int) else 0)


def _edge_order(edge: Edge) -> tuple[tuple[bool, str, int], tuple[bool, str, int]]:
    return (_node_order(edge[0]), _node_order(edge[1]))
