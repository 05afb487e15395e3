"""A search for scripts reads nothing outside of the tiles in its key, whatever the footholds are numbered there."""

from __future__ import annotations

from dataclasses import is_dataclass
from itertools import product
from typing import Any

import numpy as np
import pytest

from reach.checker import Memory
from reach.level import level_from_dict
from reach.movement import movement_from_dict
from reach.options import CheckOptions
from reach.proofs import search
from reach.reachability.covered import read_tiles
from reach.reachability.problem import Problem, pose
from reach.reachability.script_memory import KeptScripts, ScriptMemory, search_key
from reach.reachability.search_room import codes_of, inputs_of
from reach.reachability.search_run import SearchLimits
from reach.reachability.witness import find_witnesses
from tests.random_levels import generate
from tests.reachability.test_memory import beside


def posed(level: dict[str, Any], movement: dict[str, Any], memory: Memory | None = None) -> Problem:
    return pose(level_from_dict(level), movement_from_dict(movement), CheckOptions(), None, memory)


def plain(one: Any) -> Any:
    """What two proofs can be compared by."""
    if isinstance(one, np.ndarray):
        return one.tolist()
    if isinstance(one, dict):
        return {key: plain(value) for key, value in one.items()}
    if is_dataclass(one):
        return {name: plain(value) for name, value in vars(one).items()}
    return [plain(each) for each in one] if isinstance(one, (tuple, list)) and not hasattr(one, "_fields") else one


def filled_outside(level: dict[str, Any], read: np.ndarray, dice: np.random.Generator) -> dict[str, Any]:
    noise = dice.choice(np.array(list(".#=^")), read.shape)
    rows = np.array([list(row) for row in level["rows"]])
    keep = read | ~np.isin(rows, list(".#=^S"))
    for place in level["places"]:
        keep[place["at"][1], place["at"][0]] = True
    return level | {"rows": ["".join(row) for row in np.where(keep, rows, noise)]}


def compare(seed: int) -> bool:
    """Search, fill the rest of the map at random, and search with and without what is known; was it taken?"""
    level, movement = generate(seed)
    level = beside(level, generate(seed + 1)[0])
    memory = Memory()
    problem = posed(level, movement, memory)
    seen = problem.explore()
    search(problem, seen)
    assert memory.scripts.taken == 0
    level = filled_outside(level, read_tiles(problem.motion, problem.terrain, seen), np.random.default_rng(seed))
    problem = posed(level, movement, memory)
    known = search(problem, problem.explore())
    taken = memory.scripts.taken
    problem = posed(level, movement)
    fresh = search(problem, problem.explore())
    assert plain(known) == plain(fresh), seed
    return taken > 0


def test_nothing_outside_of_the_tiles_read_matters():
    assert sum(compare(seed) for seed in (0, 7, 8, 10, 11, 12)) >= 4


@pytest.mark.long
def test_nothing_outside_of_the_tiles_read_matters_on_many_maps():
    assert sum(compare(seed) for seed in range(400, 560)) > 80


def test_what_is_asked_is_in_the_key():
    problem = posed(*generate(7))
    seen = problem.explore()
    start = problem.start
    asked = (problem.standable, np.ones_like(seen.touched))
    given = search_key(b"1", start, asked, True, SearchLimits())
    assert search_key(b"1", start, asked, True, SearchLimits()) == given
    others = [
        search_key(b"2", start, asked, True, SearchLimits()),
        search_key(b"1", start._replace(x=start.x + 1), asked, True, SearchLimits()),
        search_key(b"1", start, (~problem.standable, asked[1]), True, SearchLimits()),
        search_key(b"1", start, asked, False, SearchLimits()),
        search_key(b"1", start, asked, True, SearchLimits(deadline=1.0)),
        search_key(b"1", start, asked, True, SearchLimits(trials=1)),
    ]
    assert len({given, *others}) == 7
    later = search_key(b"1", start, asked, True, SearchLimits(deadline=2.0))
    assert later == search_key(b"1", start, asked, True, SearchLimits(deadline=1.0))


def test_a_byte_a_tick_holds_every_input():
    every = np.array(list(product((-1, 0, 1), (0, 1), (0, 1), (0, 1))), np.int64)
    again = inputs_of(codes_of(every))
    assert codes_of(every).dtype == np.uint8 and again.dtype == np.int64
    assert np.array_equal(again, every)
    assert inputs_of(codes_of(every[:0])).shape == (0, 4)


def test_what_is_kept_gives_the_scripts_that_were_found():
    level, movement = generate(7)
    memory = Memory()
    found, kept = (search(problem, problem.explore()) for problem in (posed(level, movement, memory) for _ in range(2)))
    assert plain(found.places) == plain(kept.places) and found.tiles == kept.tiles
    assert plain(found.rests) == plain(kept.rests) and plain(found.first) == plain(kept.first)


def test_of_a_search_for_one_place_only_that_is_kept_whatever_ended_it_but_time():
    problem = posed(*generate(7))
    seen = problem.explore()
    footholds, nothing = problem.footholds, np.zeros_like(seen.touched)
    wanted = seen.carried & problem.standable

    def searched(limits: SearchLimits) -> Any:
        return find_witnesses(
            problem.motion, problem.terrain, footholds, problem.start, wanted, nothing, seen.moves, limits=limits,
            allowed_places=seen.touched, want_moves=False,
        )  # fmt: skip

    memory, asked = ScriptMemory(), []
    column, row = np.argwhere(wanted)[-1].tolist()[::-1]
    only = np.zeros_like(wanted)
    only[row, column] = True

    def search() -> Any:
        asked.append(1)
        return searched(SearchLimits())

    first, again = (memory.find(b"1", footholds, search, (only, nothing)) for _ in range(2))
    assert len(asked) == 1 and plain(first.tile_inputs(column, row)) == plain(again.tile_inputs(column, row))
    assert isinstance(again, KeptScripts) and list(again.tiles) == [(column, row)] and not again.rests
    assert again.under_moves == ()
    for limits, kept in ((SearchLimits(ticks=1), True), (SearchLimits(deadline=0.0), False)):
        ended = searched(limits)
        assert ended.gave_up and ended.gave_up.by_limit
        found = [memory.find(str(limits).encode(), footholds, lambda ended=ended: ended) for _ in range(2)]
        assert isinstance(found[1], KeptScripts) is kept
