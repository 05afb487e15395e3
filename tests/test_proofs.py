import numpy as np
import pytest

from reach.kernels.contact import touch_table
from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.options import CheckOptions
from reach.proofs import questions, script_of, script_to, search, way_out
from reach.reachability.problem import pose
from tests.checked import level, movement

PIT = [
    "............",
    "............",
    "............",
    "@..+......!.",
    "####....####",
    "####....####",
    "####....####",
    "####....####",
    "############",
]


@pytest.fixture(scope="module")
def parts():
    problem = pose(level(PIT), movement(), CheckOptions(), None)
    seen = problem.explore()
    return problem, seen, search(problem, seen)


def foothold_at(problem, column, row):
    return next(f.index for f in problem.footholds if f.row == row and f.columns[0] <= column <= f.columns[1])


def test_every_script_ends_in_the_tick_that_first_touches_its_place(parts):
    problem, _, proofs = parts
    assert sorted(proofs.places) == [0, 1, 2]
    for index, inputs in proofs.places.items():
        states = run_script(problem.start, inputs, problem.motion, problem.terrain)
        touched = touch_table(states, problem.motion, problem.terrain)[:, index]
        assert touched[-1] and not touched[:-1].any()


def test_every_rest_is_at_rest_on_its_foothold_and_its_script_leads_there(parts):
    problem, _, proofs = parts
    assert sorted(proofs.rests) == [foothold.index for foothold in problem.footholds]
    for index, rest in proofs.rests.items():
        assert rest.state.grounded and rest.state.vx == 0
        assert problem.finder.at(rest.state.x, rest.state.y).index == index
        end = run_script(problem.start, rest.way_in.inputs(), problem.motion, problem.terrain)[-1]
        assert State(*end.tolist()) == rest.state


def test_the_first_rest_is_the_start_where_it_stands_on_the_ground(parts):
    problem, _, proofs = parts
    assert (proofs.first.state, len(proofs.first.inputs)) == (problem.start, 0)


def test_a_start_in_mid_air_first_rests_where_it_comes_down():
    rows = ["@...........", *["............"] * 3, "##.........!", "############"]
    problem = pose(level(rows), movement(), CheckOptions(), None)
    proofs = search(problem, problem.explore())
    first = proofs.first
    assert len(first.inputs) > 0 and first.state.grounded and first.state.vx == 0
    assert len(first.inputs) == min(rest.way_in.ticks for rest in proofs.rests.values())


def test_a_walk_into_the_ending_is_among_the_passages(parts):
    problem, _, proofs = parts
    right = foothold_at(problem, 9, 4)
    assert any(one.source == right and one.place is not None and not one.hops for one in proofs.passages)


def test_a_way_out_names_the_footholds_that_it_rests_on(parts):
    problem, seen, proofs = parts
    left, pit = foothold_at(problem, 1, 4), foothold_at(problem, 5, 8)
    assert left in way_out(problem, seen, proofs.rests[left].state).rested_on
    assert way_out(problem, seen, proofs.rests[pit].state).rested_on is None


def test_the_questions_explore_from_rest_on_a_foothold(parts):
    problem, seen, _ = parts
    pit = problem.footholds[foothold_at(problem, 5, 8)]
    beyond = questions(problem, seen).ending(pit)
    assert beyond.complete and np.flatnonzero(beyond.rested).tolist() == [pit.index]
    assert not beyond.touched.any()
    assert questions(problem, seen).loss(pit).complete
    left = problem.footholds[foothold_at(problem, 1, 4)]
    ending = questions(problem, seen).ending(left)
    assert (ending.complete, ending.why) == (False, "touch") and ending.touched[list(problem.ending_ids)].all()
    assert questions(problem, seen).loss(left).complete


@pytest.mark.parametrize("target", [2, (5, 8)])
def test_one_script_is_found_on_its_own(parts, target):
    problem, seen, _ = parts
    inputs = script_to(problem, seen, target).inputs
    assert inputs is not None and len(inputs) > 0
    assert script_of(problem, inputs).ticks == len(inputs)
