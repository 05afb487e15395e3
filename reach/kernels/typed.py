"""Compilation of the set kernels with one version each.

numba makes a version of a function for every kind of number it is called with; the set kernels pass many. Here the
names of the parameters and the annotation of the result say their types.
"""

from __future__ import annotations

from collections.abc import Callable
from inspect import signature
from typing import Any

from reach.compiler.arguments import Spec
from reach.kernels.compiling import PLAIN, made

_WORDS = frozenset({"w", "marks", "g", "j", "a", "ax", "av", "bx", "bv", "cx", "cv", "sx", "sv", "work"})
_BYTES = frozenset({"carried", "cover"})
_RESULTS: dict[str, Spec] = {
    "None": "none",
    "int": "int",
    "bool": "bool",
    "tuple[int, int]": ["tuple", None, ["int", "int"]],
    "tuple[int, int, int, int]": ["tuple", None, ["int"] * 4],
    "tuple[int, bool]": ["tuple", None, ["int", "bool"]],
}


def _parameter(name: str) -> str:
    if name in _WORDS:
        return "<i8.1C"
    return "|u1.2C" if name in _BYTES else "i"


def kernel(function: Callable[..., Any]) -> Any:
    """Compile a function whose parameters are int64 numbers, but for arrays known by their names.

    It may cut views from the arrays it is given, but must not make an array.
    """
    declared = signature(function)
    kinds = " ".join(_parameter(name) for name in declared.parameters)
    result = declared.return_annotation
    text = str(result) if getattr(result, "__args__", None) else getattr(result, "__name__", str(result))
    return made(function, PLAIN, kinds, _RESULTS[text])


def view(function: Callable[..., Any]) -> Any:
    """For a function that returns views of an array: it is written out where it is called, as kernels return none."""
    return made(function, {"inline": "always"})
