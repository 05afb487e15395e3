"""Jobs one after the other, in this process."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reach.world.job_run import run_job

if TYPE_CHECKING:
    from reach.options import CheckOptions
    from reach.world.result import Job, Outcome
    from reach.world.world_file import LoadedWorld


@dataclass(frozen=True)
class Standing:
    """How far a run is: the jobs that run and what each is doing, and how many are done and are waiting."""

    running: tuple[tuple[Job, str], ...]
    done: int
    waiting: int

    @property
    def part(self) -> float:
        """Which part of the jobs known by now is done, 0 to 1: it falls when an exit opens more of them."""
        return self.done / max(1, self.done + self.waiting + len(self.running))


class SerialRunner:
    """Runs the job that was submitted first, then the next."""

    def __init__(
        self, world: LoadedWorld, options: CheckOptions, watch: Callable[[Standing], object] | None = None
    ) -> None:
        """Keep what jobs are run on; `watch` is told how far the run is, whenever that changes."""
        self._world = world
        self._options = options
        self._watch = watch
        self._waiting: deque[Job] = deque()
        self._done = 0

    def submit(self, job: Job) -> None:
        """Take on a job."""
        self._waiting.append(job)

    def as_completed(self) -> Iterator[Outcome]:
        """Run jobs until none is left, and yield what became of each."""
        while self._waiting:
            job = self._waiting.popleft()

            def tell(stage: str, part: float | None, job: Job = job) -> None:
                if self._watch is not None:
                    self._watch(Standing(((job, stage),), self._done, len(self._waiting)))

            tell("beginning", None)
            outcome = run_job(self._world.by_id[job.level], job, self._options, tell)
            self._done += 1
            yield outcome
