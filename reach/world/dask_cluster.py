"""A cluster of Dask's: the connection to its scheduler.

A scheduler runs whatever it is sent, in the same way as its workers do. Whoever is on a scheduler's network is trusted;
certificates are set up in Dask's own configuration and used with an address that begins with tls://.
"""

from __future__ import annotations

import concurrent.futures
import contextlib
import logging
import queue
import re
import time
import warnings
from asyncio import CancelledError
from collections.abc import Callable
from typing import Any

import reach
from reach.errors import InputError, Problem
from reach.world.cache import product_stamp
from reach.world.cluster_runner import GivenUp
from reach.world.cluster_worker import PlainAnswer, plain_answer
from reach.world.worker import Answer

CONNECT_S = 5.0
"""How long a scheduler may take to answer."""
FETCH_S = 10.0
"""How long an answer may take from its worker until the others are looked at meanwhile: it may be on its way anew."""
SIZE_HOLDS_S = 1.0
"""How long the size of the cluster is taken to be what it was."""
MOST_PORT = 65535
UNREADABLE = "deserialization of the task graph"
"""What Dask says of a scheduler that cannot read a task."""

GONE = (OSError, TimeoutError, CancelledError, concurrent.futures.CancelledError)
"""What Dask raises of a scheduler that does not answer any more."""

Loggers = list[tuple[logging.Logger, bool]]


def require_address(address: str) -> None:
    """Refuse what is no address of a scheduler.

    Raises
    ------
    InputError
        If so.
    """
    match = re.fullmatch(r"(?:(?:tcp|tls)://)?(?:[^\s:/\[\]]+|\[[0-9A-Fa-f:.%]+\]):([0-9]{1,5})", address)
    if match is None or not 0 < int(match[1]) <= MOST_PORT:
        raise _mistake(repr(address), "HOST:PORT, such as 192.0.2.7:8786 or tls://192.0.2.7:8786")


def _mistake(found: str, allowed: str) -> InputError:
    return InputError([Problem("<arguments>", "--scheduler", found, allowed)])


class DaskCluster:
    """The workers behind a scheduler; see `reach.world.cluster_runner.Cluster`.

    Parameters
    ----------
    address : str
        Of the scheduler: HOST:PORT, with tcp:// or tls:// before it.
    ask : callable, optional
        Run on a worker with this reach's version and stamp, and a packed task.

    Raises
    ------
    InputError
        If Dask is not installed, or no scheduler answers there.
    """

    def __init__(self, address: str, ask: Callable[[str, str, bytes], PlainAnswer] = plain_answer) -> None:
        """Connect."""
        require_address(address)
        self._address = address
        self._ask = ask
        self._done: queue.SimpleQueue[Any] = queue.SimpleQueue()
        self._out: dict[Any, tuple[int, Any]] = {}
        self._threads = 0
        self._looked_at = -SIZE_HOLDS_S
        try:
            from distributed import Client
        except ImportError as error:
            found = f"no package to reach it with ({error})"
            allowed = "it with the cluster extra installed: pip install '.[cluster]' in the checkout of levelreach"
            raise _mistake(found, allowed) from None
        self._hushed = _hush()
        try:
            self._client = Client(address, timeout=CONNECT_S, set_as_default=False)
        except (*GONE, ImportError, RuntimeError, TypeError, ValueError) as error:
            _speak_again(self._hushed)
            found = f"no scheduler that answers at {address} ({_words(error)})"
            allowed = "one that runs, of a version that fits; for tls:// with the certificates in Dask's configuration"
            raise _mistake(found, allowed) from None

    def threads(self) -> int:
        """Return how many threads its workers have, as it was a moment ago at most."""
        if time.monotonic() - self._looked_at >= SIZE_HOLDS_S:
            try:
                self._threads = sum(self._client.nthreads().values())
            except GONE as error:
                raise self._lost() from error
            self._looked_at = time.monotonic()
        return self._threads

    def begin(self, number: int, task: bytes) -> None:
        """Have a task done."""
        # It is not pure for Dask: what was asked before is not taken for an answer, nor shared with who else asks.
        future = self._client.submit(self._ask, reach.__version__, product_stamp(), task, pure=False)
        self._out[future.key] = (number, future)
        future.add_done_callback(self._done.put)

    def heard(self, patience_s: float) -> list[tuple[int, Answer | GivenUp]]:
        """Return the answers that have come."""
        answers, later = [], []
        with contextlib.suppress(queue.Empty):
            future = self._done.get(timeout=patience_s) if patience_s else self._done.get_nowait()
            while True:
                answer = self._answer(future)
                if answer is None:
                    later.append(future)
                else:
                    answers.append((self._out.pop(future.key)[0], answer))
                future = self._done.get_nowait()
        for future in later:  # not before the others are told: it may be at hand at once, and not to be had again
            future.add_done_callback(self._done.put)
        if not answers and self._client.status != "running":
            raise self._lost()
        return answers

    def close(self, at_once: bool) -> None:
        """Leave the cluster; what a worker is doing in that moment is done to its end, for nobody."""
        with contextlib.suppress(*GONE, RuntimeError):
            if at_once and self._out and self._client.status == "running":
                self._client.cancel([future for _, future in self._out.values()])
        self._out.clear()
        with contextlib.suppress(*GONE, RuntimeError):
            self._client.close(timeout=CONNECT_S)
        _speak_again(self._hushed)

    def _answer(self, future: Any) -> Answer | GivenUp | None:
        """What came of a task, None if it is not to be had yet."""
        from distributed.scheduler import KilledWorker

        try:
            # A worker that ends between its answer and now has the task done again, so this may raise what a task may.
            return Answer(*future.result(timeout=FETCH_S))
        except KilledWorker as error:
            return GivenUp(error.allowed_failures + 1)
        except (Exception, CancelledError) as error:
            if isinstance(error, TimeoutError) and future.status in ("finished", "pending", "lost"):
                return None
            if isinstance(error, GONE) and future.status != "error":
                raise self._lost() from error
            if UNREADABLE in str(error):
                found = f"a scheduler at {self._address} that cannot read a task ({_words(error.__cause__ or error)})"
                raise _mistake(found, f"one started where reach {reach.__version__} is installed") from None
            return Answer(
                None, f"a worker could not begin with it ({_words(error)}): has it reach {reach.__version__}?"
            )

    def _lost(self) -> InputError:
        found = f"the scheduler at {self._address} gone in the middle of the run"
        return _mistake(found, "one that stays until all is done; reports that were kept are not made again")


def _words(error: BaseException) -> str:
    """The kind of an error and the first line of what it says."""
    said = str(error).strip().splitlines()
    return f"{type(error).__name__}: {said[0]}" if said else type(error).__name__


def _hush() -> Loggers:
    """Have Dask say nothing by itself: what matters is raised, and told once. Returns what to undo."""
    warnings.filterwarnings("ignore", module=r"distributed\b")
    warnings.filterwarnings("ignore", message="Sending large graph")
    names = [name for name in logging.root.manager.loggerDict if name.partition(".")[0] in ("distributed", "tornado")]
    loggers = [(logger, logger.disabled) for logger in map(logging.getLogger, names)]
    for logger, _ in loggers:
        logger.disabled = True
    return loggers


def _speak_again(loggers: Loggers) -> None:
    for logger, disabled in loggers:
        logger.disabled = disabled
