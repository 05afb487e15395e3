"""Compilation of the set kernels with one signature each.

Numba makes a version of a function for every literal it is called with; the set kernels pass many. Here the names of
the parameters say their types, so that each function is compiled once, when its module is imported.
"""

from collections.abc import Callable
from inspect import signature
from typing import Any

from numba import int64, njit, uint8

from reach.kernels.compiling import BARE

_WORDS = frozenset({"w", "marks", "g", "j", "a", "ax", "av", "bx", "bv", "cx", "cv", "sx", "sv"})
_BYTES = frozenset({"carried", "cover"})
_TABLES = frozenset({"work"})


def kernel(function: Callable[..., Any], **options: Any) -> Any:
    """Compile a function whose parameters are int64 numbers, but for arrays known by their names.

    It counts no references: it may cut views from the arrays it is given, but must not make an array.
    """
    types: list[Any] = []
    for name in signature(function).parameters:
        if name in _WORDS:
            types.append(int64[::1])
        elif name in _BYTES:
            types.append(uint8[:, ::1])
        elif name in _TABLES:
            types.append(int64[:, ::1])
        else:
            types.append(int64)
    return njit(tuple(types), **(BARE | options))(function)


def free_kernel(function: Callable[..., Any]) -> Any:
    """As `kernel`, for a function that runs without the interpreter's lock."""
    return kernel(function, nogil=True)


def view(function: Callable[..., Any]) -> Any:
    """For a function that returns views of an array: it is written out where it is called, as kernels return none."""
    return njit(inline="always")(function)
