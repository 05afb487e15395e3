import os
import signal
from concurrent.futures import ThreadPoolExecutor

import pytest

from reach.compiler.interruption import compiling_stops, raise_if_stopped


@pytest.fixture
def usual():
    """What Python does on Ctrl-C, which processes that run tests for others have switched off."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield signal.default_int_handler
    signal.signal(signal.SIGINT, before)


def test_ctrl_c_stops_the_thread_that_compiles(usual):
    with ThreadPoolExecutor(1) as worker:
        with pytest.raises(KeyboardInterrupt), compiling_stops():
            raise_if_stopped()
            try:
                os.kill(os.getpid(), signal.SIGINT)
                worker.submit(int).result(timeout=10)
            finally:
                with pytest.raises(KeyboardInterrupt):
                    worker.submit(raise_if_stopped).result()
        worker.submit(raise_if_stopped).result()
    assert signal.getsignal(signal.SIGINT) is usual


def test_another_use_of_ctrl_c_is_left_alone(usual):
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with compiling_stops():
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN


def test_in_a_thread_it_changes_nothing(usual):
    def handler():
        with compiling_stops():
            return signal.getsignal(signal.SIGINT)

    with ThreadPoolExecutor(1) as worker:
        assert worker.submit(handler).result() is usual
