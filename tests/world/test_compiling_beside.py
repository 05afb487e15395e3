"""The second process that compiles: what it compiles, when there is one, and how it ends."""

import subprocess
import sys

import pytest

from reach.compiler.arguments import flatten
from reach.compiler.kernel_cache import tell_compiling
from reach.kernels.compiling import DISABLED, Kernel
from reach.reachability.explore import Explorer
from reach.world import compiling_beside as module
from reach.world.compiling_beside import compile_what_follows, compiling_beside
from reach.world.warm_up import warm_up

IDLE = "import time; time.sleep(600)"
WAITING = "import sys; sys.path[:] = sys.argv[1:]; from reach.world import compiling_beside as c; c._end_with_input()"
OF_EXPLORATIONS = ("reach.kernels.closure ", "reach.kernels.ground")
"""How the keys of kernels begin that nothing but explorations call, in threads of their own as well."""


class Called:
    """Under which keys kernels are called, in explorations and otherwise."""

    def __init__(self, monkeypatch):
        self.exploring, self.otherwise = set(), set()
        self._inside = 0
        call, explore = Kernel.__call__, Explorer.explore

        def called(kernel, *values):
            key = f"{kernel.py_func.__module__} {kernel._key(flatten(values)[0])}"
            (self.exploring if self._inside else self.otherwise).add(key)
            return call(kernel, *values)

        def explored(*given, **named):
            self._inside += 1
            try:
                return explore(*given, **named)
            finally:
                self._inside -= 1

        monkeypatch.setattr(Kernel, "__call__", called)
        monkeypatch.setattr(Explorer, "explore", explored)

    def of(self, work):
        """The keys in explorations and those otherwise, while it works."""
        self.exploring, self.otherwise = set(), set()
        work()
        return self.exploring, self.otherwise


def test_it_compiles_what_a_check_needs_after_its_exploration_and_nothing_else(monkeypatch):
    """A kernel is kept under its key, so one that the second process called is one that the check finds."""
    if DISABLED:
        return
    called = Called(monkeypatch)
    exploring, otherwise = called.of(warm_up)
    early, later = called.of(compile_what_follows)
    assert later <= otherwise
    assert early < exploring
    of_explorations = {key for key in exploring | otherwise if key.startswith(OF_EXPLORATIONS)}
    assert otherwise - later <= of_explorations
    large = {key for key in of_explorations if key.startswith("reach.kernels.ground run ")}
    assert large and not large & (early | later)
    for name in ("search search", "plan_requests", "plans", "single_states", "script_grid", "boxes"):
        assert any(key.startswith(f"reach.kernels.{name}") for key in later), name


@pytest.fixture
def started(monkeypatch):
    """The processes that are started."""
    processes = []
    start = module._process

    def remembered():
        processes.append(start())
        return processes[-1]

    monkeypatch.setattr(module, "_process", remembered)
    monkeypatch.setattr(module, "PROGRAM", IDLE)
    monkeypatch.setattr("reach.world.process_runner.usable_cores", lambda: 2)
    return processes


def test_it_begins_with_the_first_kernel_to_compile_and_ends_in_the_end(started):
    with compiling_beside():
        assert not started
        tell_compiling()
        tell_compiling()
        assert len(started) == 1 and started[0].poll() is None
    assert started[0].returncode not in (0, None)
    with compiling_beside():
        pass
    assert len(started) == 1


def test_it_ends_when_a_check_fails(started):
    with pytest.raises(KeyboardInterrupt), compiling_beside():
        tell_compiling()
        raise KeyboardInterrupt
    assert started[0].returncode not in (0, None)


def test_there_is_none_on_one_processor(started, monkeypatch):
    monkeypatch.setattr("reach.world.process_runner.usable_cores", lambda: 1)
    with compiling_beside():
        tell_compiling()
    assert not started


def test_where_it_cannot_be_started_the_first_goes_on(started, monkeypatch):
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with compiling_beside():
        tell_compiling()
    assert not started


def test_it_ends_with_the_process_that_started_it(monkeypatch):
    monkeypatch.setattr(module, "PROGRAM", WAITING)
    process = module._process()
    with pytest.raises(subprocess.TimeoutExpired):
        process.wait(1)
    process.stdin.close()
    assert process.wait(60) != 0


def test_its_program_ends_well_when_all_is_compiled():
    if DISABLED:
        return
    compile_what_follows()
    with module._process() as process:
        assert process.wait(60) == 0
