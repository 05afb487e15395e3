"""Kernels give the same whoever calls them, with whatever numbers, compiled or not, in any thread."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import numpy as np
import pytest
from numba import njit

from reach.compiler.arguments import flatten
from reach.kernels import polygon
from reach.kernels.compiling import DISABLED, compiled, inlined
from reach.kernels.typed import kernel
from tests.builders import make_motion

pytestmark = pytest.mark.small
SQUARE_X, SQUARE_V = np.array([0, 4, 4, 0]), np.array([0, 0, 4, 4])
compiled_only = pytest.mark.skipif(DISABLED, reason="asks what the compiler made")


class Pair(NamedTuple):
    first: int
    rest: np.ndarray


@inlined
def twice(n):
    return 2 * n


@compiled
def add_up(pair, more, negative):
    total = twice(pair.first)
    for i in range(pair.rest.shape[0]):
        total += pair.rest[i]
    for i in range(more.shape[0]):
        for j in range(more.shape[1]):
            total += more[i, j]
    return -total if negative else total


@compiled
def swapped(pair):
    return pair[1], pair[0] > 3, (pair[0], pair[1] == 0)


class Mark(NamedTuple):
    first: int
    second: int


@compiled
def next_of(mark):
    return Mark(mark.first + 1, mark.second)


@compiled
def fill(out, value):
    for i in range(out.shape[0]):
        out[i] = value


@kernel
def boxed(ax, av, n) -> tuple[int, int, int, int]:
    return polygon.box(ax, av, n)


@kernel
def clipped(ax, av, bx, bv, work) -> tuple[int, int]:
    return polygon.clip_x(ax, av, 4, 2, True, bx, bv, work), polygon.clip_x(ax, av, 4, 2, 0, bx, bv, work)


def test_numbers_arrays_and_tuples_go_in() -> None:
    pair = Pair(3, np.array([1, 2], np.int64))
    more = np.arange(6, dtype=np.uint8).reshape(2, 3)
    assert add_up(pair, more, False) == 24
    assert add_up(pair, more, True) == -24
    assert add_up(pair, more[:, ::-2], 0) == 6 + 3 + 0 + 2 + 3 + 5
    assert add_up(pair, np.asfortranarray(more), np.bool_(True)) == -24
    readonly = np.array([1, 2], np.int64)
    readonly.setflags(write=False)
    assert add_up(Pair(np.int32(3), readonly), more, np.uint8(0)) == 24


def test_numbers_truth_values_and_tuples_come_out() -> None:
    result = swapped((4, 0))
    assert result == (0, True, (4, True))
    assert type(result[1]) is bool
    assert swapped((-4, 2**62)) == (2**62, False, (-4, False))


def test_nothing_comes_out_but_arrays_are_filled() -> None:
    out = np.zeros(5, np.int64)
    assert fill(out[1:3], 7) is None
    assert out.tolist() == [0, 7, 7, 0, 0]


def test_a_named_tuple_comes_out_as_one() -> None:
    after = next_of(Mark(1, 2))
    assert isinstance(after, Mark)
    assert after == Mark(2, 2)


def test_kernels_call_kernels_of_one_version_with_any_number() -> None:
    assert tuple(boxed(SQUARE_X, SQUARE_V, 4)) == tuple(polygon.box(SQUARE_X, SQUARE_V, 4)) == (0, 4, 0, 4)
    assert tuple(polygon.box(SQUARE_X, SQUARE_V, True)) == (0, 0, 0, 0)
    bx, bv = np.empty(16, np.int64), np.empty(16, np.int64)
    assert tuple(clipped(SQUARE_X, SQUARE_V, bx, bv, np.empty(6 * 32, np.int64))) == (4, 4)


@compiled_only
def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(OverflowError):
        twice(2**63)
    with pytest.raises(TypeError, match="float"):
        twice(1.5)


@compiled_only
def test_a_long_tuple_is_remembered_but_never_confused() -> None:
    motions = [make_motion(walk_cap=n) for n in range(40)]
    for motion in motions:
        assert flatten((motion,)) == flatten((motion._replace(),))
    kinds, words = flatten((motions[0],))
    assert flatten((motions[0],)) == (kinds, words)
    assert flatten((motions[1],))[1] != words


def test_functions_of_numba_call_kernels_too() -> None:
    @njit
    def asks(ax, av, n):
        return polygon.box(ax, av, n), twice(n), twice(twice(n))

    assert asks(SQUARE_X, SQUARE_V, 4) == ((0, 4, 0, 4), 8, 16)


def test_many_threads_at_once() -> None:
    def ask(n: int) -> int:
        return add_up(Pair(n, np.array([n], np.int64)), np.full((1, n + 1), n, np.uint8), False)

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(ask, range(100))) == [2 * n + n + n * (n + 1) for n in range(100)]


@compiled
def _element(a, i):
    return a[i]


@pytest.mark.skipif(DISABLED, reason="Python checks bounds anyway")
def test_bounds_are_checked_where_asked() -> None:
    if os.environ.get("NUMBA_BOUNDSCHECK", "0") in ("", "0"):
        pytest.skip("for the run with bounds checked")
    with pytest.raises(IndexError):
        _element(SQUARE_X, 6)
