"""The short way through numba: it leads to the same machine code as the long one."""

import os
import subprocess
import sys

from numba.core import compiler, types
from numba.core.registry import cpu_target

from reach.compiler.pipeline import SKIPPED, Flags, answered_once
from reach.kernels.compiling import PLAIN
from tests.checkout import ROOT

PROGRAM = """
import contextlib, hashlib, sys
from reach.compiler import front_end, machine_code, pipeline
from reach.kernels import polygon
if sys.argv[1] == "long":
    pipeline.SKIPPED = frozenset()
    front_end.answered_once = contextlib.nullcontext
    front_end.Flags = pipeline.compiler.Flags
written = polygon.simplify.dispatcher.write(())
code = machine_code.translate(written.library.all_texts(), written.fndesc.llvm_func_name)
print(len(code), hashlib.sha256(code).hexdigest())
"""


def machine_code_by(way: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, way],
        env=os.environ | {"PYTHONPATH": str(ROOT), "NUMBA_DISABLE_JIT": "0"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_short_way_leads_to_the_same_machine_code() -> None:
    assert machine_code_by("short") == machine_code_by("long")


def made(kind, **options):
    flags = kind()
    cpu_target.options.parse_as_flags(flags, {"nopython": True, **PLAIN, **options})
    return flags


def test_settings_are_equal_where_those_of_numba_are() -> None:
    usual = made(Flags)
    told = made(Flags)
    told.forceinline = False
    other = made(Flags, forceinline=True)
    assert usual == usual.copy() == told == made(compiler.Flags)
    assert usual != other and other != made(compiler.Flags)
    assert len({usual, told, other, made(compiler.Flags)}) == 2


def test_what_is_skipped_is_there_to_skip() -> None:
    state = compiler.StateDict()
    state.flags, state.func_ir = made(compiler.Flags), None
    passes = compiler.DefaultPassBuilder.define_nopython_pipeline(state).passes
    assert {each.__name__ for each, _ in passes} > SKIPPED


def test_numba_asks_as_usual_afterwards() -> None:
    kind = types.functions.BaseFunction
    usual = kind.get_call_type
    with answered_once():
        assert kind.get_call_type is not usual
    assert kind.get_call_type is usual
