"""Running the checks of a world for a command: where they run, and what is told on the way."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from typing import TYPE_CHECKING

from reach.cli import streams
from reach.errors import InputError, Problem
from reach.findings import Severity
from reach.wording import count_words, list_words

if TYPE_CHECKING:
    from reach.options import CheckOptions
    from reach.world.cache import Cache
    from reach.world.fixpoint import Runner
    from reach.world.result import Job, Outcome
    from reach.world.serial_runner import Standing
    from reach.world.task import Task
    from reach.world.world_file import LoadedWorld


SHOWN_RUNNING = 8
"""So many checks that run are named; of the rest only the number is told."""


def require_one_way(jobs: int | None, scheduler: str | None) -> None:
    """Refuse, before any work is done, to run checks both here and on a cluster, and what is no address of one.

    Raises
    ------
    InputError
        If so.
    """
    if scheduler is None:
        return
    from reach.world.dask_cluster import require_address

    if jobs is not None:
        allowed = "one of them: how many checks run side by side on a cluster is up to its workers"
        raise InputError([Problem("<arguments>", "--jobs", "it beside --scheduler", allowed)])
    require_address(scheduler)


def runner_for(
    world: LoadedWorld,
    options: CheckOptions,
    jobs: int | None,
    kept: Cache | None,
    watch: Callable[[Standing], None],
    scheduler: str | None = None,
) -> AbstractContextManager[Runner]:
    """Return what runs the checks: a cluster, this process where they run one by one and nothing is kept, or others."""
    from reach.world.cluster_runner import ClusterRunner
    from reach.world.dask_cluster import DaskCluster
    from reach.world.job_run import task_of
    from reach.world.process_runner import ProcessRunner, usable_cores
    from reach.world.serial_runner import SerialRunner

    def task(job: Job) -> Task:
        return task_of(world.by_id[job.level], job, options)

    if scheduler is not None:
        return ClusterRunner(task, DaskCluster(scheduler), kept, watch, streams.say)
    if jobs == 1 and kept is None:
        return nullcontext(SerialRunner(world, options, watch))
    return ProcessRunner(task, jobs or usable_cores(), kept, watch)


def tell_skipped(world: LoadedWorld) -> None:
    """Tell which files of a folder are no levels."""
    if world.skipped:
        streams.say(f"{world.origin}: not a level, left out: {list_words(world.skipped)}")


def standing_words(standing: Standing) -> str:
    """Say in a line what is running and what is left."""
    shown = [f"{job.level}/{job.entrance}: {stage}" for job, stage in standing.running[:SHOWN_RUNNING]]
    more = len(standing.running) - len(shown)
    running = ", ".join([*shown, *([f"{more} more"] if more else [])])
    return f"{running} ({standing.done} done, {standing.waiting} waiting)"


def outcome_words(outcome: Outcome) -> str:
    """Say in a line what came out of one check."""
    where = f"{outcome.job.level} from {outcome.job.entrance}"
    if outcome.report is None:
        return f"{where}: failed: {outcome.why}"
    counts = [count_words(outcome.report.count(each), each.value) for each in Severity if outcome.report.count(each)]
    limit = "" if outcome.report.complete else f" (not finished: {outcome.report.incomplete_why})"
    return f"{where}: {', '.join(counts) or 'nothing found'}{limit}"
