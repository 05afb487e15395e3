"""How kernels are compiled: late, when Python first calls them, and loaded without what only the compiler needs."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property, update_wrapper
from typing import Any

import numba
from numba import types
from numba.core.caching import FunctionCache
from numba.core.registry import CPUDispatcher
from numba.core.runtime import rtsys

LEAF: dict[str, Any] = {"error_model": "numpy", "forceinline": True, "_nrt": False}
"""Options of a small function called in a hot loop: `@compiled(**LEAF)`.

It is inlined into its caller and counts no references to the arrays inside Motion and Terrain; otherwise a tick costs
twenty times as much. Such a function may read and write arrays it is given but must not make or return one, and it
divides by nothing that can be zero.
"""

BARE: dict[str, Any] = {"error_model": "numpy", "_nrt": False}
"""Options of a larger function called often: `@compiled(**BARE)`. As LEAF, but it stays a function of its own."""

_config: Any = numba.config
"""numba's settings; its type stubs do not list them."""


class _KeptCode(FunctionCache):
    """Loads machine code without numba's typing rules, which take half a second and serve the compiler alone."""

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The kept function of this signature, None if there is none."""
        rtsys.initialize(target_context)
        with self._guard_against_spurious_io_errors():
            return self._load_overload(sig, target_context)


class KeptDispatcher(CPUDispatcher):
    """A function compiled for each signature it is called with, kept between runs."""

    def __init__(self, function: Callable[..., Any], options: dict[str, Any]) -> None:
        """Nothing is compiled or loaded yet."""
        self._cache: Any
        super().__init__(function, targetoptions={"nopython": True, **options})
        self._cache = _KeptCode(function)


class Kernel:
    """A function for Python and for the compiler; what numba needs to know of it is made when one of them asks."""

    def __init__(
        self, function: Callable[..., Any], options: dict[str, Any], dispatcher: type[KeptDispatcher] = KeptDispatcher
    ) -> None:
        """Options are those of numba's `njit`."""
        update_wrapper(self, function)
        self.py_func = function
        self.targetoptions = options
        self._made_by = dispatcher

    @cached_property
    def dispatcher(self) -> KeptDispatcher:
        """numba's own object for this function."""
        return self._made_by(self.py_func, self.targetoptions)

    @property
    def _numba_type_(self) -> Any:
        return types.Dispatcher(self.dispatcher)

    def __call__(self, *args: Any) -> Any:
        """Call it, loaded or compiled for these arguments."""
        return self.dispatcher(*args)


def made(
    function: Callable[..., Any], options: dict[str, Any], dispatcher: type[KeptDispatcher] = KeptDispatcher
) -> Any:
    """The kernel of a function, or the function itself where the user has switched compilation off."""
    return function if _config.DISABLE_JIT else Kernel(function, options, dispatcher)


def compiled(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Decorator of a kernel with numba's options."""
    return lambda function: made(function, options)
