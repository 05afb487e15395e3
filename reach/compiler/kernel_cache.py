"""Where compiled kernels are kept between runs.

A file holds the machine code of one kernel for one set of argument types, with all that it calls. Its name ends in a
hash of everything that shaped it: the kernel's source file and every kernel file that this imports, directly or not;
this package; the versions of the libraries; the processor; the settings. So a change of any of them leads to another
file, and who reads has nothing to look up or lock: files are written whole and then renamed. One that is damaged counts
as missing. Who is about to compile a kernel reserves it by a lock on a file beside, so that other processes wait for it
instead of compiling it as well.

The folder is `levelreach` in NUMBA_CACHE_DIR where the user set it, else `kernels` in the product's own folder among
the user's caches. Where nothing can be written, kernels are compiled anew in every process.
"""

from __future__ import annotations

import ast
import contextlib
import hashlib
import importlib.metadata
import importlib.util
import json
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import platformdirs

COMPILER = Path(__file__).resolve().parent
KERNELS = COMPILER.parent / "kernels"
DAYS_KEPT = 30.0
MOST_WAIT_S = 120.0
"""After so long it is taken that the process that compiles a kernel has been stopped."""

SETTINGS = "NUMBA_"
"""What the names of all variables begin with by which the user changes what numba does."""
NOT_IN_CODE = ("NUMBA_CACHE_DIR", "NUMBA_NUM_THREADS")
"""Those of them that are often set and change no kernel. Some of the others do; for most it is only compiled anew."""
PROFILER = "VS_PROFILER"
"""A variable that lets numba add what a profiler reads."""
SETTINGS_FILE = ".numba_config.yaml"
"""Where numba takes settings from as well, in the working folder, where it can read YAML."""

_telling: list[Callable[[], None]] = []


@dataclass(frozen=True)
class Kept:
    """Machine code, the name of the function to call in it, and the shape of its result (`arguments.Spec`)."""

    symbol: str
    result: Any
    code: bytes


@cache
def _kernels_imported(contents: bytes, kernels: Path) -> frozenset[Path]:
    """The kernel files that a file imports itself, at its top as the house style has it."""
    names: set[str] = set()
    for node in ast.parse(contents).body:
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    paths = (kernels.joinpath(*name.removeprefix("reach.kernels.").split(".")).with_suffix(".py") for name in names)
    return frozenset(path for path in paths if path.is_file())


@cache
def source_stamp(source: Path, kernels: Path = KERNELS) -> str:
    """Hash of a file and of all kernel files that it imports, directly or not.

    Parameters
    ----------
    source : Path
        The file of a kernel.
    kernels : Path
        The folder of all kernels.
    """
    found: dict[Path, bytes] = {}
    waiting = {source}
    while waiting:
        path = waiting.pop()
        found[path] = path.read_bytes()
        waiting |= _kernels_imported(found[path], kernels) - found.keys()
    digest = hashlib.sha256()
    for path in sorted(found):
        digest.update(path.name.encode() + b"\0")
        digest.update(hashlib.sha256(found[path]).digest())
    return digest.hexdigest()


@cache
def circumstances() -> str:
    """What besides kernels shapes machine code: this package, versions, processor and settings."""
    from reach.compiler.machine_code import processor

    versions = [importlib.metadata.version(name) for name in ("numba", "llvmlite", "numpy")]
    ours = [hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(COMPILER.glob("*.py"))]
    return "\0".join([*versions, sys.version, processor(), *_settings(), *ours])


def _settings() -> list[str]:
    """What the user set that numba may heed; told without numba, which takes long to import."""
    names = [name for name in os.environ if name.startswith(SETTINGS) and name not in NOT_IN_CODE]
    told = [f"{name}={os.environ[name]}" for name in sorted([*names, *({PROFILER} & os.environ.keys())])]
    with contextlib.suppress(OSError):  # there is none, as a rule
        contents = Path(SETTINGS_FILE).read_bytes().hex()
        told.append(f"{contents} {importlib.util.find_spec('yaml') is not None}")
    return told


def folder() -> Path:
    """The folder in which kernels are kept: the user's NUMBA_CACHE_DIR where it is set."""
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen:
        return Path(chosen) / "levelreach"
    return platformdirs.user_cache_path("levelreach", appauthor=False) / "kernels"


def why_not_kept() -> str:
    """Why kernels cannot be kept in the folder, "" where they can."""
    try:
        folder().mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=folder()).close()
    except OSError as error:
        return (error.strerror or str(error)).lower()
    return ""


def _digest(kept: Kept) -> str:
    return hashlib.sha256(json.dumps([kept.symbol, kept.result]).encode() + kept.code).hexdigest()


@dataclass(frozen=True)
class Entry:
    """The file of one kernel."""

    path: Path

    def load(self) -> Kept | None:
        """What is kept, None if nothing is or it is damaged."""
        try:
            head, code = self.path.read_bytes().split(b"\n", 1)
            told = json.loads(head)
            kept = Kept(told["symbol"], told["result"], code)
            whole = told["sha256"] == _digest(kept)
        except (OSError, ValueError, KeyError, TypeError):
            return None
        if not whole:
            return None
        with contextlib.suppress(OSError):
            os.utime(self.path)
        return kept

    def save(self, kept: Kept) -> None:
        """Keep it, or not where that cannot be done; removes what nobody has used for long."""
        head = {"symbol": kept.symbol, "result": kept.result, "sha256": _digest(kept)}
        with contextlib.suppress(OSError):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self.path.parent, suffix=".part")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(json.dumps(head).encode() + b"\n" + kept.code)
                Path(name).replace(self.path)
            except OSError:
                Path(name).unlink(missing_ok=True)
            _prune(self.path.parent)

    @contextlib.contextmanager
    def reserved(self) -> Iterator[None]:
        """Within it no other process that reserves it as well compiles this kernel; what it kept is to be looked for.

        Where nothing can be locked, or another process holds it for too long, it is not reserved at all.
        """
        from filelock import FileLock

        with contextlib.ExitStack() as held:
            with contextlib.suppress(OSError, NotImplementedError):
                self.path.parent.mkdir(parents=True, exist_ok=True)
                held.enter_context(FileLock(self.path.with_suffix(".lock"), timeout=MOST_WAIT_S))
            yield


def _prune(where: Path, days: float = DAYS_KEPT) -> None:
    """Remove the files of kernels, their locks, and half-written ones, that were last used so many days ago."""
    limit = time.time() - days * 86400
    for path in [path for kind in ("kernel", "lock", "part") for path in where.glob(f"*.{kind}")]:
        with contextlib.suppress(OSError):
            if path.stat().st_mtime < limit:
                path.unlink()


def entry(name: str, source: Path, version: str) -> Entry:
    """Where a kernel is kept.

    Parameters
    ----------
    name : str
        Of the function.
    source : Path
        Its file.
    version : str
        What tells it from other kernels of that file: types of arguments, options.
    """
    digest = hashlib.sha256()
    for part in (source_stamp(source), circumstances(), version):
        digest.update(part.encode() + b"\0")
    return Entry(folder() / f"{source.stem}.{name}-{digest.hexdigest()[:24]}.kernel")


def tell_compiling() -> None:
    """Tell whoever asked that a kernel is about to be compiled."""
    while _telling:
        _telling.pop()()


@contextlib.contextmanager
def when_compiling(callback: Callable[[], None]) -> Iterator[None]:
    """Within it, call back, once, when a kernel is about to be compiled: it takes long and is worth a word."""
    _telling.append(callback)
    try:
        yield
    finally:
        if callback in _telling:
            _telling.remove(callback)
