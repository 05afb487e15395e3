import itertools
import random

import networkx as nx
import numpy as np
import pytest
from scipy.sparse import csgraph, csr_matrix

from reach.findings import MoveKind
from reach.graph import (
    AIR,
    ProvedMove,
    bottlenecks,
    leading_by_rests,
    leading_to,
    led_to,
    mutual_groups,
    over_graph,
    route_edges,
    under_graph,
    widest_routes,
)
from reach.reachability.result import Foothold, OverMove
from tests.made_evidence import made_exploration

GOAL = "goal-1"


def footholds(count):
    return tuple(Foothold(i, 5, 10 * i, 10 * i + 5, False, (i, i)) for i in range(count))


def exploration(count, moves=(), place_moves=()):
    return made_exploration(footholds(count), moves=tuple(moves), place_moves=tuple(place_moves))


def over(source, target, from_rest=True, comes_to_rest=True, air_ticks=9, kind=MoveKind.JUMP):
    return OverMove(source, target, kind, from_rest, comes_to_rest, air_ticks)


def proved(source, target, window=5, ticks=40):
    return ProvedMove(source, target, (0,), window, ticks)


def over_from(count, edges, to_goal=()):
    return over_graph(exploration(count, [over(u, v) for u, v in edges], [(u, 0, True) for u in to_goal]), {0: GOAL})


def random_edges(rng, count, share):
    return [(u, v) for u in range(count) for v in range(count) if u != v and rng.random() < share]


def simple_routes(edges, sources, ending):
    """All simple routes, by trying every order of every choice of stops: slow, and independent of the code tested."""
    nodes = {node for edge in edges for node in edge} - {ending} - set(sources)
    for source in sources:
        for length in range(len(nodes) + 1):
            for stops in itertools.permutations(sorted(nodes, key=str), length):
                route = (source, *stops, ending)
                if all(edge in edges for edge in itertools.pairwise(route)):
                    yield route


def test_over_graph_joins_moves_between_the_same_footholds():
    graph = over_graph(
        exploration(2, [over(0, 1, from_rest=False, air_ticks=12), over(0, 1, air_ticks=30, kind=MoveKind.DROP)]), {}
    )
    assert graph.edges[0, 1] == {"rest_to_rest": True, "air_ticks": 12, "kinds": ("drop", "jump")}


def test_over_graph_does_not_mix_a_move_from_rest_with_another_that_ends_at_rest():
    graph = over_graph(exploration(2, [over(0, 1, comes_to_rest=False), over(0, 1, from_rest=False)]), {})
    assert not graph.edges[0, 1]["rest_to_rest"]


def test_over_graph_has_only_places_that_end_the_level():
    graph = over_graph(exploration(1, (), [(0, 3, True), (0, 4, True)]), {3: GOAL})
    assert list(graph.edges) == [(0, GOAL)]


def test_a_start_in_mid_air_may_land_anywhere():
    graph = over_graph(exploration(2, [over(0, 1)], [(AIR, 0, True)]), {0: GOAL}, in_air=True)
    assert set(graph.edges) == {(AIR, 0), (AIR, 1), (0, 1), (AIR, GOAL)}
    assert leading_by_rests(graph, [GOAL]) == {AIR, GOAL}


def test_under_graph_keeps_the_widest_of_several_moves():
    graph = under_graph(footholds(2), [GOAL], [proved(0, 1, window=2, ticks=5), proved(0, 1, window=6, ticks=50)])
    assert graph.edges[0, 1]["proved"].window_ticks == 6


def test_under_graph_has_no_move_from_a_foothold_to_itself():
    assert not under_graph(footholds(2), [], [proved(1, 1)]).edges


def test_leading_by_rests_needs_rest_at_both_ends_of_every_move():
    moves = [over(0, 1), over(1, 2, from_rest=False), over(3, 2), over(4, 3, comes_to_rest=False), over(5, 3)]
    graph = over_graph(exploration(6, moves, [(2, 0, True)]), {0: GOAL})
    assert leading_by_rests(graph, [GOAL]) == {2, 3, 5, GOAL}
    assert leading_to(graph, [GOAL]) == {0, 1, 2, 3, 4, 5, GOAL}


def test_leading_by_rests_needs_a_touch_from_rest():
    graph = over_graph(exploration(1, (), [(0, 0, False)]), {0: GOAL})
    assert leading_by_rests(graph, [GOAL]) == {GOAL}


@pytest.mark.parametrize("seed", range(30))
def test_reach_and_groups_agree_with_sparse_matrices(seed):
    """Reference: scipy.sparse.csgraph, breadth first order and strong components."""
    rng = random.Random(seed)
    count = rng.randint(2, 12)
    edges = random_edges(rng, count, 0.15)
    graph = over_from(count, edges)
    matrix = csr_matrix(([1] * len(edges), ([u for u, _ in edges], [v for _, v in edges])), (count, count))
    for node in range(count):
        ahead = csgraph.breadth_first_order(matrix, node, return_predecessors=False)
        behind = csgraph.breadth_first_order(matrix.T.tocsr(), node, return_predecessors=False)
        assert led_to(graph, [node]) == set(ahead.tolist())
        assert leading_to(graph, [node]) == set(behind.tolist())
    _, labels = csgraph.connected_components(matrix, directed=True, connection="strong")
    groups = mutual_groups(graph, range(count))
    assert sorted(groups) == sorted(tuple(np.flatnonzero(labels == label).tolist()) for label in set(labels.tolist()))


def test_groups_count_only_moves_among_the_footholds_given():
    graph = over_from(3, [(0, 1), (1, 0), (0, 2), (2, 0), (1, 2)])
    assert mutual_groups(graph, [1, 2]) == ((1,), (2,))
    assert mutual_groups(graph, [0, 1, 2]) == ((0, 1, 2),)


