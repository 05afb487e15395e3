"""What a check found, put together: the graph, the verdicts on places, what a limit cut off, the report."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

import reach
from reach.evidence import Evidence, FootholdOutlook
from reach.findings import Finding, PlaceVerdict, Report
from reach.graph import AIR, MoveGraph, over_graph, under_graph
from reach.reachability.barriers import MOST_POLYGON_TICKS
from reach.reachability.exploration_run import EFFORT
from reach.verdicts import place_verdicts

if TYPE_CHECKING:
    from reach.measures import Measures
    from reach.proofs import Proofs
    from reach.reachability.barriers import Barriers
    from reach.reachability.problem import Problem
    from reach.reachability.result import Exploration
    from reach.reachability.search_run import GaveUp


def move_graph(problem: Problem, seen: Exploration, proofs: Proofs, measures: Measures) -> MoveGraph:
    """Return both graphs; a start that is not at rest on ordinary ground may come down anywhere, as far as is known."""
    foothold = problem.finder.at(problem.start.x, problem.start.y) if problem.start.grounded else None
    in_air = foothold is None or foothold.is_spring
    if foothold is None or foothold.is_spring:
        starts = (AIR, *np.flatnonzero(seen.landed).tolist())
    else:
        starts = (foothold.index,)
    return MoveGraph(
        over_=over_graph(seen, problem.ending_ids, in_air=in_air),
        under_=under_graph(problem.footholds, problem.ending_ids.values(), measures.legs),
        over_starts=starts,
        under_starts=(proofs.first.foothold,) if proofs.first else (),
        endings=tuple(sorted(problem.ending_ids.values())),
        move_edges=measures.edges,
    )


def judged_places(problem: Problem, seen: Exploration, proofs: Proofs) -> tuple[PlaceVerdict, ...]:
    """Return the verdicts on all places, in the level's order."""
    places = problem.level.places
    verdicts = place_verdicts([place.id for place in places], seen, proofs.places, proofs.exhausted)
    return tuple(
        PlaceVerdict(
            id=place.id,
            kind=place.kind.value,
            at=(place.column, place.row),
            required=place.required,
            must_be=place.must_be,
            verdict=verdicts[index],
            ticks=len(proofs.places[index]) if index in proofs.places else None,
        )
        for index, place in enumerate(places)
    )


def limit_words(problem: Problem, why: str) -> str:
    """Return which limit was hit, in words, from the short name of it; "" for ""."""
    if why == "time limit":
        return f"the time limit of {problem.options.time_limit_s:g} s was reached"
    if why == "memory limit":
        return f"the memory limit of {problem.options.memory_limit_mib} MiB was reached"
    return why


def barring_words(problem: Problem, barriers: Barriers) -> str:
    """Return why it was not found out of some places what bars the way to them first, "" if it was of all."""
    if barriers.why == EFFORT:
        over = f"{MOST_POLYGON_TICKS // 1_000_000} million steps"
        return f"following what leads on from such ground took over {over} more than exploring the level"
    return limit_words(problem, barriers.why)


def limit_hit(
    problem: Problem,
    seen: Exploration,
    measuring: str,
    gave_up: GaveUp | None,
    outlooks: Iterable[FootholdOutlook],
    barring: str,
) -> str:
    """Return which limit left something undone, "" if none did.

    `measuring` is the one that measuring ran into, in words; `barring`, by its short name, the one that asking what
    bars the way did.
    """
    if not seen.complete:
        return limit_words(problem, seen.why)
    if gave_up is not None and gave_up.by_limit:
        return limit_words(problem, gave_up.why)
    if measuring:
        return measuring
    return limit_words(problem, next((one.limit for one in outlooks if one.limit), barring))


def report(evidence: Evidence, findings: tuple[Finding, ...]) -> Report:
    """Return the report."""
    level, movement, seen = evidence.level, evidence.movement, evidence.exploration
    motion = movement.motion
    return Report(
        product=f"reach {reach.__version__}",
        level_name=level.name,
        level_sha256=level.sha256,
        columns=level.columns,
        rows=level.rows,
        tile_px=level.tile_px,
        movement_name=movement.name,
        movement_sha256=movement.sha256,
        tick_rate_hz=movement.tick_rate_hz,
        body_px=(motion.body_w / 65536, motion.body_h / 65536),
        from_place=evidence.options.from_place,
        options=evidence.options.stated(),
        places=evidence.places,
        tiles=evidence.tiles,
        moves=evidence.moves,
        route=evidence.route,
        route_to=evidence.route_to,
        route_easiest=evidence.route_easiest,
        findings=findings,
        scripts=evidence.scripts,
        coverage=seen.coverage,
        complete=not evidence.limit,
        incomplete_why=evidence.limit,
        has_ending=any(place.ends_level for place in level.places),
    )
