"""The process that checks: takes a task, gives its answer, until nobody asks any more."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from multiprocessing.connection import Connection

from reach.world.job_run import run_task, why_failed
from reach.world.stored_report import to_bytes
from reach.world.task import Task

BETWEEN_STAGES_S = 0.5
"""How long a worker waits until it tells again what it is doing."""


class News(Enum):
    """What a worker tells of itself."""

    COMPILING = "compiling"
    READY = "ready"


@dataclass(frozen=True)
class Stage:
    """What a worker is doing for its task."""

    words: str


@dataclass(frozen=True)
class Answer:
    """What became of a task: the stored report, or why there is none."""

    stored: bytes | None
    why: str = ""


def work(link: Connection, prepares: bool) -> None:
    """Be a worker until the link ends, or the process that started it.

    Parameters
    ----------
    link : Connection
        Gives tasks, and takes news, stages and answers: READY first, then one answer a task.
    prepares : bool
        Whether this worker has all kernels compiled before it is ready, so that no other has to.
    """
    from reach.compiler.kernel_cache import when_compiling
    from reach.world.compiling_beside import compiling_beside
    from reach.world.warm_up import prepare

    # Whoever presses Ctrl-C presses it for the process that started this one, which ends all its workers.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        with when_compiling(lambda: link.send(News.COMPILING)):
            if prepares:
                with compiling_beside():
                    prepare()
            link.send(News.READY)
            while True:
                task = link.recv()
                link.send(answer_to(task, link.send))
    except (EOFError, BrokenPipeError, ConnectionResetError):
        return


def answer_to(task: Task, send: Callable[[Stage], None]) -> Answer:
    """Check a level; whatever goes wrong with it is an answer too."""
    told_at = time.monotonic()

    def tell(stage: str, part: float | None) -> None:
        nonlocal told_at
        if time.monotonic() - told_at >= BETWEEN_STAGES_S:
            told_at = time.monotonic()
            send(Stage(stage))

    outcome = run_task(task, tell)
    if outcome.report is None:
        return Answer(None, outcome.why)
    try:
        return Answer(to_bytes(outcome.report))
    except (TypeError, ValueError, MemoryError) as error:
        return Answer(None, why_failed(error))


def _end_with_parent() -> None:
    """Wait for the end of the process that started this one, however it comes, and end at once as well."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os.kill(os.getpid(), signal.SIGTERM)
