"""Large arrays in pages of their own are zeroed arrays like others."""

from __future__ import annotations

import os

import numpy as np
import pytest

from reach.kernels.pages import LEAST_BYTES, zeros


@pytest.mark.small
@pytest.mark.parametrize("shape", [0, 10, (0, 4), (3, 5), LEAST_BYTES, (LEAST_BYTES // 2 + 1, 2)])
@pytest.mark.parametrize("dtype", [np.uint8, np.int64, np.bool_])
def test_they_are_zeroed_and_may_be_written(shape: int | tuple[int, ...], dtype: type) -> None:
    a, b = zeros(shape, dtype), np.zeros(shape, dtype)
    assert (a.shape, a.dtype) == (b.shape, b.dtype) and np.array_equal(a, b)
    a[...] = 1
    assert a.all() and not zeros(shape, dtype).any()
    assert a.flags.c_contiguous and a.flags.aligned and a.flags.writeable


@pytest.mark.small
@pytest.mark.skipif(not hasattr(os, "fork"), reason="no processes are forked here")
def test_a_forked_process_has_its_own() -> None:
    a = zeros(LEAST_BYTES, np.uint8)
    child = os.fork()
    if child == 0:
        a[...] = 1
        os._exit(0)
    os.waitpid(child, 0)
    assert not a.any()
