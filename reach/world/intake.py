"""What every runner does that hands checks out: jobs are taken on once, and looked up before they are checked."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING

from reach.errors import InputError
from reach.world.cache import is_settled, key_of
from reach.world.job_run import failed
from reach.world.result import Job, Outcome, State
from reach.world.serial_runner import Standing
from reach.world.stored_report import from_bytes
from reach.world.world_file import one_line

if TYPE_CHECKING:
    from reach.world.cache import Cache
    from reach.world.task import Task
    from reach.world.worker import Answer


class Intake:
    """Jobs from when they are submitted to when they are handed out, and their answers when they come back.

    `to_check` holds the tasks of jobs of which nothing is kept, each with its key in the cache.

    Parameters
    ----------
    task_of : callable
        Gives the task of a job; where it raises InputError, the job has failed.
    cache : Cache or None
        Where reports are looked up first, and kept.
    """

    def __init__(self, task_of: Callable[[Job], Task], cache: Cache | None) -> None:
        """No job is known yet."""
        self.to_check: deque[tuple[Task, str]] = deque()
        self._task_of = task_of
        self._cache = cache
        self._submitted: set[Job] = set()
        self._new: deque[Job] = deque()
        self._done = 0

    @property
    def has_new(self) -> bool:
        """Whether there is a job that was not looked up yet."""
        return bool(self._new)

    def submit(self, job: Job) -> None:
        """Add a job; one that was added before is not done again."""
        if job not in self._submitted:
            self._submitted.add(job)
            self._new.append(job)

    def look_up(self) -> Outcome | None:
        """Return what is known of the next new job without a check; else it is one to check."""
        job = self._new.popleft()
        try:
            task = self._task_of(job)
        except InputError as error:
            return failed(job, one_line(error))
        key = ""
        if self._cache is not None:
            key = key_of(task)
            report = self._cache.find(key)
            if report is not None:
                return Outcome(job, State.CHECKED, report, cached=True)
        self.to_check.append((task, key))
        return None

    def judged(self, job: Job, key: str, answer: Answer) -> Outcome:
        """Return what an answer says of a job; its report is kept."""
        if answer.stored is None:
            return failed(job, answer.why)
        report = from_bytes(answer.stored)
        if self._cache is not None and is_settled(report):
            self._cache.keep(key, answer.stored)
        return Outcome(job, State.CHECKED, report)

    def counted(self, outcome: Outcome) -> Outcome:
        """Return an outcome that is handed on now: its job is done."""
        self._done += 1
        return outcome

    def standing(self, running: tuple[tuple[Job, str], ...]) -> Standing:
        """Return how far the run is, while these jobs run."""
        return Standing(running, self._done, len(self._submitted) - self._done - len(running))

    def prune(self) -> None:
        """Remove what the cache has too much of by now."""
        if self._cache is not None and self._cache.kept:
            self._cache.prune()
