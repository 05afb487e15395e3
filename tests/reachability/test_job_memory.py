"""What jobs found is taken again only where working it out would give the same."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from reach.kernels import heap
from reach.kernels.params import Motion, State, Terrain
from reach.reachability.exploration_job import Found
from reach.reachability.explore import Explorer
from reach.reachability.job_memory import JobMemory
from reach.reachability.result import Exploration
from tests.builders import make_terrain, standing
from tests.micro_maps import body
from tests.soundness import level_world

WIDE = [
    "........................",
    "..##........##....=.....",
    ".........##.............",
    ".....##............##...",
    "####.....####..####..###",
]


def same(a: Exploration, b: Exploration) -> bool:
    """Whether two explorations found the same, their stored states in any order included."""
    for one in fields(Exploration):
        x, y = getattr(a, one.name), getattr(b, one.name)
        if one.name == "ground":
            counts = [int(g[heap.POLYGON_N]) for g in (x, y)]
            if counts[0] != counts[1]:
                return False
        elif isinstance(x, np.ndarray):
            if not np.array_equal(x, y):
                return False
        elif x != y:
            return False
    return True


def edited(terrain: Terrain, row: int, column: int, material: int) -> Terrain:
    changed = terrain.material.copy()
    changed[row, column] = material
    return terrain._replace(material=changed)


def world(seed: int) -> tuple[Motion, Terrain, State]:
    made = level_world(seed)
    assert made is not None
    return made


@pytest.mark.parametrize("part", range(4))
def test_after_edits_explorations_with_memory_are_those_without(part: int) -> None:
    taken = 0
    for seed in range(20 * part, 20 * part + 20):
        motion, terrain, start = world(seed)
        dice = np.random.default_rng(seed)
        memory = JobMemory()
        Explorer(motion, terrain, memory=memory).explore(start)
        for _ in range(4):
            row, column = (int(dice.integers(size)) for size in terrain.material.shape)
            terrain = edited(terrain, row, column, int(dice.integers(4)))
            memory.taken = 0
            with_memory = Explorer(motion, terrain, memory=memory).explore(start)
            assert same(with_memory, Explorer(motion, terrain).explore(start)), (seed, row, column)
            taken += memory.taken
    assert taken > 100


def wide() -> tuple[Motion, Terrain, State]:
    motion = body(body_w=10, body_h=12, walk_accel=1, walk_cap=3, jump_launch=7, jump_gravity_held=1, jump_gravity=2)
    terrain = make_terrain(WIDE, tile=16)
    return motion, terrain, standing(0, 3, motion, terrain)


def test_far_from_an_edit_everything_is_taken_from_memory() -> None:
    motion, terrain, start = wide()
    memory = JobMemory()
    first = Explorer(motion, terrain, memory=memory).explore(start)
    assert first.landed.sum() > 4 and memory.taken == 0
    again = Explorer(motion, edited(terrain, 4, 23, 0), memory=memory).explore(start)
    assert memory.taken > 0
    assert same(again, Explorer(motion, edited(terrain, 4, 23, 0)).explore(start))


def test_another_movement_takes_nothing() -> None:
    motion, terrain, start = wide()
    memory = JobMemory()
    Explorer(motion, terrain, memory=memory).explore(start)
    faster = motion._replace(walk_cap=4)
    assert same(Explorer(faster, terrain, memory=memory).explore(start), Explorer(faster, terrain).explore(start))
    assert memory.taken == 0


@pytest.mark.parametrize("as_it_is_mib", [0.0, 0.02])
def test_what_was_compressed_is_taken_like_the_rest(as_it_is_mib: float) -> None:
    motion, terrain, start = wide()
    usual, memory = JobMemory(), JobMemory(as_it_is_mib=as_it_is_mib)
    first = Explorer(motion, terrain, memory=usual).explore(start)
    Explorer(motion, terrain, memory=memory).explore(start)
    assert memory.nbytes < usual.nbytes
    for number, kept in enumerate((usual, memory)):
        assert same(first, Explorer(motion, terrain, memory=kept).explore(start))
        assert kept.taken > 4, number


def counted(memory: JobMemory) -> tuple[int, int]:
    """Bytes of all entries, and of those that are not compressed."""
    kept = [entry.found for entry in memory._entries.values()]
    return sum(one.nbytes for one in kept), sum(one.nbytes for one in kept if isinstance(one, Found))


@pytest.mark.parametrize("as_it_is_mib", [0.0, 0.02, 16.0])
def test_when_less_is_allowed_what_was_asked_for_last_stays(as_it_is_mib: float) -> None:
    motion, terrain, start = wide()
    memory = JobMemory(as_it_is_mib=as_it_is_mib)
    explorer = Explorer(motion, terrain, memory=memory)
    first = explorer.explore(start)
    assert counted(memory) == (memory.nbytes, memory._as_it_is_nbytes)
    keys = list(memory._entries)
    explorer.explore(rest_on=int(np.flatnonzero(first.rested)[0]), until_touched=[], until_lost=True)
    asked = list(memory._entries)[-1]
    assert asked != keys[-1]
    whole = memory.nbytes
    memory.allow(whole // 2)
    assert 0 < memory.nbytes <= whole // 2 and asked in memory._entries and keys[-1] in memory._entries
    assert counted(memory) == (memory.nbytes, memory._as_it_is_nbytes)
    assert same(first, Explorer(motion, terrain, memory=memory).explore(start))
    assert memory.nbytes > whole // 2, "an exploration without a limit allows what is usual again"
    memory.allow(-1)
    assert (memory.nbytes, len(memory._entries), memory._as_it_is) == (0, 0, {})


def test_under_a_limit_of_memory_jobs_are_kept_in_what_is_left_of_it() -> None:
    motion, terrain, start = wide()
    memory = JobMemory()
    first = Explorer(motion, terrain, memory=memory).explore(start)
    usual, needed = memory.nbytes, None
    for limit_mib in np.arange(0.5, 12, 0.02).tolist():
        memory = JobMemory()
        seen = Explorer(motion, terrain, memory=memory).explore(start, memory_limit_mib=limit_mib)
        if seen.complete:
            needed = memory.nbytes
            assert same(seen, first)
            break
    assert needed is not None and needed < usual


def test_more_than_allowed_is_not_kept() -> None:
    motion, terrain, start = wide()
    memory = JobMemory(0.01)
    Explorer(motion, terrain, memory=memory).explore(start)
    assert 0 <= memory.nbytes <= 0.01 * 2**20
