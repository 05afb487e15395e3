from reach.checker import check
from reach.kernels.compiling import DISABLED, Kernel
from reach.world.warm_up import warm_up
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
