"""What is kept of a job is what it found."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from reach.reachability.exploration_job import Box, Found
from reach.reachability.squeezed import Squeezed


def found(cells: int, cover: tuple[int, int]) -> Found:
    return Found(
        packed=np.arange(cells, dtype=np.int64) - 7,
        moves=np.array([[1, 2, 3, 0]], np.int64),
        touched=(3,),
        misses=np.zeros((0, 7), np.int64),
        lost=True,
        polygon_ticks=12,
        box=Box(0, 3, 0, 4),
        cover=np.ones((9, 9), np.uint8)[: cover[0], : cover[1]],
        carried=np.zeros((2, 2), np.uint8),
        carried_at=(slice(0, 2), slice(1, 3)),
    )


@pytest.mark.small
@pytest.mark.parametrize(("cells", "cover"), [(100_000, (4, 5)), (40, (0, 0)), (40, (0, 5))])
def test_a_squeezed_one_comes_back_as_it_was(cells: int, cover: tuple[int, int]) -> None:
    one = found(cells, cover)
    squeezed = Squeezed(one)
    again = squeezed.found()
    for field in fields(Found):
        was, now = getattr(one, field.name), getattr(again, field.name)
        if isinstance(was, np.ndarray):
            assert (was.dtype, was.shape) == (now.dtype, now.shape) and np.array_equal(was, now)
            now[...] = 0
        else:
            assert was == now
    assert np.array_equal(squeezed.found().packed, one.packed)
    if cells > 1000:
        assert squeezed.nbytes < one.nbytes / 4
