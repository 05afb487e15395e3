from dataclasses import replace

import numpy as np
import pytest

from reach import assembly
from reach.graph import MoveGraph, under_graph
from reach.kernels.step import run_script
from reach.measures import measure
from reach.options import CheckOptions
from reach.proofs import search
from reach.reachability.problem import pose
from reach.routes import MOST_ROUTES, easiest_route
from tests.checked import level, movement

TWO_WAYS = [
    "....................",
    "....................",
    "....................",
    "@..................!",
    "######....##....####",
    "######....##....####",
    "######..........####",
    "####################",
]
"""Over the gaps by jumps that take some care, or down and up again by easy ones: but the ground is too deep."""


@pytest.fixture(scope="module")
def parts():
    problem = pose(level(TWO_WAYS), movement(), CheckOptions(), None)
    seen = problem.explore()
    proofs = search(problem, seen)
    measures = measure(problem, seen, proofs.passages)
    return problem, proofs, measures, assembly.move_graph(problem, seen, proofs, measures)


def test_the_route_replays_whole_from_the_start_into_the_ending(parts):
    problem, proofs, measures, graph = parts
    route = easiest_route(problem, graph, measures, proofs.places, proofs.first)
    assert route.ending == "goal-1" and route.easiest
    states = run_script(problem.start, route.inputs, problem.motion, problem.terrain)
    assert states[-1, 12] == 1 and states[-2, 12] == 0
    assert route.made_of[0].source == proofs.first.foothold
    assert all(before.target == after.source for before, after in zip(route.made_of, route.made_of[1:], strict=False))
    assert route.moves == tuple(index for one in route.made_of for index in one.moves)


def test_without_a_chain_of_proved_moves_the_shortest_script_is_the_route(parts):
    problem, proofs, measures, graph = parts
    none = under_graph(problem.footholds, graph.endings, [])
    bare = MoveGraph(graph.over_, none, graph.over_starts, graph.under_starts, graph.endings, graph.move_edges)
    route = easiest_route(problem, bare, measures, proofs.places, proofs.first)
    goal = next(index for index, place in enumerate(problem.level.places) if place.id == "goal-1")
    assert route.ending == "goal-1" and np.array_equal(route.inputs, proofs.places[goal])
    assert all(one in measures.legs for one in route.made_of)
    assert not route.easiest


def test_without_a_script_to_an_ending_there_is_no_route(parts):
    problem, proofs, measures, graph = parts
    none = under_graph(problem.footholds, graph.endings, [])
    bare = MoveGraph(graph.over_, none, graph.over_starts, graph.under_starts, graph.endings, graph.move_edges)
    assert easiest_route(problem, bare, measures, {}, proofs.first) is None
    assert easiest_route(problem, graph, measures, proofs.places, None) is None


def test_a_route_whose_legs_do_not_work_out_is_passed_over(parts):
    problem, proofs, measures, graph = parts
    best = easiest_route(problem, graph, measures, proofs.places, proofs.first)

    class Broken:
        legs = {one: () if one in best.made_of else made for one, made in measures.legs.items()}
        making = measures.making
        limit = ""

    other = easiest_route(problem, graph, Broken(), proofs.places, proofs.first)
    assert MOST_ROUTES > 1
    assert other is None or other.made_of != best.made_of or np.array_equal(other.inputs, proofs.places[0])
    assert other.easiest == (width(other) >= width(best))


def width(route):
    return min(one.window_ticks for one in route.made_of)


def test_where_moves_were_left_unmeasured_no_route_is_called_the_easiest(parts):
    problem, proofs, measures, graph = parts
    late = replace(measures, limit="the time limit of 3 s was reached while measuring moves")
    assert not easiest_route(problem, graph, late, proofs.places, proofs.first).easiest
