"""One check as it goes to another process, and what comes back from there."""

from __future__ import annotations

import os
import traceback
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from reach.errors import InputError, fault_text

if TYPE_CHECKING:
    from reach.level import Level
    from reach.movement import Movement
    from reach.options import CheckOptions
    from reach.world.result import Job

NO_MEMORY = "there is not enough memory for this level; a memory limit ends its exploration before that"


@dataclass(frozen=True)
class Task:
    """All that a job needs. It can be pickled, for the way to another process. Made by `task_for`."""

    job: Job
    level: Level
    movement: Movement
    options: CheckOptions


@dataclass(frozen=True)
class Answer:
    """What became of a task: the stored report, or why there is none."""

    stored: bytes | None
    why: str = ""


def task_for(job: Job, level: Level, movement: Movement, options: CheckOptions) -> Task:
    """Return the task of a job; the place to begin at, in its options, is the job's."""
    sendable = replace(level, launch_px_per_s=dict(level.launch_px_per_s))
    return Task(job, sendable, movement, replace(options, from_place=job.entrance))


def carry_out(task: Task) -> Answer:
    """Check a level; whatever goes wrong with it is an answer too."""
    from reach.checker import check
    from reach.world.stored_report import to_bytes

    task.level.material.flags.writeable = False
    try:
        return Answer(to_bytes(check(task.level, task.movement, task.options)))
    except InputError as error:
        return Answer(None, why_not(error))
    except MemoryError:
        return Answer(None, NO_MEMORY)
    except Exception as error:
        if os.environ.get("REACH_DEBUG") == "1":
            traceback.print_exception(error)
        return Answer(None, fault_text(error))


def why_not(error: InputError) -> str:
    """Return everything that is wrong with an input, on one line."""
    return "; ".join(str(error).splitlines())
