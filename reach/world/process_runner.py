"""Many jobs over the cores: each worker is a process of its own, and a job that fails takes nothing else with it.

Workers are started when there is something to check that is not kept from earlier. The first one alone sees to it that
all kernels are compiled; the others start when it is done with that. The parent writes every file, so that nothing is
half written wherever a worker is ended. It holds no report longer than it takes to hand it on.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Mapping
from multiprocessing import connection, resource_tracker
from types import TracebackType
from typing import TYPE_CHECKING, Any

from reach.compiler.kernel_cache import tell_compiling
from reach.world.intake import Intake
from reach.world.job_run import failed
from reach.world.result import Job, Outcome
from reach.world.serial_runner import Standing
from reach.world.task import Task
from reach.world.worker import News, Stage, work

if TYPE_CHECKING:
    from reach.world.cache import Cache

LEAVING_S = 2.0
"""How long a worker that has nothing to do may take to leave by itself."""

BEGINNING = "beginning"


def usable_cores() -> int:
    """Return how many processes can work side by side on this machine; at least 1."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class _Worker:
    """A process, the link to it, and the task it has; it is sent the task as soon as it is ready."""

    def __init__(self, number: int, prepares: bool, task: Task, key: str) -> None:
        context = multiprocessing.get_context("spawn")
        self.link, far = context.Pipe()
        self.job: Job | None = task.job
        self.key = key
        self.stage = BEGINNING
        self._waiting: Task | None = task
        self._process: Any = context.Process(
            target=work, args=(far, prepares), name=f"reach-worker-{number}", daemon=True
        )
        with _interrupts_held():
            self._process.start()
        far.close()

    @property
    def process_id(self) -> int:
        """The system's number of the process."""
        return int(self._process.pid)

    def is_free(self) -> bool:
        """Whether it can be given a task."""
        return self.job is None and self._process.is_alive()

    def give(self, task: Task, key: str) -> None:
        """Send it a task; if it is gone by now, that is heard when its answer is asked for."""
        self.job, self.key, self.stage = task.job, key, BEGINNING
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):
            self.link.send(task)

    def begin(self) -> None:
        """Send it the task that it was started for: it is ready."""
        task, self._waiting = self._waiting, None
        assert task is not None
        self.give(task, self.key)

    def how_it_ended(self) -> str:
        """Return why there is no answer, in one sentence."""
        self._process.join()
        code = self._process.exitcode
        if code >= 0:
            return f"the process that checked it ended with the exit code {code}"
        name = signal.Signals(-code).name if -code in set(signal.Signals) else f"signal {-code}"
        hint = "; the system does that where memory runs out" if name == "SIGKILL" else ""
        return f"the process that checked it was ended by {name}{hint}"

    def end(self, at_once: bool) -> None:
        """End it: at once, or by itself where it has nothing to do any more."""
        self.link.close()
        if not at_once and self.job is None:
            self._process.join(LEAVING_S)
        self._process.kill()
        self._process.join()
        self._process.close()


