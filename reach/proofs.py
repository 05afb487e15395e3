"""The scripts that prove what is reachable, gathered from one search and each played before it is believed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import Tile
from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.outlooks import Questions, Rest, WayOut
from reach.reachability.passages import Passage, passages
from reach.reachability.script_memory import Scripts, search_key
from reach.reachability.witness import SearchLimits, Witnesses, find_witnesses
from reach.rest_starts import from_rest
from reach.routes import FirstRest
from reach.script import Script
from reach.verdicts import Judge

if TYPE_CHECKING:
    from reach.reachability.problem import Problem
    from reach.reachability.result import Exploration
    from reach.reachability.search_run import GaveUp


@dataclass(frozen=True, eq=False)
class Proofs:
    """What one search from the start proves.

    `places` holds inputs (int64 [ticks, 4]) by a place's index, `tiles` all tiles to which some lead. `passages` are
    all ways from rest to rest that its scripts show. `rests` has a state at rest (on a spring: just launched) for
    every foothold that has one, `first` the first of them. `exhausted`: every state there is was visited, so that what
    has no script cannot be reached. `gave_up` says why the search ended while a tile or place of the superset had
    none.
    """

    places: Mapping[int, np.ndarray]
    tiles: frozenset[Tile]
    passages: tuple[Passage, ...]
    rests: Mapping[int, Rest]
    first: FirstRest | None
    exhausted: bool
    gave_up: GaveUp | None


@dataclass(frozen=True, eq=False)
class Sought:
    """Inputs to one target, None where none was found; whether every state was visited; why the search ended."""

    inputs: np.ndarray | None
    exhausted: bool
    gave_up: GaveUp | None


NEARBY_TICKS = 1_000_000
NEARBY_TRIALS = 256
"""A way from rest that a script passed by with speed is looked for in so many simulated ticks, with so many tries."""

WALK_TICKS = 4096
"""A walk into an ending place is tried for so long."""


def search(problem: Problem, seen: Exploration) -> Proofs:
    """Return scripts to as much as possible of what the superset has."""
    problem.tell("finding scripts", None)
    found = _witnesses(problem, seen, problem.start, *_allowed(problem, seen), want_moves=True)
    judge = Judge(problem.start, problem.motion, problem.terrain)
    places = {
        index: judge.touching(inputs, index)
        for index in range(len(problem.level.places))
        if (inputs := found.place_inputs(index)) is not None
    }
    tiles: set[Tile] = set()
    for row, column in np.argwhere(problem.standable).tolist():
        inputs = found.tile_inputs(column, row)
        if inputs is not None:
            judge.standing(inputs, (column, row))
            tiles.add((column, row))
    rests = {
        foothold.index: Rest(_end_of(problem, inputs), script_of(problem, inputs))
        for foothold in problem.footholds
        if (inputs := found.foothold_inputs(foothold.index)) is not None
    }
    known = (*_passages(problem, found, places), *_walks(problem, seen, rests))
    return Proofs(
        places=places,
        tiles=frozenset(tiles),
        passages=(*known, *from_rest(problem, known, rests, lambda state, where: _nearby(problem, seen, state, where))),
        rests=rests,
        first=_first(problem, rests),
        exhausted=found.exhausted,
        gave_up=found.gave_up,
    )


def questions(problem: Problem, seen: Exploration) -> Questions:
    """Return what the search for outlooks may ask about this problem."""
    return Questions(
        ending=lambda foothold: problem.explore_from(foothold, seen),
        loss=lambda foothold: problem.explore_from(foothold, seen, until_lost=True),
        way_out=lambda state: way_out(problem, seen, state),
    )


def way_out(problem: Problem, seen: Exploration, state: State) -> WayOut:
    """Return the footholds that a script from a state to an ending place comes to rest on."""
    tiles, places = _allowed(problem, seen)
    endings = np.zeros_like(places)
    endings[list(problem.ending_ids)] = places[list(problem.ending_ids)]
    found = _witnesses(problem, seen, state, np.zeros_like(tiles), endings, want_moves=False)
    for index in problem.ending_ids:
        inputs = found.place_inputs(index)
        if inputs is not None:
            made = passages(state, inputs, problem.finder, problem.motion, problem.terrain)
            return WayOut({passage.source for passage in made})
    gave_up = found.gave_up
    return WayOut(None, gave_up.why if gave_up else "", by_limit=gave_up is not None and gave_up.by_limit)


def script_to(problem: Problem, seen: Exploration, target: int | Tile) -> Sought:
    """Look for inputs to one place (by index) or tile."""
    problem.tell("finding a script", None)
    tiles, places = _allowed(problem, seen)
    wanted_tiles, wanted_places = np.zeros_like(tiles), np.zeros_like(places)
    judge = Judge(problem.start, problem.motion, problem.terrain)
    if isinstance(target, int):
        wanted_places[target] = True
    else:
        wanted_tiles[target[1], target[0]] = True
    found = _witnesses(problem, seen, problem.start, wanted_tiles, wanted_places, want_moves=False)
    if isinstance(target, int):
        inputs = found.place_inputs(target)
        inputs = None if inputs is None else judge.touching(inputs, target)
    else:
        inputs = found.tile_inputs(*target)
        inputs = None if inputs is None else judge.standing(inputs, target)
    return Sought(inputs, found.exhausted, found.gave_up)


def script_of(problem: Problem, inputs: np.ndarray) -> Script:
    """Return inputs from the start as a script."""
    return Script.from_inputs(inputs, problem.level.name, problem.movement.name, problem.options.from_place)


def _allowed(problem: Problem, seen: Exploration) -> tuple[np.ndarray, np.ndarray]:
    """Return what the superset does not exclude: bool [rows, columns] of tiles, bool [places]."""
    if seen.complete:
        return problem.standable & seen.carried, seen.touched.copy()
    return problem.standable.copy(), np.ones_like(seen.touched)


def _witnesses(
    problem: Problem,
    seen: Exploration,
    start: State,
    wanted_tiles: np.ndarray,
    wanted_places: np.ndarray,
    want_moves: bool,
    limits: SearchLimits | None = None,
) -> Scripts:
    allowed_tiles, allowed_places = _allowed(problem, seen)
    limits = limits or SearchLimits(deadline=problem.deadline)

    def found() -> Witnesses:
        return find_witnesses(
            problem.motion,
            problem.terrain,
            problem.footholds,
            start,
            wanted_tiles,
            wanted_places,
            seen.moves,
            seen.place_moves,
            allowed_tiles=allowed_tiles,
            allowed_places=allowed_places,
            want_moves=want_moves,
            limits=limits,
        )

    if problem.memory is None or not seen.complete:
        return found()
    asked = (wanted_tiles, wanted_places, allowed_tiles, allowed_places)
    covered = problem.memory.covered(problem.motion, problem.terrain, seen, problem.start)
    key = search_key(covered, start, asked, want_moves, limits)
    only = None if want_moves else (wanted_tiles, wanted_places)
    return problem.memory.scripts.find(key, problem.footholds, found, only)


def _passages(problem: Problem, found: Scripts, places: Mapping[int, np.ndarray]) -> tuple[Passage, ...]:
    """Return every passage of the moves found and of the scripts to ending places."""
    scripts = [(move.start, move.inputs) for move in found.under_moves]
    scripts += [(problem.start, places[index]) for index in problem.ending_ids if index in places]
    return tuple(
        passage
        for start, inputs in scripts
        for passage in passages(start, inputs, problem.finder, problem.motion, problem.terrain)
    )


def _nearby(problem: Problem, seen: Exploration, state: State, where: Tile | int) -> np.ndarray | None:
    """Return inputs from a state to a tile or place, looked for only briefly."""
    tiles, places = _allowed(problem, seen)
    wanted_tiles, wanted_places = np.zeros_like(tiles), np.zeros_like(places)
    if isinstance(where, int):
        wanted_places[where] = places[where]
    else:
        wanted_tiles[where[1], where[0]] = tiles[where[1], where[0]]
    limits = SearchLimits(NEARBY_TICKS, NEARBY_TRIALS, single_states=0, deadline=problem.deadline)
    found = _witnesses(problem, seen, state, wanted_tiles, wanted_places, want_moves=False, limits=limits)
    return found.place_inputs(where) if isinstance(where, int) else found.tile_inputs(*where)


def _walks(problem: Problem, seen: Exploration, rests: Mapping[int, Rest]) -> list[Passage]:
    """Return the walks from rest straight into an ending place, which are no moves and which no search asks for."""
    found = []
    ways = sorted({(source, place) for source, place, _ in seen.place_moves if place in problem.ending_ids})
    for source, place in ways:
        if source not in rests or problem.footholds[source].is_spring:
            continue
        start = rests[source].state
        middle = (2 * problem.level.places[place].column + 1) * problem.terrain.tile // 2
        towards = 1 if 2 * middle > 2 * start.x + problem.motion.body_w else -1
        walk = np.zeros((WALK_TICKS, 4), np.int64)
        walk[:, 0] = towards
        made = passages(start, walk, problem.finder, problem.motion, problem.terrain)
        found += [passage for passage in made if passage.place is not None and not passage.hops]
    return found


def _first(problem: Problem, rests: Mapping[int, Rest]) -> FirstRest | None:
    """Return the rest that is reached soonest."""
    calm = [index for index in rests if not problem.footholds[index].is_spring]
    if not calm:
        return None
    soonest = min(calm, key=lambda index: (rests[index].way_in.ticks, index))
    return FirstRest(soonest, rests[soonest].state, rests[soonest].way_in.inputs())


def _end_of(problem: Problem, inputs: np.ndarray) -> State:
    return State(*run_script(problem.start, inputs, problem.motion, problem.terrain)[-1].tolist())
