"""Where compiled kernels are kept between runs.

numba keeps a compiled function beside its source and looks only at that one file to see whether it is still fresh, so
a change in a function that it calls would leave old code in use. Here a compiled function counts as fresh only while
the stamp of its source is the same: a hash of that file and of every kernel file that it imports, directly or not.
Versions and settings that shape the machine code name the folder.

How it works: `install` gives numba one more *cache locator*. At the moment a function is decorated, numba asks its
locators in turn where to keep it; ours answers for the files of `reach/kernels` and for no others, so nobody else's
cache moves. `reach/kernels/__init__.py` calls it, and so it stands before any kernel is decorated, whoever imports it.

Folders::

    <base>/<key>/used        touched at every use; tells old folders from new ones
    <base>/<key>/<n>.lock    held by the process that works in folder <n>
    <base>/<key>/<n>/        numba's files

Two processes that save at once can mix up numba's index and data files, so a process works alone in its numbered
folder; a second one at the same time takes the next number and begins with a copy of what is there. `<base>` is
`levelreach` in NUMBA_CACHE_DIR where the user set it, else `kernels` in the product's own folder among the user's
caches. Where nothing can be written, kernels are compiled anew in every process.
"""

from __future__ import annotations

import ast
import atexit
import contextlib
import hashlib
import platform
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import IO, Any

import numba
import numpy as np
import platformdirs
from numba.core import event
from numba.core.caching import FunctionCache

config: Any = numba.config
"""numba's settings; its type stubs do not list them."""

KERNELS = Path(__file__).resolve().parent / "kernels"
FOLDERS_AT_ONCE = 8
KEYS_KEPT = 3
DAYS_KEPT = 2.0
_KEY_PATTERN = re.compile(r"[0-9a-f]{24}")


def cache_key() -> str:
    """Hash of the versions and settings that shape the kernels' machine code, 24 hexadecimal digits."""
    digest = hashlib.sha256()
    for part in (
        numba.__version__,
        np.__version__,
        sys.version,
        platform.machine(),
        str([config.OPT, config.BOUNDSCHECK, config.DEBUGINFO_DEFAULT]),
    ):
        digest.update(part.encode() + b"\0")
    return digest.hexdigest()[:24]


@cache
def _kernels_imported(source: Path, contents: bytes, kernels: Path) -> frozenset[Path]:
    """The kernel files that a kernel file imports itself, at the top of the file as the house style has it."""
    names: set[str] = set()
    for node in ast.parse(contents).body:
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    paths = (kernels.joinpath(*name.removeprefix("reach.kernels.").split(".")).with_suffix(".py") for name in names)
    return frozenset(path for path in paths if path.is_file())


def source_stamp(source: Path, kernels: Path) -> str:
    """Hash of a kernel file and of all kernel files that it imports, directly or not.

    Parameters
    ----------
    source : Path
        A file below `kernels`.
    kernels : Path
        The folder of all kernels.
    """
    found: dict[Path, bytes] = {}
    waiting = {source}
    while waiting:
        path = waiting.pop()
        found[path] = path.read_bytes()
        waiting |= _kernels_imported(path, found[path], kernels) - found.keys()
    digest = hashlib.sha256()
    for path in sorted(found):
        digest.update(path.relative_to(kernels).as_posix().encode() + b"\0")
        digest.update(hashlib.sha256(found[path]).digest())
    return digest.hexdigest()[:24]


def base_folder() -> Path:
    """Folder below which all kernel caches lie: the user's NUMBA_CACHE_DIR where it is set."""
    if config.CACHE_DIR:
        return Path(config.CACHE_DIR) / "levelreach"
    return platformdirs.user_cache_path("levelreach", appauthor=False) / "kernels"


def _lock(path: Path) -> IO[bytes] | None:
    """The open file, locked for this process alone until closed; None where another process holds it."""
    handle = path.open("ab")
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        handle.close()
        return None
    return handle


def _copy_compiled(source: Path, target: Path) -> None:
    """Copy numba's files, every index before the data it names: an entry whose data is missing is compiled again."""
    for suffix in (".nbi", ".nbc"):
        for path in sorted(source.rglob(f"*{suffix}")):
            copy = target / path.relative_to(source)
            copy.parent.mkdir(parents=True, exist_ok=True)
            with contextlib.suppress(FileNotFoundError):
                shutil.copyfile(path, copy)


