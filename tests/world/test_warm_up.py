import pytest

from reach.checker import check
from reach.kernels.compiling import DISABLED, Kernel
from reach.world import warm_up as module
from reach.world.warm_up import prepare, warm_up
from tests.world_runs import drawn_job, drawn_task

RARELY = (13, 55, 259, 269, 339)
"""Seeds whose checks call kernels that most checks do not, beside those that all call."""


def test_every_kernel_of_a_check_is_called(monkeypatch):
    if DISABLED:
        return
    called = set()
    call = Kernel.__call__

    def remembered(kernel, *values):
        called.add(f"{kernel.py_func.__module__}.{kernel.py_func.__name__}")
        return call(kernel, *values)

    monkeypatch.setattr(Kernel, "__call__", remembered)
    warm_up()
    warmed = set(called)
    called.clear()
    for seed in RARELY:
        task = drawn_task(drawn_job(seed))
        check(task.level, task.movement)
    assert len(called) > 20
    assert called <= warmed


def test_it_is_done_once_for_kernels_as_they_are(monkeypatch, tmp_path):
    done = []
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr("reach.kernels.compiling.DISABLED", False)
    monkeypatch.setattr(module, "warm_up", lambda: done.append("again"))
    prepare()
    prepare()
    assert len(done) == 1
    monkeypatch.setattr(module, "source_stamp", lambda path: f"{path.stem} changed")
    prepare()
    assert len(done) == 2
    for path in tmp_path.rglob("*.kernel"):
        path.unlink()
    prepare()
    assert len(done) == 3


def test_without_compilation_there_is_nothing_to_prepare(monkeypatch, tmp_path):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr("reach.kernels.compiling.DISABLED", True)
    monkeypatch.setattr(module, "warm_up", lambda: pytest.fail("it was done"))
    prepare()
