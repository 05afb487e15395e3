"""What a compiled kernel is called with: numbers, arrays and tuples of them, flattened to machine words and back.

The words of an argument are those of numba's calling convention: of an array its owner and parent (unused), its size,
item size, address, lengths and strides; of a tuple the words of its members in turn.
"""

from __future__ import annotations

import ctypes
import threading
from collections.abc import Callable, Sequence
from typing import Any, cast

import numpy as np

LEAST, MOST = -(2**63), 2**63 - 1
REMEMBERED = 4
"""Long tuples whose words are kept: a motion, a terrain, what a search works on. Few: they keep their arrays alive."""

Words = list[Any]
Spec = Any
"""Shape of a result, fit for JSON: "int", "bool", "none", or ["tuple", maker of a named one or null, [members]]."""

_remembered: dict[int, tuple[Any, str, Words]] = {}
_remembering = threading.Lock()


def flatten(arguments: Sequence[Any]) -> tuple[str, Words]:
    """Types of the arguments as a text, and their machine words.

    Types: i an integer (taken as 64 bits), b a truth value, an array's item type, number of dimensions and layout, and
    a tuple's name and members in parentheses.

    Raises
    ------
    OverflowError
        For an integer beyond 64 bits.
    TypeError
        For anything else.
    """
    types: list[str] = []
    words: Words = []
    for value in arguments:
        if type(value) is int and LEAST <= value <= MOST:
            types.append("i")
            words.append(value)
        elif isinstance(value, np.ndarray):
            types.append(_array_type(value))
            words += (0, 0, value.size, value.itemsize, _array_address(value))
            words += value.shape
            words += value.strides
        elif isinstance(value, tuple):
            kind, more = _flatten_tuple(value)
            types.append(kind)
            words += more
        elif isinstance(value, (bool, np.bool_)):
            types.append("b")
            words.append(bool(value))
        elif isinstance(value, (int, np.integer)):
            number = int(value)
            if not LEAST <= number <= MOST:
                raise OverflowError(f"{number} does not fit into 64 bits")
            types.append("i")
            words.append(number)
        else:
            raise TypeError(f"no kernel takes a {type(value).__name__}")
    return " ".join(types), words


def _array_type(array: np.ndarray) -> str:
    layout = "C" if array.flags.c_contiguous else "F" if array.flags.f_contiguous else "A"
    return f"{array.dtype.str}.{array.ndim}{layout}{'' if array.flags.writeable else 'r'}"


def _array_address(array: np.ndarray) -> int:
    if array.size and array.flags.writeable and array.flags.c_contiguous:
        # Six times as fast as numpy's own word for it, which makes a dictionary.
        return ctypes.addressof(ctypes.c_char.from_buffer(cast(Any, array)))
    address: int = array.__array_interface__["data"][0]
    return address


def _flatten_tuple(value: tuple[Any, ...]) -> tuple[str, Words]:
    """As `flatten`; tuples with arrays, which are long and come again at every call, are remembered."""
    known = _remembered.get(id(value))
    if known is not None and known[0] is value:
        return known[1], known[2]
    types, words = flatten(value)
    kind = f"{type(value).__name__}({types})"
    if "." in types:
        with _remembering:
            while len(_remembered) >= REMEMBERED:
                del _remembered[next(iter(_remembered))]
            _remembered[id(value)] = (value, kind, words)
    return kind, words


def word_types(words: Words) -> list[Any]:
    """The machine's types of words."""
    return [ctypes.c_uint8 if isinstance(word, bool) else ctypes.c_int64 for word in words]


def _storage(spec: Spec) -> Any:
    if isinstance(spec, str):
        return {"int": ctypes.c_int64, "bool": ctypes.c_uint8, "none": ctypes.c_int64}[spec]
    members = [(f"m{i}", _storage(member)) for i, member in enumerate(spec[2])]
    return type("Result", (ctypes.Structure,), {"_fields_": members})


def _named_tuple(name: str) -> Callable[[Sequence[Any]], Any]:
    from importlib import import_module

    module, _, kind = name.partition(":")
    maker: Callable[[Sequence[Any]], Any] = getattr(import_module(module), kind)._make
    return maker


def result_reader(spec: Spec) -> tuple[Any, Callable[[Any], Any]]:
    """The ctypes type in which a kernel leaves a result of this shape, and what makes Python's value of it."""
    return _storage(spec), _reader(spec, top=True)


def _reader(spec: Spec, top: bool) -> Callable[[Any], Any]:
    if isinstance(spec, str):
        turn: Any = {"int": int, "bool": bool, "none": lambda _: None}[spec]
        return (lambda stored: turn(stored.value)) if top else turn
    make: Any = tuple if spec[1] is None else _named_tuple(spec[1])
    members = [(f"m{i}", _reader(member, top=False)) for i, member in enumerate(spec[2])]
    return lambda stored: make([read(getattr(stored, name)) for name, read in members])
