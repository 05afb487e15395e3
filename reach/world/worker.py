"""The process that checks: takes a task, gives its answer, until nobody asks any more."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from enum import Enum
from multiprocessing.connection import Connection

from reach.world.task import carry_out


class News(Enum):
    """What a worker tells besides answers."""

    COMPILING = "compiling"
    READY = "ready"


def work(link: Connection, prepares: bool) -> None:
    """Be a worker until the link ends, or the process that started it.

    Parameters
    ----------
    link : Connection
        Gives tasks, and takes news and answers: READY first, then one answer a task.
    prepares : bool
        Whether this worker has all kernels compiled before it is ready, so that no other has to.
    """
    from reach.compiler.kernel_cache import when_compiling
    from reach.world.warm_up import warm_up

    # Whoever presses Ctrl-C presses it for the process that started this one, which ends all its workers.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        with when_compiling(lambda: link.send(News.COMPILING)):
            if prepares:
                warm_up()
            link.send(News.READY)
            while True:
                link.send(carry_out(link.recv()))
    except (EOFError, BrokenPipeError, ConnectionResetError):
        return


def _end_with_parent() -> None:
    """Wait for the end of the process that started this one, however it comes, and end at once as well."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os.kill(os.getpid(), signal.SIGTERM)
