"""The search for plans against a plain one."""

from __future__ import annotations

import random

import numpy as np
import pytest

from reach.kernels.plan_tick import PASSES
from reach.reachability.plan_answers import alone
from reach.reachability.plan_search import find_window, has_window
from tests.random_plans import random_motion, random_task, random_terrain
from tests.reachability import plain_plan_search


def search_as_the_plain_one(seed: int, tasks: int) -> tuple[int, int]:
    """Compare searches of random moves; returns how many found a window, and how many of those only pass the goal."""
    dice = random.Random(seed)
    windows = passing = 0
    for _ in range(tasks):
        task = random_task(dice, random_motion(dice), random_terrain(dice))
        if task is None:
            continue
        cap = dice.choice([3, 8, 30])
        wanted = dice.choice([0, 3, min(cap, 5)])
        extra = (dice.randint(task.ground.left, task.ground.right),) if dice.random() < 0.5 else ()
        found = alone(find_window(task, extra, cap, wanted))
        expected = plain_plan_search.find_window(task, extra, cap, wanted)
        assert (found is None) == (expected is None)
        if found is not None and expected is not None:
            assert vars(found) == vars(expected)
            windows += 1
            passing += found.least_worth == PASSES
            for ticks in (found.window_ticks, found.window_ticks + 2):
                expected_one = plain_plan_search.has_window(task, [found.plan], ticks)
                assert alone(has_window(task, [found.plan], ticks)) == expected_one
    return windows, passing


@pytest.mark.parametrize("seed", range(3))
def test_the_compiled_search_finds_what_the_plain_one_does(seed: int):
    windows, _ = search_as_the_plain_one(seed, 25)
    assert windows > 3


@pytest.mark.long
def test_the_compiled_search_finds_what_the_plain_one_does_a_thousand_times():
    windows, passing = np.sum([search_as_the_plain_one(100 + seed, 100) for seed in range(20)], axis=0)
    assert windows > 1000
    assert passing > 5
