"""Compilation of the set kernels with one signature each.

Numba makes a version of a function for every literal it is called with; the set kernels pass many. Here the names of
the parameters and the annotation of the result say their types. A kernel called by another is written into the
caller's machine code, so that each program is optimised and translated once, as a whole, and only what Python calls
is kept and loaded.
"""

from __future__ import annotations

from collections.abc import Callable
from inspect import signature
from typing import Any
from weakref import WeakKeyDictionary

from numba import int64, types, uint8
from numba.core import compiler, typing
from numba.core.registry import cpu_target

from reach.kernels.compiling import BARE, KeptDispatcher, made

_WORDS = frozenset({"w", "marks", "g", "j", "a", "ax", "av", "bx", "bv", "cx", "cv", "sx", "sv"})
_BYTES = frozenset({"carried", "cover"})
_TABLES = frozenset({"work"})
_RESULTS = {
    None: types.none,
    int: int64,
    bool: types.boolean,
    tuple[int, int]: types.UniTuple(int64, 2),
    tuple[int, int, int, int]: types.UniTuple(int64, 4),
    tuple[int, bool]: types.Tuple((int64, types.boolean)),
}


def _parameter(name: str) -> Any:
    if name in _WORDS:
        return int64[::1]
    if name in _BYTES:
        return uint8[:, ::1]
    return int64[:, ::1] if name in _TABLES else int64


class _TypedDispatcher(KeptDispatcher):
    """A function of one signature: compiled for Python when Python first calls it, else written into its callers."""

    def __init__(self, function: Callable[..., Any], options: dict[str, Any]) -> None:
        """Nothing is compiled yet."""
        self._compiler: Any
        super().__init__(function, options)
        declared = signature(function, eval_str=True)
        self.declared = typing.signature(
            _RESULTS[declared.return_annotation], *(_parameter(name) for name in declared.parameters)
        )
        self._written: WeakKeyDictionary[Any, Any] = WeakKeyDictionary()
        cpu_target.target_context.insert_func_defn([(self._write, self, self.declared.args)])

    def compile(self, sig: Any) -> Any:
        """The function for Python, whatever it is called with."""
        return super().compile(self.declared)

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """How the compiler types a call."""
        pysig, args = self._compiler.fold_argument_types(args, kws)
        name = self.py_func.__name__
        return typing.make_concrete_template(name, name, [self.declared]), pysig, args, {}

    def get_overload(self, sig: Any) -> Any:
        """The key under which the compiler finds `_write`."""
        return self

    def _write(self, context: Any, builder: Any, sig: Any, args: Any) -> Any:
        library = context.active_code_library
        if library not in self._written:
            flags: Any = compiler.Flags()
            cpu_target.options.parse_as_flags(flags, self.targetoptions)
            flags.no_compile = flags.no_cpython_wrapper = flags.no_cfunc_wrapper = True
            compiled = compiler.compile_internal(
                context.typing_context, context, library, self.py_func, sig.args, sig.return_type, flags, {}
            )
            self._written[library] = compiled.fndesc
        return context.call_internal(builder, self._written[library], sig, args)


def kernel(function: Callable[..., Any], **options: Any) -> Any:
    """Compile a function whose parameters are int64 numbers, but for arrays known by their names.

    It counts no references: it may cut views from the arrays it is given, but must not make an array.
    """
    return made(function, {**BARE, **options}, _TypedDispatcher)


def free_kernel(function: Callable[..., Any]) -> Any:
    """As `kernel`, for a function that runs without the interpreter's lock."""
    return kernel(function, nogil=True)


def view(function: Callable[..., Any]) -> Any:
    """For a function that returns views of an array: it is written out where it is called, as kernels return none."""
    return made(function, {"inline": "always"})