@pytest.mark.parametrize("seed", range(30))
def test_bottlenecks_are_the_edges_whose_removal_closes_every_way(seed):
    """Reference: take each edge out in turn and search (scipy.sparse.csgraph)."""
    rng = random.Random(seed)
    count = rng.randint(3, 9)
    edges = random_edges(rng, count, 0.3)
    doors = [node for node in range(1, count) if rng.random() < 0.3]
    graph = over_from(count, edges, doors)
    every = [*edges, *((door, count) for door in doors)]

    def open_without(gone):
        left = [edge for edge in every if edge != gone]
        rows, columns = [u for u, _ in left], [v for _, v in left]
        matrix = csr_matrix(([1] * len(left), (rows, columns)), (count + 1, count + 1))
        return count in csgraph.breadth_first_order(matrix, 0, return_predecessors=False)

    expected = {edge for edge in every if open_without(None) and not open_without(edge)}
    found = bottlenecks(graph, [0], [GOAL])
    assert {(u, count if v == GOAL else v) for u, v in found} == expected


def test_bottlenecks_come_in_the_order_in_which_they_are_passed():
    graph = over_from(5, [(3, 1), (1, 0), (1, 2), (0, 4), (2, 4)], [4])
    assert bottlenecks(graph, [3], [GOAL]) == ((3, 1), (4, GOAL))
    assert bottlenecks(graph, [3, 4], [GOAL]) == ((4, GOAL),)


@pytest.mark.parametrize("seed", range(40))
def test_easiest_route_is_the_best_of_all_routes(seed):
    """Reference: all simple routes by brute force, compared by smallest window, number of moves and ticks."""
    rng = random.Random(seed)
    count = rng.randint(2, 5)
    edges = random_edges(rng, count, 0.5) + [(node, GOAL) for node in range(count) if rng.random() < 0.4]
    moves = {edge: proved(*edge, window=rng.choice([0, 1, 3, 6, 30]), ticks=rng.randint(1, 60)) for edge in edges}
    graph = under_graph(footholds(count), [GOAL], moves.values())

    def order(route):
        passed = [moves[edge] for edge in itertools.pairwise(route)]
        return (-min(m.window_ticks for m in passed), len(passed), sum(m.ticks for m in passed))

    expected = sorted(map(order, simple_routes(set(edges), [0], GOAL)))
    found = [order(route) for route in widest_routes(graph, [0], [GOAL], most=10_000)]
    assert found == expected


def test_bottlenecks_are_those_of_all_endings_together():
    moves = [over(0, 1), over(1, 2), over(1, 3)]
    graph = over_graph(exploration(4, moves, [(2, 0, True), (3, 1, True)]), {0: GOAL, 1: "exit-1"})
    assert bottlenecks(graph, [0], [GOAL, "exit-1"]) == ((0, 1),)
    assert bottlenecks(graph, [0], ["exit-1"]) == ((0, 1), (1, 3), (3, "exit-1"))
    assert bottlenecks(graph, [], [GOAL]) == ()


def test_easiest_route_takes_the_easier_of_two_endings():
    moves = [proved(0, 1, window=9), proved(1, "exit-1", window=9), proved(0, GOAL, window=4)]
    graph = under_graph(footholds(2), [GOAL, "exit-1"], moves)
    assert next(widest_routes(graph, [0], [GOAL, "exit-1"], 1)) == (0, 1, "exit-1")


def test_a_walk_into_the_ending_counts_as_no_move():
    walk = ProvedMove(1, GOAL, (), 9, 200)
    graph = under_graph(footholds(2), [GOAL], [proved(0, GOAL, 9, ticks=300), proved(0, 1, 9), walk])
    assert next(widest_routes(graph, [0], [GOAL], 1)) == (0, 1, GOAL)
    graph = under_graph(footholds(2), [GOAL], [proved(0, GOAL, 9, ticks=200), proved(0, 1, 9), walk])
    assert next(widest_routes(graph, [0], [GOAL], 1)) == (0, GOAL)


def test_there_is_no_route_without_a_start_or_an_ending():
    graph = under_graph(footholds(2), [GOAL], [proved(0, GOAL)])
    assert list(widest_routes(graph, [], [GOAL], 3)) == []
    assert list(widest_routes(graph, [1], [GOAL], 3)) == []
    assert list(widest_routes(graph, [0], [], 3)) == []


def test_width_of_routes_agrees_with_a_spanning_tree_on_two_way_graphs():
    """Reference: on an undirected graph the widest path runs in a maximum spanning tree (Hu 1961, from memory)."""
    rng = random.Random(7)
    for _ in range(20):
        pairs = [(u, v) for u in range(6) for v in range(u) if rng.random() < 0.6]
        windows = {pair: rng.randint(0, 30) for pair in pairs}
        both = [proved(u, v, window) for (u, v), window in windows.items()]
        both += [proved(v, u, window) for (u, v), window in windows.items()]
        graph = under_graph(footholds(6), [GOAL], [*both, proved(5, GOAL, 30)])
        tree = nx.Graph()
        tree.add_weighted_edges_from((u, v, w) for (u, v), w in windows.items())
        tree = nx.maximum_spanning_tree(tree)
        route = next(widest_routes(graph, [0], [GOAL], 1), None)
        if route is None:
            assert 0 not in tree or 5 not in tree or not nx.has_path(tree, 0, 5)
            continue
        width = min(graph.edges[edge]["proved"].window_ticks for edge in route_edges(route))
        branch = nx.shortest_path(tree, 0, 5)
        assert width == min([tree.edges[edge]["weight"] for edge in itertools.pairwise(branch)] + [30])