@contextlib.contextmanager
def _interrupts_held() -> Iterator[None]:
    """Within it Ctrl-C waits, and processes that are started never hear of it: a worker's first moments are silent."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # or starting it would let Ctrl-C through again
    held: list[int] = []
    usual = signal.getsignal(signal.SIGINT)
    # the mask is this thread's, and what it starts has it too; another thread may take the signal all the same
    waits = threading.current_thread() is threading.main_thread() and callable(usual)
    if waits:
        signal.signal(signal.SIGINT, lambda number, frame: held.append(number))
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        if waits:
            signal.signal(signal.SIGINT, usual)
        if held and callable(usual):
            usual(held[0], None)


class ProcessRunner:
    """Does jobs side by side; a context, at whose end every worker has ended.

    Parameters
    ----------
    task_of : callable
        Gives the task of a job, asked once a job and not long before it is needed; where it raises InputError, the job
        has failed.
    jobs_in_parallel : int
        The most workers, at least 1. One works in a process of its own too.
    cache : Cache, optional
        Where reports are looked up first, and kept.
    watch : callable, optional
        Told how far the run is, whenever that changes.

    Examples
    --------
    >>> with ProcessRunner(task_of, 2) as runner:  # doctest: +SKIP
    ...     runner.submit(Job("quarry", "gate"))
    ...     for outcome in runner.as_completed():
    ...         runner.submit(Job("windmill", "door"))
    """

    def __init__(
        self,
        task_of: Callable[[Job], Task],
        jobs_in_parallel: int,
        cache: Cache | None = None,
        watch: Callable[[Standing], object] = lambda standing: None,
    ) -> None:
        """No process is started yet."""
        self._intake = Intake(task_of, cache)
        self._most = jobs_in_parallel
        self._watch = watch
        self._workers: list[_Worker] = []
        self._started = 0
        self._compiled = False

    def __enter__(self) -> ProcessRunner:
        """Return the runner."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End all workers, those at work as well; what the cache has too much of goes."""
        for worker in self._workers:
            worker.link.close()
        while self._workers:
            self._workers.pop().end(at_once=kind is not None)
        if kind is None:
            self._intake.prune()

    @property
    def at_work(self) -> Mapping[Job, int]:
        """The jobs that are done now, each with the id of the process that does it."""
        return {worker.job: worker.process_id for worker in self._workers if worker.job}

    def submit(self, job: Job) -> None:
        """Add a job, before or while others are done; one that was added before is not done again."""
        self._intake.submit(job)

    def as_completed(self) -> Iterator[Outcome]:
        """Yield what became of each job, in the order in which they end, until none is left."""
        intake = self._intake
        while True:
            self._employ()
            self._show()
            patience: float | None = None
            if intake.has_new and len(intake.to_check) < self._most:
                patience = 0.0
                outcome = intake.look_up()
                if outcome is not None:
                    yield self._counted(outcome)
            elif not intake.to_check and not any(worker.job for worker in self._workers):
                return
            for worker in self._heard(patience):
                outcome = self._hear(worker)
                if outcome is not None:
                    yield self._counted(outcome)

    def _employ(self) -> None:
        """Give what is to check to workers that wait for it, and to new ones."""
        to_check = self._intake.to_check
        for worker in self._workers:
            if to_check and worker.is_free():
                worker.give(*to_check.popleft())
        while to_check and len(self._workers) < (self._most if self._compiled else 1):
            task, key = to_check.popleft()
            try:
                self._workers.append(_Worker(self._started + 1, not self._compiled, task, key))
            except OSError:
                # The system gives no more processes: those that there are do the work.
                if not self._workers:
                    raise
                to_check.appendleft((task, key))
                self._most = len(self._workers)
            self._started += 1

    def _heard(self, patience: float | None) -> list[_Worker]:
        """Workers that have sent something or ended."""
        links = [worker.link for worker in self._workers]
        heard = connection.wait(links, patience) if links else []
        return [worker for worker in self._workers if worker.link in heard]

    def _hear(self, worker: _Worker) -> Outcome | None:
        """Take in what a worker sent, or that it has ended; return what became of its job, if that is known now."""
        try:
            message = worker.link.recv()
        except (EOFError, OSError):
            return self._lost(worker)
        if message is News.COMPILING:
            tell_compiling()
        elif message is News.READY:
            self._compiled = True
            worker.begin()
        elif isinstance(message, Stage):
            worker.stage = message.words
        else:
            job, key, worker.job = worker.job, worker.key, None
            assert job is not None
            self._employ()  # before whoever takes the outcome makes it wait
            return self._intake.judged(job, key, message)
        return None

    def _lost(self, worker: _Worker) -> Outcome | None:
        """Part with a worker that has ended, and with the job that it had."""
        self._workers.remove(worker)
        why = worker.how_it_ended()
        worker.end(at_once=True)
        return None if worker.job is None else failed(worker.job, why)

    def _counted(self, outcome: Outcome) -> Outcome:
        self._intake.counted(outcome)
        self._show()
        return outcome

    def _show(self) -> None:
        """Tell how far the run is."""
        running = tuple((worker.job, worker.stage) for worker in self._workers if worker.job)
        self._watch(self._intake.standing(running))
