"""Every job of a world: from where the game begins, over all exits that may be reached, until nothing new opens."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from reach.findings import Verdict
from reach.level import START
from reach.world.result import Job, Outcome, without_drawing

if TYPE_CHECKING:
    from reach.world.world_file import LoadedWorld


class Runner(Protocol):
    """Runs jobs, in whatever order and number at once."""

    def submit(self, job: Job) -> None:
        """Take on a job; also while outcomes are being asked for."""

    def as_completed(self) -> Iterator[Outcome]:
        """Yield the outcome of every job taken on, until none is left; each once, as it comes."""


Outcomes = dict[Job, Outcome]
"""Outcomes by job, in the order of the levels, of their places, and of the places that are passed by."""


def run_all(
    world: LoadedWorld,
    runner: Runner,
    ask: Callable[[Outcomes], Collection[Job]] = lambda outcomes: (),
    on_outcome: Callable[[Outcome], object] | None = None,
) -> tuple[Outcomes, Outcomes]:
    """Return the outcome of every job that opens, and of every question beside.

    What is returned is the same whatever the order in which jobs complete.

    Parameters
    ----------
    world : LoadedWorld
    runner : Runner
    ask : callable, optional
        Told the outcomes when nothing opens any more; returns questions to be asked beside, jobs with `without`.
    on_outcome : callable, optional
        Called with every outcome but those of questions, as it comes; what it holds for pictures is not kept in what is
        returned.
    """
    taken = set(first_jobs(world))
    for job in first_jobs(world):
        runner.submit(job)
    outcomes: Outcomes = {}
    for outcome in runner.as_completed():
        if on_outcome is not None and not outcome.job.without:
            on_outcome(outcome)
        report = outcome.report
        outcomes[outcome.job] = outcome if report is None else replace(outcome, report=without_drawing(report))
        new = [] if outcome.job.without else opened(world, outcome)
        if len(outcomes) == len(taken) and taken.issuperset(new) and not any(job.without for job in taken):
            new = [*ask(_sorted(world, outcomes))]
        for job in new:
            if job not in taken:
                taken.add(job)
                runner.submit(job)
    ordered = _sorted(world, outcomes)
    return (
        {job: outcome for job, outcome in ordered.items() if not job.without},
        {job: outcome for job, outcome in ordered.items() if job.without},
    )


def run_these(
    world: LoadedWorld,
    runner: Runner,
    jobs: Collection[Job],
    on_outcome: Callable[[Outcome], object] | None = None,
) -> Outcomes:
    """Return the outcome of some jobs and of nothing that opens behind them; otherwise as `run_all`."""
    for job in jobs:
        runner.submit(job)
    outcomes: Outcomes = {}
    for outcome in runner.as_completed():
        if on_outcome is not None:
            on_outcome(outcome)
        report = outcome.report
        outcomes[outcome.job] = outcome if report is None else replace(outcome, report=without_drawing(report))
    return _sorted(world, outcomes)


def first_jobs(world: LoadedWorld) -> list[Job]:
    """Return where play begins: the start of the game or, in a folder, the start of every level."""
    if world.start is not None:
        return [Job(*world.start)]
    return [Job(each.id, START if each.level is None else each.level.start.id) for each in world.levels]


def over_reached(world: LoadedWorld, outcome: Outcome) -> list[str]:
    """Return the places that an outcome does not exclude; from a job that failed, every place of its level."""
    if outcome.report is None:
        return list(world.place_ids(outcome.job.level))
    return [place.id for place in outcome.report.places if place.verdict is not Verdict.UNREACHABLE]


def under_reached(outcome: Outcome) -> list[str]:
    """Return the places that a script reaches; from a job that failed, none."""
    if outcome.report is None:
        return []
    return [place.id for place in outcome.report.places if place.verdict is Verdict.REACHABLE]


def opened(world: LoadedWorld, outcome: Outcome) -> list[Job]:
    """Return what opens behind an outcome: the entrances that every exit leads to which it does not exclude."""
    spots = [(outcome.job.level, place) for place in over_reached(world, outcome)]
    return [Job(*world.leads_to[spot]) for spot in spots if spot in world.leads_to]


def _sorted(world: LoadedWorld, outcomes: Outcomes) -> Outcomes:
    levels = {level.id: index for index, level in enumerate(world.levels)}

    def order(job: Job) -> tuple[int, list[int]]:
        places = world.place_ids(job.level)
        return levels[job.level], [places.index(each) for each in (job.entrance, job.without) if each in places]

    return {job: outcomes[job] for job in sorted(outcomes, key=order)}
