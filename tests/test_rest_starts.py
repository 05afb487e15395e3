"""Ways from rest over springs that a script only showed as a part of a longer way."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from reach.level import level_from_dict
from reach.options import CheckOptions
from reach.proofs import Proofs, search
from reach.reachability.chain import settled
from reach.reachability.passages import Passage, passages
from reach.reachability.problem import Problem, pose
from reach.rest_starts import Piece, from_rest, pieces
from tests.checked import movement

SPRUNG = {
    "format": "reach-level/1",
    "name": "sprung",
    "tile_px": 16,
    "rows": [
        "......................",
        "......................",
        "..................####",
        "......................",
        "......................",
        "......................",
        "......................",
        "................s.....",
        "######...#############",
    ],
    "symbols": {"s": {"material": "spring", "launch_px_per_s": 420}},
    "places": [
        {"id": "start-1", "kind": "start", "at": [0, 7]},
        {"id": "goal-1", "kind": "goal", "at": [20, 1]},
    ],
}


@pytest.fixture(scope="module")
def parts() -> tuple[Problem, Proofs]:
    problem = pose(level_from_dict(SPRUNG), movement(), CheckOptions(), None)
    return problem, search(problem, problem.explore())


def index_at(problem: Problem, column: int, row: int) -> int:
    return next(f.index for f in problem.footholds if f.row == row and f.columns[0] <= column <= f.columns[1])


def whole_way(parts: tuple[Problem, Proofs]) -> tuple[Passage, tuple[int, int, int, int]]:
    """The script that runs over the gap, onto the spring and up without a rest; first ground, next, spring, ledge."""
    problem, proofs = parts
    first, near, spring, ledge = (index_at(problem, *tile) for tile in ((0, 8), (9, 8), (16, 7), (18, 2)))
    way = next(one for one in proofs.passages if (one.source, one.target) == (first, ledge))
    assert [hop.target for hop in way.hops] == [near, spring, ledge]
    return way, (first, near, spring, ledge)


def test_a_bounce_that_a_script_came_to_with_speed_is_known_from_rest_too(parts: tuple[Problem, Proofs]) -> None:
    problem, proofs = parts
    _, (_, near, spring, ledge) = whole_way(parts)
    (way,) = (one for one in proofs.passages if (one.source, one.target) == (near, ledge))
    assert [hop.target for hop in way.hops] == [spring, ledge]
    assert way.start.grounded and way.start.vx == 0
    (again,) = passages(way.start, way.inputs, problem.finder, problem.motion, problem.terrain)
    assert again.hops == way.hops


def test_pieces_go_from_ground_over_springs_to_ground(parts: tuple[Problem, Proofs]) -> None:
    problem, _ = parts
    way, (_, near, _, ledge) = whole_way(parts)
    assert list(pieces(way, problem)) == [(Piece(near, ledge, None), way.hops[-1].arrive_tick)]
    over = replace(way, target=None, place=1, hops=(*way.hops[:-1], replace(way.hops[-1], target=None)))
    assert list(pieces(over, problem)) == [(Piece(near, None, 1), way.hops[-1].arrive_tick)]
    assert list(pieces(replace(way, hops=way.hops[2:]), problem)) == [], "begun on a spring"


def test_what_is_known_from_rest_is_not_sought_and_nothing_twice(parts: tuple[Problem, Proofs]) -> None:
    problem, proofs = parts
    way, (_, near, _, ledge) = whole_way(parts)
    sought: list[Any] = []

    def seek(state: Any, where: Any) -> None:
        sought.append((state, where))

    assert from_rest(problem, [way, way], proofs.rests, seek) == []
    ((state, where),) = sought
    assert (
        state == settled(proofs.rests[near].state, problem.motion, problem.terrain)
        and where[1] == problem.footholds[ledge].row
    )
    assert from_rest(problem, proofs.passages, proofs.rests, seek) == [] and len(sought) == 1
    rests = {index: rest for index, rest in proofs.rests.items() if index != near}
    assert from_rest(problem, [way], rests, seek) == [] and len(sought) == 1
    late = pose(problem.level, problem.movement, CheckOptions(time_limit_s=1e-9), None)
    assert from_rest(late, [way], proofs.rests, seek) == [] and len(sought) == 1
