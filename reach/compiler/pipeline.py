"""numba's way from Python to LLVM's text, without what takes long and changes no byte of a kernel's machine code."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

from numba.core import compiler, types
from numba.core.targetconfig import ConfigStack

SKIPPED = frozenset(
    (
        "WithLifting",
        "InlineClosureLikes",
        "RewriteSemanticConstants",
        "DeadBranchPrune",
        "RewriteDynamicRaises",
        "MakeFunctionToJitFunction",
        "FindLiterallyCalls",
        "LiteralUnroll",
        "LiteralPropagationSubPipelinePass",
        "InlineOverloads",
        "NopythonRewrites",
        "DumpParforDiagnostics",
    )
)
"""Passes of numba that change nothing in a kernel: it has no closures, no `with`, no expressions of whole arrays, and
what is never true LLVM leaves out as well."""


class Flags(compiler.Flags):  # numba writes the name of the class into the names of functions
    """numba's settings of a compilation, soon compared: numba compares them again and again."""

    __slots__ = ()

    options: Any
    _hash = hash(compiler.Flags())

    def __hash__(self) -> int:  # noqa: D105
        return self._hash

    def __eq__(self, other: object) -> bool:  # noqa: D105
        if isinstance(other, Flags):
            return self._values == other._values or self._unusual() == other._unusual()
        return bool(super().__eq__(other))

    def _unusual(self) -> dict[str, Any]:
        return {name: value for name, value in self._values.items() if value != self.options[name].default}


class Pipeline(compiler.CompilerBase):
    """numba's passes but those that are skipped."""

    def define_pipelines(self) -> list[Any]:
        """The one pipeline that there is."""
        whole = compiler.DefaultPassBuilder.define_nopython_pipeline(self.state)
        passes = compiler.PassManager(whole.pipeline_name)
        for each, words in whole.passes:
            if each.__name__ not in SKIPPED:
                passes.add_pass(each, words)
        passes.finalize()
        return [passes]


_answers: dict[Any, Any] = {}
"""What numba's own functions give for which types of arguments."""


@contextlib.contextmanager
def answered_once() -> Iterator[None]:
    """Within it numba asks all versions of one of its own functions in turn for the same types only once."""
    asked: Any = types.functions.BaseFunction
    usual = asked.get_call_type

    def call_type(function: Any, context: Any, arguments: Any, named: Any) -> Any:
        key = function, context, tuple(arguments), tuple(sorted(named.items())), ConfigStack.top_or_none()
        if key not in _answers:
            _answers[key] = usual(function, context, arguments, named)
        return _answers[key]

    asked.get_call_type = call_type
    try:
        yield
    finally:
        asked.get_call_type = usual
