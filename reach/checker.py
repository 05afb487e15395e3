"""Checking a level: explore every input, find scripts, measure, ask where a player is stuck, judge."""

from __future__ import annotations

from dataclasses import dataclass

from reach import assembly
from reach.errors import InputError
from reach.errors import Problem as Mistake
from reach.evidence import Evidence, is_out_of_reach
from reach.findings import Report, Tile, Verdict
from reach.level import Level
from reach.measures import cures, measure
from reach.movement import Movement
from reach.options import CheckOptions
from reach.outlooks import find_outlooks
from reach.proofs import Sought, questions, script_of, script_to, search
from reach.reachability.barriers import first_barriers
from reach.reachability.memory import Memory
from reach.reachability.problem import Problem, Tell, pose
from reach.routes import easiest_route
from reach.rules.registry import judge
from reach.script import Script
from reach.verdicts import tile_verdicts, verdict

__all__ = ["CheckOptions", "Memory", "Proof", "check", "prove"]

DEFAULTS = CheckOptions()


@dataclass(frozen=True)
class Proof:
    """The verdict on one place or tile, with the script where it is reachable; `why` says what the verdict rests on."""

    verdict: Verdict
    script: Script | None
    why: str


def check(
    level: Level,
    movement: Movement,
    options: CheckOptions = DEFAULTS,
    progress: Tell | None = None,
    memory: Memory | None = None,
) -> Report:
    """Return everything that can be said about a level under a movement, each claim with its proof.

    Parameters
    ----------
    level : Level
    movement : Movement
    options : CheckOptions
    progress : callable, optional
        Called with what is being done and, where it is known, which part of it is done (0 to 1).
    memory : Memory, optional
        What earlier checks left, so that this one works out again only what is not the same; it is added to. The report
        is the same as without.

    Returns
    -------
    Report
        Over a limit, everything that is not proved is undecided.

    Raises
    ------
    InputError
        If there is no such place to begin at, or the body cannot be there.
    """
    problem = pose(level, movement, options, progress, memory)
    seen = problem.explore()
    proofs = search(problem, seen)
    measures = measure(problem, seen, proofs.passages)
    places = assembly.judged_places(problem, seen, proofs)
    tiles = tile_verdicts(problem.standable, seen, proofs.tiles, proofs.exhausted)
    graph = assembly.move_graph(problem, seen, proofs, measures)
    route = easiest_route(problem, graph, measures, proofs.places, proofs.first)
    cured, cures_limit = cures(problem, measures, route.moves if route else ())
    outlooks = find_outlooks(seen, graph, proofs.rests, problem.ending_ids, questions(problem, seen))
    wanting = [index for index, place in enumerate(places) if is_out_of_reach(place)]
    barriers = first_barriers(problem, seen, wanting)
    evidence = Evidence(
        level=level,
        movement=movement,
        options=options,
        exploration=seen,
        graph=graph,
        places=places,
        tiles=tiles,
        scripts={level.places[index].id: script_of(problem, inputs) for index, inputs in proofs.places.items()},
        moves=measures.moves,
        route=route.moves if route else (),
        route_to=route.ending if route else None,
        route_easiest=route is None or route.easiest,
        outlooks=outlooks,
        cures=cured,
        limit=assembly.limit_hit(
            problem, seen, measures.limit or cures_limit, proofs.gave_up, outlooks, barriers.limit
        ),
        search_end=assembly.limit_words(problem, proofs.gave_up.why) if proofs.gave_up else "",
        barriers=barriers.first,
        barriers_unknown=barriers.unknown,
        barriers_end=assembly.barring_words(problem, barriers),
    )
    return assembly.report(evidence, judge(evidence))


def prove(
    level: Level,
    movement: Movement,
    target: str | Tile,
    options: CheckOptions = DEFAULTS,
    progress: Tell | None = None,
) -> Proof:
    """Return whether one place or standable tile can be reached, with the script or with what excludes it.

    Parameters
    ----------
    level : Level
    movement : Movement
    target : str or (column, row)
        A place's id, or a standable tile.
    options, progress
        As of `check`.

    Raises
    ------
    InputError
        If there is no such place, or nobody could ever stand on the tile; and as `check`.
    """
    problem = pose(level, movement, options, progress)
    goal = _target(problem, target)
    seen = problem.explore()
    has_it = bool(seen.touched[goal] if isinstance(goal, int) else seen.carried[goal[1], goal[0]])
    sought = script_to(problem, seen, goal) if has_it or not seen.complete else Sought(None, False, None)
    found = verdict(sought.inputs is not None, has_it, seen.complete, sought.exhausted, str(target))
    if sought.inputs is not None:
        return Proof(found, script_of(problem, sought.inputs), f"a script of {len(sought.inputs)} ticks reaches it")
    if found is Verdict.UNREACHABLE:
        why = "every state that any input can lead to was covered, and none is there"
        if has_it or not seen.complete:
            why = "every single state that any input can lead to was visited, and none is there"
        return Proof(found, None, why)
    ended = sought.gave_up.why if sought.gave_up else ""
    if seen.why or ended == "time limit":
        return Proof(found, None, assembly.limit_words(problem, seen.why or ended))
    return Proof(found, None, f"it could not be excluded, but no script was found that gets there: {ended}")


def _target(problem: Problem, target: str | Tile) -> int | Tile:
    """Return a place's index or a standable tile."""
    level = problem.level
    if isinstance(target, str):
        return level.places.index(level.place(target))
    column, row = target
    if 0 <= row < level.rows and 0 <= column < level.columns and problem.standable[row, column]:
        return (column, row)
    allowed = "a tile whose top carries and on which the body has room"
    nearest = problem.nearest_standable(column, row)
    if nearest is not None:
        allowed += f"; the nearest is {nearest[0]},{nearest[1]}"
    raise InputError([Mistake(level.origin, f"tile {column},{row}", "a tile that nobody can stand on", allowed)])
