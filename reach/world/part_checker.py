"""Checking a part of a world: some levels, each from wherever a player could enter it, and nothing of the whole."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import reach
from reach.findings import Verdict
from reach.options import CheckOptions
from reach.world.changed_levels import jobs_of
from reach.world.fixpoint import Outcomes, Runner, over_reached, run_these
from reach.world.level_findings import gathered
from reach.world.result import LevelResult, LinkVerdict, Outcome, WorldReport

if TYPE_CHECKING:
    from reach.world.changed_levels import Chosen
    from reach.world.world_file import Link, LoadedWorld, WorldLevel


def check_part(
    world: LoadedWorld,
    chosen: Chosen,
    options: CheckOptions,
    runner: Runner,
    on_outcome: Callable[[Outcome], object] | None = None,
) -> WorldReport:
    """Return what can be said of some levels of a world.

    They are checked from every place that a link leads to, or where the game begins, as if a player could come to
    each: whether one can follows from the other levels too. So there are no findings of the world, no level is told to
    be entered or not, and a link is told to be impassable only if from none of those places its exit can be reached.

    Parameters
    ----------
    world : LoadedWorld
    chosen : Chosen
        The levels to check.
    options, runner, on_outcome
        As of `check_world`.
    """
    outcomes = run_these(world, runner, jobs_of(world, chosen), on_outcome)
    return WorldReport(
        product=f"reach {reach.__version__}",
        name=world.name,
        origin=world.origin,
        linked=world.linked,
        start=world.start,
        must_reach=world.must_reach,
        options=options.stated(),
        levels=tuple(_result(level, chosen, outcomes) for level in world.levels),
        links=tuple(_verdict(world, link, chosen, outcomes) for link in world.links),
        findings=(),
        changed_since=chosen.revision,
        instead_of=world.instead_of,
    )


def _result(level: WorldLevel, chosen: Chosen, outcomes: Outcomes) -> LevelResult:
    own = [outcome for job, outcome in outcomes.items() if job.level == level.id]
    return LevelResult(
        id=level.id,
        file=level.file,
        level_name=level.id if level.level is None else level.level.name,
        movement_name=level.movement.name,
        verdict=Verdict.UNDECIDED,
        outcomes=tuple(own),
        findings=gathered(level.level, own, {one.job.entrance: Verdict.REACHABLE for one in own}),
        why=level.why,
        left_out=level.id not in chosen.levels,
    )


def _verdict(world: LoadedWorld, link: Link, chosen: Chosen, outcomes: Outcomes) -> LinkVerdict:
    level, place = link.source
    own = [outcome for job, outcome in outcomes.items() if job.level == level]
    impassable = level in chosen.levels and not any(place in over_reached(world, outcome) for outcome in own)
    return LinkVerdict(link.source, link.target, Verdict.UNREACHABLE if impassable else Verdict.UNDECIDED)
