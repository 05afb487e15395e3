"""Ctrl-C while kernels are compiled: the thread that compiles gives up, for whoever works waits for its threads."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator
from types import FrameType

_stopped = threading.Event()


def raise_if_stopped() -> None:
    """Raise KeyboardInterrupt where Ctrl-C has been pressed; asked before each function that is compiled."""
    if _stopped.is_set():
        raise KeyboardInterrupt


def _stop(number: int, frame: FrameType | None) -> None:
    _stopped.set()
    signal.default_int_handler(number, frame)


@contextlib.contextmanager
def compiling_stops() -> Iterator[None]:
    """Within it Ctrl-C stops compiling in all threads, besides what it does anyway.

    Where it is not the main thread's, or where the process does something else on Ctrl-C, it changes nothing.
    """
    usual = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or usual is not signal.default_int_handler:
        yield
        return
    signal.signal(signal.SIGINT, _stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)
        _stopped.clear()
