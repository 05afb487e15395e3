"""From Python to LLVM's text: numba types a kernel and all that it calls.

numba would optimise and translate every function with all that it calls, over and over. Here a function that another
kernel calls is only written down, once for all its callers, and the whole program is translated at the end
(`machine_code.translate`). Imported only when something has to be compiled, for it brings the whole compiler.
"""

from __future__ import annotations

import re
from functools import cached_property
from typing import Any, cast

import numpy as np
from llvmlite.binding import parse_assembly
from numba import int64, types
from numba.core import sigutils, typing
from numba.core.compiler_lock import global_compiler_lock
from numba.core.registry import CPUDispatcher, cpu_target
from numba.core.runtime import rtsys
from numba.np import numpy_support

from reach.compiler.arguments import Spec, flatten
from reach.compiler.arrays import arrays_as_they_are
from reach.compiler.interruption import raise_if_stopped
from reach.compiler.pipeline import Flags, Pipeline, answered_once

_PLAIN: dict[Any, Spec] = {int64: "int", types.boolean: "bool", types.none: "none"}
_ARRAY = re.compile(r"(?P<item>\S+)\.(?P<dimensions>\d)(?P<layout>[CFA])(?P<readonly>r?)")


class Pages:
    """Where numba writes a function down instead of translating it: stands in for one of its code libraries."""

    def __init__(self, name: str) -> None:
        """Nothing is written yet."""
        self.name = name
        self.texts: list[str] = []
        self.calls: list[Any] = []
        self.codegen = cpu_target.target_context.codegen()
        self.recorded_timings: list[Any] = []
        self._reload_init: set[Any] = set()

    def create_ir_module(self, name: str) -> Any:
        """An empty module."""
        return self.codegen._create_empty_module(name)

    def add_ir_module(self, module: Any) -> None:
        """Write down a module."""
        self.texts.append(str(module))

    def add_linking_library(self, library: Any) -> None:
        """Remember what is called; numba's counting of references is not."""
        if library is not rtsys.library and library not in self.calls:
            self.calls.append(library)

    def all_texts(self) -> list[str]:
        """All that is written here and in what is called, each once."""
        found: list[Any] = []
        waiting: list[Any] = [self]
        while waiting:
            one = waiting.pop()
            if one not in found:
                found.append(one)
                waiting += one.calls if isinstance(one, Pages) else []
        return [text for one in found for text in (one.texts if isinstance(one, Pages) else [one.get_llvm_str()])]

    @cached_property
    def library(self) -> Any:
        """The same for functions that numba compiles as usual, such as those of tests."""
        library = self.codegen.create_library(self.name)
        for text in self.all_texts():
            library.add_llvm_module(parse_assembly(text))
        library.finalize()
        return library


class Dispatcher(CPUDispatcher):
    """numba's object for a kernel: for each types of arguments, the pages on which it is written down."""

    def __init__(self, function: Any, options: dict[str, Any], declared: str | None, result: Spec | None) -> None:
        """`declared` and `result` tell the types of a kernel that has one version only."""
        super().__init__(function, targetoptions={"nopython": True, **options})
        self._compiler: Any
        self._only = None if declared is None else tuple(argument_types(declared, ()))
        self._result = None if declared is None else _result_type(result)
        self._written: dict[Any, tuple[Any, Any]] = {}

    @global_compiler_lock
    def write(self, arguments: tuple[Any, ...]) -> Any:
        """What numba found out of the function for these types; `library` holds the pages."""
        if self._only is not None:
            arguments = self._only
        if arguments not in self._written:
            raise_if_stopped()
            flags: Any = Flags()
            cpu_target.options.parse_as_flags(flags, self.targetoptions)
            flags.no_compile = flags.no_cpython_wrapper = flags.no_cfunc_wrapper = True
            context = cpu_target.target_context
            with arrays_as_they_are(), answered_once():
                pages = Pages(self.py_func.__qualname__)
                pipeline = Pipeline(cpu_target.typing_context, context, pages, arguments, self._result, flags, {})
                compiled = pipeline.compile_extra(self.py_func)

            def call(context: Any, builder: Any, signature: Any, values: Any) -> Any:
                caller = context.active_code_library
                caller.add_linking_library(compiled.library if isinstance(caller, Pages) else compiled.library.library)
                return context.call_internal(builder, compiled.fndesc, signature, values)

            key = object()
            context.insert_func_defn([(call, key, compiled.signature.args)])
            self._written[arguments] = compiled, key
        return self._written[arguments][0]

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """How numba types a call from another kernel."""
        pysig, args = self._compiler.fold_argument_types(args, kws)
        self.write(tuple(args))
        name = self.py_func.__name__
        signatures = [compiled.signature for compiled, _ in self._written.values()]
        return typing.make_concrete_template(name, name, signatures), pysig, args, {}

    def get_overload(self, sig: Any) -> Any:
        """The key under which numba finds how to call it."""
        return self._written[tuple(sigutils.normalize_signature(sig)[0])][1]


def argument_types(text: str, values: tuple[Any, ...]) -> list[Any]:
    """numba's types of arguments given as `arguments.flatten` tells them; tuples are looked up among the values."""
    if "(" in text:
        return [_type_of(value) for value in values]
    return [_simple(word) for word in text.split()]


def _simple(word: str) -> Any:
    if word in ("i", "b"):
        return int64 if word == "i" else types.boolean
    match = _ARRAY.fullmatch(word)
    if match is None:
        raise TypeError(f"no kernel takes {word}")
    return types.Array(
        numpy_support.from_dtype(np.dtype(match["item"])),
        int(match["dimensions"]),
        cast(Any, match["layout"]),
        readonly=bool(match["readonly"]),
    )


def _type_of(value: Any) -> Any:
    """The type of a value, every integer being of 64 bits."""
    if not isinstance(value, tuple):
        return _simple(flatten((value,))[0])
    members = [_type_of(member) for member in value]
    if hasattr(value, "_fields"):
        return _named(members, type(value))
    return types.BaseTuple.from_types(members)


def _named(members: list[Any], kind: type) -> Any:
    if members and all(member == members[0] for member in members):
        return types.NamedUniTuple(members[0], len(members), kind)
    return types.NamedTuple(members, kind)


def _result_type(spec: Spec) -> Any:
    if isinstance(spec, str):
        return next(kind for kind, plain in _PLAIN.items() if plain == spec)
    return types.BaseTuple.from_types([_result_type(member) for member in spec[2]])


def result_spec(kind: Any) -> Spec:
    """Shape of a result of this type.

    Raises
    ------
    TypeError
        For an array, which a kernel must not make.
    """
    if kind in _PLAIN:
        return _PLAIN[kind]
    if not isinstance(kind, types.BaseTuple):
        raise TypeError(f"a kernel cannot return {kind}")
    made: Any = kind
    name = None
    if isinstance(kind, types.BaseNamedTuple):
        name = f"{made.instance_class.__module__}:{made.instance_class.__qualname__}"
    return ["tuple", name, [result_spec(member) for member in made.types]]
