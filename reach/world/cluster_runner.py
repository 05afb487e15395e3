"""Many jobs over the machines of a cluster: workers get a task and return its answer, and nothing else.

Whoever runs this looks up and keeps reports, and writes every file. So many tasks are out at a time that every worker
has the next one at hand; the others stay here. A cluster blames the death of a worker on all tasks that the worker had:
those that it gives up are asked again at the end, each with nothing beside it, and the one that then ends its workers
has failed, alone.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import TracebackType
from typing import TYPE_CHECKING, Protocol

from reach.world.cluster_worker import packed
from reach.world.intake import Intake
from reach.world.job_run import failed
from reach.world.result import Job, Outcome
from reach.world.serial_runner import Standing
from reach.world.worker import Answer

if TYPE_CHECKING:
    from reach.world.cache import Cache
    from reach.world.task import Task

OUT_FOR_A_THREAD = 2
"""Tasks that are out at a time, for each thread of the cluster: one being done, one at hand."""
LOOK_AGAIN_S = 1.0
"""How long nothing may be heard until it is looked again how large the cluster is."""

HANDED_OUT = "on the cluster"


@dataclass(frozen=True)
class GivenUp:
    """A cluster's answer to a task whose workers ended, so many of them."""

    workers: int


class Cluster(Protocol):
    """Where tasks are done; `reach.world.dask_cluster` is one. A cluster that is lost raises InputError."""

    def threads(self) -> int:
        """Return how many tasks its workers can do side by side; 0 where it has no worker."""

    def begin(self, number: int, task: bytes) -> None:
        """Have a task done, as `packed` gives it, under a number that is used once."""

    def heard(self, patience_s: float) -> list[tuple[int, Answer | GivenUp]]:
        """Return the answers that have come, with their numbers; wait so long for the first of them."""

    def close(self, at_once: bool) -> None:
        """Leave the cluster; what is not done there is cancelled."""


class ClusterRunner:
    """Does jobs on a cluster; a context, at whose end the cluster has been left.

    Parameters
    ----------
    task_of : callable
        Gives the task of a job, asked once a job and not long before it is needed; where it raises InputError, the job
        has failed.
    cluster : Cluster
    cache : Cache, optional
        Where reports are looked up first, and kept, on this machine.
    watch : callable, optional
        Told how far the run is, whenever that changes.
    say : callable, optional
        Told in a sentence when nothing can be done for want of workers.
    """

    def __init__(
        self,
        task_of: Callable[[Job], Task],
        cluster: Cluster,
        cache: Cache | None = None,
        watch: Callable[[Standing], object] = lambda standing: None,
        say: Callable[[str], object] = lambda message: None,
    ) -> None:
        """No task is handed out yet."""
        self._intake = Intake(task_of, cache)
        self._cluster = cluster
        self._watch = watch
        self._say = say
        self._handed_out = 0
        self._out: dict[int, tuple[Task, str]] = {}
        self._given_up: deque[tuple[Task, str]] = deque()
        self._alone: int | None = None
        self._said_waiting = False

    def __enter__(self) -> ClusterRunner:
        """Return the runner."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Leave the cluster, in the middle as well; what the cache has too much of goes."""
        self._cluster.close(at_once=kind is not None)
        if kind is None:
            self._intake.prune()

    def submit(self, job: Job) -> None:
        """Add a job, before or while others are done; one that was added before is not done again."""
        self._intake.submit(job)

    def as_completed(self) -> Iterator[Outcome]:
        """Yield what became of each job, in the order in which they end, until none is left.

        Raises
        ------
        InputError
            If the cluster is lost.
        """
        intake = self._intake
        while True:
            self._hand_out()
            self._show()
            patience_s = LOOK_AGAIN_S
            if intake.has_new and not intake.to_check:
                patience_s = 0.0
                outcome = intake.look_up()
                if outcome is not None:
                    yield self._counted(outcome)
            elif not intake.to_check and not self._out:
                if not self._given_up:
                    return
                self._ask_alone()
            for number, answer in self._cluster.heard(patience_s):
                outcome = self._judged(number, answer)
                if outcome is not None:
                    yield self._counted(outcome)

    def _hand_out(self) -> None:
        """Begin as many tasks as the cluster, as it is now, has use for."""
        if not self._intake.to_check and not self._out:
            return
        threads = self._cluster.threads()
        if threads == 0 and not self._said_waiting:
            self._say("waiting for workers: the scheduler has none")
        self._said_waiting = threads == 0
        while self._intake.to_check and len(self._out) < OUT_FOR_A_THREAD * threads:
            self._begin(*self._intake.to_check.popleft())

    def _begin(self, task: Task, key: str) -> None:
        self._handed_out += 1
        self._out[self._handed_out] = (task, key)
        self._cluster.begin(self._handed_out, packed(task))

    def _ask_alone(self) -> None:
        """Begin a task that the cluster gave up once more, while nothing else is there to be blamed for."""
        self._begin(*self._given_up.popleft())
        self._alone = self._handed_out

    def _judged(self, number: int, answer: Answer | GivenUp) -> Outcome | None:
        """What an answer says of its job; None if it has to be asked again."""
        task, key = self._out.pop(number)
        if not isinstance(answer, GivenUp):
            return self._intake.judged(task.job, key, answer)
        if number != self._alone:
            self._given_up.append((task, key))
            return None
        why = f"{answer.workers} workers, one after the other, ended while they checked it and nothing else"
        return failed(task.job, f"{why}; that happens where memory runs out")

    def _counted(self, outcome: Outcome) -> Outcome:
        self._intake.counted(outcome)
        self._show()
        return outcome

    def _show(self) -> None:
        """Tell how far the run is."""
        self._watch(self._intake.standing(tuple((task.job, HANDED_OUT) for task, _ in self._out.values())))
