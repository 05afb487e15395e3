"""How kernels are compiled: when Python first calls them, once; afterwards their machine code is loaded and run.

A kernel is typed by numba (`front_end`), translated with all that it calls (`machine_code`) and kept (`kernel_cache`).
Loading it takes neither numba nor its typing rules, which take over a second to import. A kernel takes integers, arrays
and tuples of them, returns integers, truth values or tuples of them, and makes no array.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from functools import cached_property, update_wrapper
from pathlib import Path
from typing import Any

from reach.compiler import kernel_cache
from reach.compiler.arguments import Spec, Words, flatten

DISABLED = os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0")
"""Whether the user switched compilation off; then kernels are the Python functions that they are written as."""

PLAIN: dict[str, Any] = {"error_model": "numpy", "_nrt": False}
"""numba's options of every kernel: it counts no references, and divides by nothing that can be zero."""

_compiling = threading.Lock()


class Kernel:
    """A function for Python and for other kernels."""

    def __init__(
        self,
        function: Callable[..., Any],
        options: dict[str, Any],
        declared: str | None = None,
        result: Spec | None = None,
    ) -> None:
        """Options are those of numba's compiler; `declared` and `result` the types of a kernel that has one version."""
        update_wrapper(self, function)
        self.py_func = function
        self.targetoptions = options
        self._declared = declared
        self._result = result
        self._calls: dict[str, Callable[[Words], Any]] = {}

    @cached_property
    def dispatcher(self) -> Any:
        """numba's own object for this function."""
        from reach.compiler.front_end import Dispatcher

        return Dispatcher(self.py_func, self.targetoptions, self._declared, self._result)

    @property
    def _numba_type_(self) -> Any:
        """How numba recognises it in the functions that call it."""
        return self.dispatcher._numba_type_

    def __call__(self, *values: Any) -> Any:
        """Run it, loaded or compiled for such arguments."""
        kinds, words = flatten(values)
        call = self._calls.get(kinds)
        if call is None:
            with _compiling:
                call = self._calls.get(kinds) or self._prepare(kinds, words, values)
                self._calls[kinds] = call
        return call(words)

    def _prepare(self, kinds: str, words: Words, values: tuple[Any, ...]) -> Callable[[Words], Any]:
        from reach.compiler.machine_code import load

        if self._declared is not None:
            if ["i" if kind == "b" else kind for kind in kinds.split()] != self._declared.split():
                raise TypeError(f"{self.py_func.__name__} takes {self._declared}, not {kinds}")
            words = [int(word) if isinstance(word, bool) else word for word in words]
        entry = kernel_cache.entry(self.py_func.__name__, Path(self.py_func.__code__.co_filename), self._key(kinds))
        kept = entry.load()
        if kept is None:
            kernel_cache.tell_compiling()
            with entry.reserved():
                kept = entry.load()
                if kept is None:
                    kept = self._translate(kinds, values)
                    entry.save(kept)
        return load(kept.symbol, kept.code, words, kept.result)

    def _key(self, kinds: str) -> str:
        return f"{self.py_func.__qualname__} {self._declared or kinds} {sorted(self.targetoptions.items())}"

    def _translate(self, kinds: str, values: tuple[Any, ...]) -> kernel_cache.Kept:
        from reach.compiler import front_end
        from reach.compiler.machine_code import translate

        written = self.dispatcher.write(tuple(front_end.argument_types(kinds, values)))
        symbol = written.fndesc.llvm_func_name
        code = translate(written.library.all_texts(), symbol)
        return kernel_cache.Kept(symbol, front_end.result_spec(written.signature.return_type), code)


def made(
    function: Callable[..., Any], options: dict[str, Any], declared: str | None = None, result: Spec | None = None
) -> Any:
    """The kernel of a function, or the function itself where the user has switched compilation off."""
    return function if DISABLED else Kernel(function, options, declared, result)


def compiled(function: Callable[..., Any]) -> Any:
    """Make a kernel."""
    return made(function, PLAIN)


def inlined(function: Callable[..., Any]) -> Any:
    """Make a kernel of a small function that is called in a hot loop: it is written out where it is called."""
    return made(function, PLAIN | {"forceinline": True})
