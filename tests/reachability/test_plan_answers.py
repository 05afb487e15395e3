"""Searches answered together find what each finds alone, whatever a call has room and time for."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest

from reach.kernels.plan_requests import answer_requests
from reach.reachability import plan_answers, plan_room
from reach.reachability.plan_answers import alone, together
from reach.reachability.plan_requests import Asking
from reach.reachability.plan_search import best_chance, find_window, landing_room_spx
from reach.reachability.plan_task import Task
from tests.random_plans import random_motion, random_task, random_terrain

Measured = tuple[dict[str, Any], tuple[float, int], int] | None


def measured(task: Task) -> Asking[Measured]:
    """All that is asked for one move."""
    found = yield from find_window(task, (), 30, 3)
    if found is None:
        return None
    chance = yield from best_chance(task, found, 20.0, 25.0)
    return vars(found), chance, (yield from landing_room_spx(task, found))


def moves(seed: int, count: int) -> list[Task]:
    """Random moves of one body on one map."""
    dice = random.Random(seed)
    while True:
        motion, terrain = random_motion(dice), random_terrain(dice)
        tasks = [task for task in (random_task(dice, motion, terrain) for _ in range(count)) if task is not None]
        if tasks:
            return tasks


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, int, int, bool]]:
    """First request, end, number of requests and whether room lacked, of each compiled call."""
    made: list[tuple[int, int, int, bool]] = []

    def noted(begin: int, most: int, requests: Any, *rest: Any) -> tuple[int, bool]:
        end, lacks = answer_requests(begin, most, requests, *rest)
        made.append((begin, end, len(requests), lacks))
        return end, lacks

    monkeypatch.setattr(plan_answers, "answer_requests", noted)
    return made


@pytest.fixture(scope="module")
def known() -> list[tuple[list[Task], list[Measured]]]:
    found = []
    for seed in range(6):
        tasks = moves(seed, 8)
        found.append((tasks, [alone(measured(task)) for task in tasks]))
    assert sum(one is not None for _, each in found for one in each) > 15
    return found


def never() -> bool:
    return False


@pytest.mark.parametrize("most_cells", [1, 30_000, 1 << 18])
def test_together_they_find_what_each_finds_alone(known, calls, monkeypatch, most_cells):
    monkeypatch.setattr(plan_answers, "MOST_CELLS", most_cells)
    for tasks, expected in known:
        assert together(map(measured, tasks), never) == dict(enumerate(expected))
        backwards = together(map(measured, reversed(tasks)), never)
        assert backwards == dict(enumerate(reversed(expected)))
    many = [size for _, _, size, _ in calls if size > 1]
    # A call ends early where what it flew out was more than expected.
    early = [end for _, end, size, lacks in calls if end < size and not lacks]
    assert bool(many) is (most_cells > 1)
    assert bool(early) is (most_cells == 30_000)


def test_where_room_lacks_in_the_middle_the_call_goes_on_from_there(known, calls, monkeypatch):
    monkeypatch.setattr(plan_room, "_FIRST_AXIS", 1)
    monkeypatch.setattr(plan_room, "_FIRST_CELLS", 1)
    for tasks, expected in known:
        monkeypatch.delattr(plan_room._kept, "room")
        assert together(map(measured, tasks), never) == dict(enumerate(expected))
    # Some came to more than the first request before.
    assert any(lacks and end > begin for begin, end, _, lacks in calls)
    for (_, end, size, lacks), (begin, _, other, _) in pairwise(calls):
        assert (begin, other) == (end, size) if lacks else begin == 0


def test_when_time_is_up_what_is_done_is_right_and_the_rest_missing(known, monkeypatch):
    """The earlier ones are done first."""
    monkeypatch.setattr(plan_answers, "MOST_CELLS", 30_000)
    tasks, expected = known[0]
    done: list[int] = []
    for asked in range(0, 80, 3):
        left = iter([False] * asked)
        found = together(map(measured, tasks), lambda left=left: next(left, True))  # type: ignore[misc]
        assert all(found[number] == expected[number] for number in found)
        done.append(len(found))
        # those that go on longer are as many at the most as one call answers
        assert sorted(found)[: len(found) // 2] == list(range(len(found) // 2))
    assert done == sorted(done)
    assert done[0] == 0 and done[-1] == len(tasks) and len(set(done)) > 2


def test_what_a_search_raises_is_raised():
    def broken() -> Iterator[Any]:
        raise LookupError
        yield

    with pytest.raises(LookupError):
        together([broken()], never)  # type: ignore[list-item]
