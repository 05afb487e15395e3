"""One check, ready for another process: a job with everything that it is done with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement
    from reach.options import CheckOptions
    from reach.world.result import Job


@dataclass(frozen=True)
class Task:
    """All that a job needs. It can be pickled, for the way to another process. Made by `task_for`."""

    job: Job
    level: Level
    movement: Movement
    options: CheckOptions


def task_for(job: Job, level: Level, movement: Movement, options: CheckOptions) -> Task:
    """Return the task of a job; the place to begin at, in its options, is the job's."""
    sendable = replace(level, launch_px_per_s=dict(level.launch_px_per_s))
    return Task(job, sendable, movement, replace(options, from_place=job.entrance))
