"""What a window follows from is in its key: nothing beyond the box matters, and everything that is given does."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from reach import measures
from reach.kernels.course import compile_course
from reach.kernels.params import EMPTY, HAZARD, ONE_WAY, SOLID
from reach.level import level_from_dict
from reach.movement import movement_from_dict
from reach.options import CheckOptions
from reach.proofs import search
from reach.reachability.plan_answers import alone
from reach.reachability.plan_task import foothold_ground, place_box
from reach.reachability.problem import Problem, pose
from reach.reachability.window_memory import WindowMemory, reached_cells
from reach.reachability.windows import Window, measure_move
from tests.random_levels import generate

AROUND = 24
"""Tiles put around a small level on the left, on the right and above."""


def wide(seed: int) -> Problem:
    """A random level in the middle of a map that is mostly empty."""
    level, movement = generate(seed)
    columns = len(level["rows"][0])
    rows = ["." * (columns + 2 * AROUND)] * AROUND + ["." * AROUND + row + "." * AROUND for row in level["rows"]]
    places = [place | {"at": [place["at"][0] + AROUND, place["at"][1] + AROUND]} for place in level["places"]]
    level |= {"rows": rows, "places": places}
    return pose(level_from_dict(level), movement_from_dict(movement), CheckOptions(), None)


def samples(problem: Problem) -> tuple[measures.Sample, ...]:
    seen = problem.explore()
    return measures.measure(problem, seen, search(problem, seen).passages).samples


def asked(problem: Problem, sample: measures.Sample) -> tuple[Any, ...]:
    target = sample.target if sample.into_place else problem.footholds[sample.target]
    return problem.footholds[sample.source], target, sample.kind, sample


LIMITS = {"tick_ms": 20.0, "spread_ms": 25.0, "cap": 30, "wanted": 3}


def same(one: Window, other: Window) -> bool:
    rest = [replace(window, inputs=np.zeros((0, 4), np.int64)) for window in (one, other)]
    pairs = [(getattr(rest[0], name), getattr(rest[1], name)) for name in vars(rest[0]) if name != "inputs"]
    return all(a == b for a, b in pairs) and np.array_equal(one.inputs, other.inputs)


def beyond_the_box(seed: int) -> int:
    """Fill the map outside of each move's box at random: the window stays as it is. Returns for how many moves."""
    problem, dice = wide(seed), np.random.default_rng(seed)
    terrain, motion, compared = problem.terrain, problem.motion, 0
    course = compile_course(terrain)
    for sample in samples(problem):
        source, target, kind, hint = asked(problem, sample)
        aim = place_box(target, terrain) if isinstance(target, int) else foothold_ground(target, motion, terrain)
        rows, columns = reached_cells(motion, course, kind, foothold_ground(source, motion, terrain), aim)
        window = measure_move(motion, terrain, source, target, kind, hint, course=course, **LIMITS)
        if window.plan is None:
            continue
        outside = np.ones(course.flags.shape, bool)
        outside[rows, columns] = False
        noise = dice.choice(np.array([EMPTY, SOLID, ONE_WAY, HAZARD], np.uint8), terrain.material.shape)
        material = np.where(outside[1:-1, 1:-1], noise, terrain.material)
        assert (material != terrain.material).any()
        other = terrain._replace(material=material)
        assert same(window, measure_move(motion, other, source, target, kind, hint, **LIMITS)), (seed, kind, source)
        compared += 1
    return compared


def test_nothing_beyond_the_box_matters():
    assert sum(beyond_the_box(seed) for seed in (0, 7, 10, 11, 12)) > 10


@pytest.mark.long
def test_nothing_beyond_the_box_matters_on_many_maps():
    assert sum(beyond_the_box(seed) for seed in range(200, 320)) > 500


def test_what_is_known_is_taken_and_nothing_else():
    problem = wide(7)
    course = compile_course(problem.terrain)
    memory = WindowMemory()

    def measured(sample, motion=problem.motion, terrain=problem.terrain, course=course, **limits):
        memory.begin()
        alone(memory.ask_window(motion, terrain, *asked(problem, sample), course=course, **(LIMITS | limits)))
        return memory.taken == 0

    sample = next(
        one
        for one in samples(problem)
        if measure_move(problem.motion, problem.terrain, *asked(problem, one), **LIMITS).plan is not None
    )
    assert measured(sample)
    assert not measured(sample)
    for name, value in (("tick_ms", 10.0), ("spread_ms", 20.0), ("cap", 20), ("wanted", 4)):
        assert measured(sample, **{name: value}), name
    assert measured(sample, motion=problem.motion._replace(coast=problem.motion.coast + 1))
    assert not measured(sample)
    near = problem.terrain.material.copy()
    foothold = problem.footholds[sample.source]
    near[foothold.row - 4, foothold.columns[0]] = HAZARD
    changed = problem.terrain._replace(material=near)
    assert measured(sample, terrain=changed, course=compile_course(changed))
    far = problem.terrain.material.copy()
    far[0, 0] = SOLID
    changed = problem.terrain._replace(material=far)
    assert not measured(sample, terrain=changed, course=compile_course(changed))
