"""How numba writes down what a kernel does with its arrays: as little as there is to it."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

from numba.core import types
from numba.np import arrayobj


class _Read:
    """The fields of an array that a kernel was given, each taken from it when it is asked for."""

    __slots__ = ("_builder", "_model", "_value")

    def __init__(self, context: Any, builder: Any, kind: Any, value: Any) -> None:
        self._model = context.data_model_manager[kind]
        self._builder, self._value = builder, value

    def __getattr__(self, name: str) -> Any:
        return self._model.get(self._builder, self._value, name)

    def _getvalue(self) -> Any:
        return self._value


@contextlib.contextmanager
def arrays_as_they_are() -> Iterator[None]:
    """Within it numba takes an array apart without laying it down first, and an index as it is.

    Its own way writes down the whole array for every element that is read, for LLVM to leave out again. And its code
    that counts a negative index from an array's end is a quarter of the time of an exploration: kernels have none. With
    bounds checked, a negative index is an error.
    """
    usual_array, usual_index = arrayobj.make_array, arrayobj.fix_integer_index

    def make_array(kind: Any) -> Any:
        def made(context: Any, builder: Any, value: Any = None, ref: Any = None) -> Any:
            if type(kind) is types.Array and value is not None and ref is None:
                return _Read(context, builder, kind, value)
            return usual_array(kind)(context, builder, value=value, ref=ref)

        return made

    arrayobj.make_array, arrayobj.fix_integer_index = make_array, _plain_index
    try:
        yield
    finally:
        arrayobj.make_array, arrayobj.fix_integer_index = usual_array, usual_index


def _plain_index(context: Any, builder: Any, kind: Any, index: Any, size: Any) -> Any:
    return context.cast(builder, index, kind, types.intp if kind.signed else types.uintp)
