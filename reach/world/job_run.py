"""One job: a level checked from one entrance. Whatever goes wrong in it ends this job alone."""

from __future__ import annotations

import os
import traceback
from typing import TYPE_CHECKING

from reach.errors import InputError, fault_text
from reach.level import ending_at
from reach.world.result import Job, Outcome, State
from reach.world.task import Task, task_for
from reach.world.world_file import one_line

if TYPE_CHECKING:
    from reach.level import Level
    from reach.options import CheckOptions
    from reach.reachability.problem import Tell
    from reach.world.world_file import WorldLevel


def run_job(level: WorldLevel, job: Job, options: CheckOptions, tell: Tell | None = None) -> Outcome:
    """Return what became of a job; every error but an interruption makes it one that failed.

    Parameters
    ----------
    level : WorldLevel
        The level that the job names.
    job : Job
    options : CheckOptions
        Of the run; the place to begin at is the job's.
    tell : callable, optional
        As `progress` of `reach.checker.check`.
    """
    try:
        task = task_of(level, job, options)
    except InputError as error:
        return failed(job, one_line(error))
    return run_task(task, tell)


def run_task(task: Task, tell: Tell | None = None) -> Outcome:
    """Return what became of a task's job, as `run_job` does."""
    from reach import checker

    try:
        return Outcome(task.job, State.CHECKED, checker.check(task.level, task.movement, task.options, tell))
    except Exception as error:
        return failed(task.job, why_failed(error))


def task_of(level: WorldLevel, job: Job, options: CheckOptions) -> Task:
    """Return the task that a job about a level is.

    Raises
    ------
    InputError
        As `level_asked`.
    """
    return task_for(job, level_asked(level, job), level.movement, options)


def level_asked(level: WorldLevel, job: Job) -> Level:
    """Return the level as a job asks about it: as it is, or as if touching the place `without` ended it.

    Raises
    ------
    InputError
        If the level could not be read.
    """
    if level.level is None:
        raise InputError(level.problems)
    return ending_at(level.level, job.without) if job.without else level.level


def failed(job: Job, why: str) -> Outcome:
    """Return the outcome of a job that has no report, and why."""
    return Outcome(job, State.FAILED, None, why)


def why_failed(error: Exception) -> str:
    """Return what went wrong in a job, in one sentence; whoever looks for faults of reach is shown the whole trace."""
    if isinstance(error, InputError):
        return one_line(error)
    if isinstance(error, MemoryError):
        return "there was not enough memory for it"
    if os.environ.get("REACH_DEBUG") == "1":
        traceback.print_exception(error)
    return f"internal error, a fault of reach itself: {fault_text(error)}"