def take_folder(base: Path, key: str) -> tuple[Path, IO[bytes]]:
    """A folder for this key in which no other process works, and the lock that says so.

    Raises
    ------
    OSError
        Where it cannot be written, or all folders are taken.
    """
    root = base / key
    root.mkdir(parents=True, exist_ok=True)
    (root / "used").touch()
    for number in range(FOLDERS_AT_ONCE):
        handle = _lock(root / f"{number}.lock")
        if handle is None:
            continue
        folder = root / str(number)
        try:
            if number > 0 and not folder.exists():
                _copy_compiled(root / "0", folder)
            folder.mkdir(exist_ok=True)
            tempfile.TemporaryFile(dir=folder).close()
        except OSError:
            handle.close()
            raise
        return folder, handle
    raise OSError("every folder is in use")


def prune(base: Path, keep_key: str, *, keys_kept: int = KEYS_KEPT, days_kept: float = DAYS_KEPT) -> None:
    """Remove the folders of old keys: none of the newest, none used of late, none that a process works in."""
    last_used = {}
    for root in base.iterdir():
        if _KEY_PATTERN.fullmatch(root.name) and root.name != keep_key:
            with contextlib.suppress(OSError):
                last_used[root] = (root / "used").stat().st_mtime
    newest_first = sorted(last_used, key=lambda root: last_used[root], reverse=True)
    limit = time.time() - days_kept * 86400
    for root in newest_first[max(0, keys_kept - 1) :]:
        if last_used[root] > limit:
            continue
        handles = [_lock(path) for path in sorted(root.glob("*.lock"))]
        try:
            if None not in handles:
                shutil.rmtree(root, ignore_errors=True)
        finally:
            for handle in handles:
                if handle is not None:
                    handle.close()


class _Cache:
    """This process's kernel cache folder, chosen when the first kernel is decorated."""

    def __init__(self) -> None:
        """Nothing is looked up before it is asked for."""
        self._key: str | None = None
        self._stamps: dict[Path, str] = {}
        self._folder: Path | None = None
        self._handle: IO[bytes] | None = None

    @property
    def key(self) -> str:
        if self._key is None:
            self._key = cache_key()
        return self._key

    def stamp(self, source: Path) -> str:
        if source not in self._stamps:
            self._stamps[source] = source_stamp(source, KERNELS)
        return self._stamps[source]

    @property
    def folder(self) -> Path:
        if self._folder is None:
            base = base_folder()
            try:
                self._folder, self._handle = take_folder(base, self.key)
                prune(base, self.key)
            except OSError:
                self._folder = self._folder or _folder_for_this_process()
        return self._folder


def _folder_for_this_process() -> Path:
    """A folder that goes when the process does: numba insists on one. Only this user can write in it."""
    folder = Path(tempfile.mkdtemp(prefix="levelreach-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


_cache = _Cache()


class KernelCacheLocator:
    """Tells numba where to keep a compiled kernel; declines every function from outside `reach/kernels`."""

    def __init__(self, source: Path, line: int) -> None:
        """The locator of the kernel at this line of this file below `reach/kernels`."""
        self._source = source
        self._path = _cache.folder / source.relative_to(KERNELS).parent
        self._line = line

    @classmethod
    def from_function(cls, py_func: Callable[..., Any], py_file: str) -> KernelCacheLocator | None:
        """The locator of a kernel, None for any other function."""
        source = Path(py_file).resolve()
        if not source.is_relative_to(KERNELS):
            return None
        return cls(source, py_func.__code__.co_firstlineno)

    def ensure_cache_path(self) -> None:
        """Make the folder."""
        self._path.mkdir(parents=True, exist_ok=True)

    def get_cache_path(self) -> str:
        """The folder in which the function is kept."""
        return str(self._path)

    def get_source_stamp(self) -> str:
        """Freshness of the source: its stamp."""
        return _cache.stamp(self._source)

    def get_disambiguator(self) -> str:
        """Tells functions of one name in one file apart."""
        return str(self._line)


def install() -> None:
    """Have numba keep our kernels, and only them, in our own folder. To call before any kernel is decorated."""
    locators = FunctionCache._impl_class._locator_classes
    if KernelCacheLocator not in locators:
        locators.insert(0, KernelCacheLocator)


class _FirstCompilation(event.Listener):
    """Calls back when the first of our kernels is about to be compiled, as it was not kept."""

    def __init__(self, callback: Callable[[], None]) -> None:
        """To be called once."""
        self._callback: Callable[[], None] | None = callback

    def on_start(self, event: Any) -> None:
        """A compilation starts."""
        source = Path(event.data["dispatcher"].py_func.__code__.co_filename).resolve()
        if self._callback is not None and source.is_relative_to(KERNELS):
            callback, self._callback = self._callback, None
            callback()

    def on_end(self, event: Any) -> None:
        """A compilation ends; nothing is to be said."""


@contextmanager
def when_compiling(callback: Callable[[], None]) -> Iterator[None]:
    """Within it, call back, once, when a kernel is really about to be compiled: it takes long and is worth a word."""
    with event.install_listener("numba:compile", _FirstCompilation(callback)):
        yield
