"""Room for searches: a search with too little of it says the same as one with enough."""

from __future__ import annotations

import random

import pytest

from reach.reachability import plan_room
from reach.reachability.plan_answers import alone
from reach.reachability.plan_search import find_window
from tests.random_plans import random_motion, random_task, random_terrain


def test_a_search_that_lacks_room_gets_it_and_says_the_same(monkeypatch: pytest.MonkeyPatch):
    dice = random.Random(5)
    tasks = [random_task(dice, random_motion(dice), random_terrain(dice)) for _ in range(12)]
    searches = [(task, alone(find_window(task, (), 30, 3))) for task in tasks if task is not None]
    assert any(found is not None for _, found in searches)
    monkeypatch.setattr(plan_room, "_FIRST_AXIS", 1)
    monkeypatch.setattr(plan_room, "_FIRST_CELLS", 1)
    for task, found in searches:
        monkeypatch.delattr(plan_room._kept, "room")
        again = alone(find_window(task, (), 30, 3))
        assert (again is None) == (found is None)
        assert found is None or again is None or vars(again) == vars(found)
