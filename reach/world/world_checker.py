"""Checking a world: every level from every entrance that can be reached, then the world as a whole."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import reach
from reach.options import CheckOptions
from reach.world.fixpoint import Runner, run_all
from reach.world.level_findings import gathered
from reach.world.passing_by import questions
from reach.world.result import Job, LevelResult, LinkVerdict, Outcome, WorldReport
from reach.world.rules.registry import judge
from reach.world.serial_runner import SerialRunner
from reach.world.ways import begin, ways_of
from reach.world.world_evidence import WorldEvidence

if TYPE_CHECKING:
    from reach.world.world_file import LoadedWorld, WorldLevel

DEFAULTS = CheckOptions()


def check_world(
    world: LoadedWorld,
    options: CheckOptions = DEFAULTS,
    runner: Runner | None = None,
    on_outcome: Callable[[Outcome], object] | None = None,
) -> WorldReport:
    """Return everything that can be said about a world, each claim with its proof.

    Parameters
    ----------
    world : LoadedWorld
    options : CheckOptions
        Of every level's check; the places to begin at are those that links lead to, not `from_place`. The limits are
        for each check alone.
    runner : Runner, optional
        Runs the checks; by default one after the other in this process.
    on_outcome : callable, optional
        Called with what became of each check, as it comes, in whatever order that is.

    Returns
    -------
    WorldReport
        A level that could not be checked is in it, and why; what hangs on it is undecided.
    """

    def ask(done: Mapping[Job, Outcome]) -> list[Job]:
        return questions(world, ways_of(world, done), done)

    outcomes, asides = run_all(world, runner or SerialRunner(world, options), ask, on_outcome)
    ways = ways_of(world, outcomes)
    by_level: dict[str, list[Outcome]] = {level.id: [] for level in world.levels}
    for job, outcome in outcomes.items():
        by_level[job.level].append(outcome)
    findings = {
        level.id: gathered(
            level.level,
            by_level[level.id],
            {one.job.entrance: ways.verdict(begin((level.id, one.job.entrance))) for one in by_level[level.id]},
        )
        for level in world.levels
    }
    evidence = WorldEvidence(world, outcomes, asides, ways, findings)
    return WorldReport(
        product=f"reach {reach.__version__}",
        name=world.name,
        origin=world.origin,
        linked=world.linked,
        start=world.start,
        must_reach=world.must_reach,
        options=options.stated(),
        levels=tuple(_result(level, by_level[level.id], evidence) for level in world.levels),
        links=tuple(LinkVerdict(link.source, link.target, evidence.verdict(link.source)) for link in world.links),
        findings=judge(evidence),
        instead_of=world.instead_of,
    )


def _result(level: WorldLevel, outcomes: list[Outcome], evidence: WorldEvidence) -> LevelResult:
    return LevelResult(
        id=level.id,
        file=level.file,
        level_name=level.id if level.level is None else level.level.name,
        movement_name=level.movement.name,
        verdict=evidence.entered[level.id],
        outcomes=tuple(outcomes),
        findings=evidence.findings[level.id],
        why=level.why,
    )
