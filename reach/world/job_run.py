"""One job: a level checked from one entrance. Whatever goes wrong in it ends this job alone."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reach import checker
from reach.errors import InputError
from reach.level import ending_at
from reach.world.result import Job, Outcome, State
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
        asked = level_asked(level, job)
        report = checker.check(asked, level.movement, replace(options, from_place=job.entrance), tell)
    except InputError as error:
        return failed(job, one_line(error))
    except MemoryError:
        return failed(job, "there was not enough memory for it")
    except Exception as error:
        text = " ".join(str(error).split())
        return failed(job, f"internal error, a fault of reach itself: {type(error).__name__}: {text}")
    return Outcome(job, State.CHECKED, report)


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
