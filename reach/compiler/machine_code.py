"""From LLVM's text to machine code for this processor, and from kept machine code to something that can be called."""

from __future__ import annotations

import ctypes
import hashlib
import pickle
from collections.abc import Callable
from functools import cache
from typing import Any

import llvmlite.binding as llvm

from reach.compiler.arguments import Spec, Words, result_reader, word_types

_NO_VALUE = -2
"""Status of a kernel that returns None, by numba's convention; 0 is success too."""


@cache
def _machine() -> Any:
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    target = llvm.Target.from_default_triple()
    return target.create_target_machine(
        cpu=llvm.get_host_cpu_name(),
        features=llvm.get_host_cpu_features().flatten(),
        opt=3,
        reloc="static" if target.name.startswith("x86") else "default",
        codemodel="jitdefault",
        jit=True,
    )


def processor() -> str:
    """Name and features of the processor, for which machine code is good."""
    return f"{llvm.get_process_triple()} {llvm.get_host_cpu_name()} {llvm.get_host_cpu_features().flatten()}"


def translate(texts: list[str], symbol: str) -> bytes:
    """Machine code of one function with all that it calls, optimised as a whole.

    Parameters
    ----------
    texts : list of str
        LLVM modules; every function is defined in one of them.
    symbol : str
        The function that is to be called from outside; all others are its own.

    Raises
    ------
    TypeError
        Where a function is missing.
    """
    machine = _machine()
    module = llvm.parse_assembly(texts[0])
    for text in texts[1:]:
        module.link_in(llvm.parse_assembly(text))
    for function in module.functions:
        if not function.is_declaration and function.name != symbol:
            function.linkage = "internal"
    module.verify()
    builder = llvm.create_pass_builder(machine, llvm.create_pipeline_tuning_options(speed_level=3))
    builder.getModulePassManager().run(module, builder)
    missing = [f.name for f in module.functions if f.is_declaration and not f.name.startswith("llvm.")]
    if missing:
        raise TypeError(f"{symbol} calls {', '.join(missing)}: a kernel may only call kernels, and makes no array")
    code: bytes = machine.emit_object(module)
    return code


@cache
def _engine() -> Any:
    return llvm.create_mcjit_compiler(llvm.parse_assembly(""), _machine())


class _Failure(ctypes.Structure):
    """How a kernel tells of an exception, by numba's convention: where it lies pickled."""

    _fields_ = (
        ("data", ctypes.c_void_p),
        ("size", ctypes.c_int32),
        ("more", ctypes.c_void_p),
        ("build", ctypes.c_void_p),
        ("arguments", ctypes.c_int32),
    )


_loaded: dict[str, int] = {}


def _address(symbol: str, code: bytes) -> int:
    """Address of a function; the same code is loaded once."""
    key = symbol + hashlib.sha256(code).hexdigest()
    if key not in _loaded:
        engine = _engine()
        engine.add_object_file(llvm.object_file.ObjectFileRef.from_data(code))
        engine.finalize_object()
        _loaded[key] = engine.get_function_address(symbol)
    return _loaded[key]


def load(symbol: str, code: bytes, words: Words, result: Spec) -> Callable[[Words], Any]:
    """A function of machine words that runs kept machine code; other threads of Python run meanwhile.

    Parameters
    ----------
    symbol, code
        As `translate` was given and gave.
    words : list
        Such as it will be called with.
    result : Spec
        Shape of the result.
    """
    failure_type = ctypes.POINTER(_Failure)
    storage, read = result_reader(result)
    function_type = ctypes.CFUNCTYPE(
        ctypes.c_int32, ctypes.POINTER(storage), ctypes.POINTER(failure_type), *word_types(words)
    )
    function = function_type(_address(symbol, code))

    def call(words: Words) -> Any:
        stored, failure = storage(), failure_type()
        status = function(stored, failure, *words)
        if status not in (0, _NO_VALUE):
            raise _exception(failure)
        return read(stored)

    return call


def _exception(failure: Any) -> BaseException:
    kind, arguments, _ = pickle.loads(ctypes.string_at(failure.contents.data, failure.contents.size))
    return kind(*(arguments or ()))
