"""Kernels of one signature: the same result whoever calls them, compiled only for those who do."""

from __future__ import annotations

import os
import subprocess
import sys

import numpy as np
import pytest
from numba import config, njit

from reach.kernels import polygon, pool
from tests.checkout import ROOT

SQUARE_X, SQUARE_V = np.array([0, 4, 4, 0]), np.array([0, 0, 4, 4])


@pytest.mark.small
def test_called_by_python_and_by_compiled_code_alike() -> None:
    @njit
    def called(ax, av, n):
        return polygon.box(ax, av, n)

    assert tuple(called(SQUARE_X, SQUARE_V, 4)) == tuple(polygon.box(SQUARE_X, SQUARE_V, 4)) == (0, 4, 0, 4)


@pytest.mark.small
def test_literals_and_truth_values_are_numbers_of_the_one_signature() -> None:
    @njit
    def called(ax, av, bx, bv, work):
        return polygon.clip_v(ax, av, 4, 2, True, bx, bv, work), polygon.clip_v(ax, av, 4, 2, 0, bx, bv, work)

    bx, bv = np.empty(16, np.int64), np.empty(16, np.int64)
    work = np.empty((4, 32), np.int64)
    assert tuple(called(SQUARE_X, SQUARE_V, bx, bv, work)) == (4, 4)


@pytest.mark.skipif(bool(config.DISABLE_JIT), reason="asks what the compiler made")
def test_a_kernel_that_only_kernels_call_is_not_compiled_for_python() -> None:
    program = (
        "from reach.kernels import closure, ground, polygon, pool\n"
        "import numpy as np\n"
        "before = [len(k.dispatcher.overloads) for k in (polygon.box, pool.record, closure.add, ground.run)]\n"
        "pool.record(np.zeros(400, np.int64), 3)\n"
        "print(before, len(pool.record.dispatcher.overloads), len(polygon.box.dispatcher.overloads))\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, env=os.environ, capture_output=True, text=True, check=False
    )
    assert (ran.stdout, ran.returncode) == ("[0, 0, 0, 0] 1 0\n", 0), ran.stderr


@pytest.mark.skipif(bool(config.DISABLE_JIT), reason="asks what the compiler made")
def test_all_argument_types_lead_to_the_one_version() -> None:
    a = np.zeros(400, np.int64)
    assert pool.record(a, 3) == pool.record(a, np.int32(3)) == pool.record(a, np.uint8(3))
    assert pool.record(a, True) == pool.record(a, 1)
    assert len(pool.record.dispatcher.overloads) == 1


@pytest.mark.skipif(not config.BOUNDSCHECK, reason="for the run with bounds checked")
@pytest.mark.small
def test_bounds_are_checked_where_asked() -> None:
    with pytest.raises(IndexError):
        polygon.box(SQUARE_X, SQUARE_V, 6)
