"""Reports kept between runs: a folder of files, each named by the hash of everything that its report follows from.

So nothing has to be looked up, locked or ended: whatever shapes a report leads to another name, files are written
whole and then renamed, and runs beside each other at worst do the same work twice. A file that is damaged, or lies
under a name that is not its own, is told, removed and done again. What was used least lately goes first when the
folder grows too large.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.metadata
import json
import os
import sys
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from reach.errors import OutputError
from reach.files import reason, write_bytes
from reach.world.stored_report import FORMAT, from_bytes

if TYPE_CHECKING:
    from reach.findings import Report
    from reach.world.task import Task

PACKAGE = Path(__file__).resolve().parent.parent
SHAPING = ("numpy", "numba", "llvmlite", "networkx")
"""Libraries whose version may shape a report."""
MOST_BYTES = 2 * 2**30
"""The size of all files together that is kept by default."""
PRUNED_TO = 0.9
"""The part of it that is left when there were more, so that not every run has to remove some."""
HOURS_UNFINISHED = 24.0
"""A half-written file that is older was left by a process that was killed."""
TOLD_SINGLY = 5

Say = Callable[[str], None]
"""Tells the user something beside the result."""


def default_folder() -> Path:
    """Return where reports are kept unless the user says otherwise: among the user's caches, as the platform has it."""
    import platformdirs

    return platformdirs.user_cache_path("levelreach", appauthor=False) / "checks"


@cache
def product_stamp(package: Path = PACKAGE) -> str:
    """Return the hash of the program itself: version, every source file and schema, Python, libraries."""
    import reach

    digest = hashlib.sha256()
    versions = [importlib.metadata.version(name) for name in SHAPING]
    digest.update("\0".join([reach.__version__, sys.version, *versions]).encode())
    schemas = package / "schemas"
    if not schemas.is_dir():
        schemas = package.parent / "schemas"
    for folder, pattern in ((package, "*.py"), (schemas, "*.json")):
        for path in sorted(folder.rglob(pattern)):
            digest.update(b"\0" + path.relative_to(folder).as_posix().encode() + b"\0")
            digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def key_of(task: Task) -> str:
    """Return the hash of everything that the report on a task follows from."""
    told = {
        "format": FORMAT.decode(),
        "product": product_stamp(),
        "level": task.level.sha256,
        "movement": task.movement.sha256,
        "entrance": task.options.from_place,
        "options": dict(task.options.stated()),
    }
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()


def is_settled(report: Report) -> bool:
    """Tell whether a report follows from the task alone: what a clock cut short might be longer another time."""
    return report.complete or report.options.get("time_limit_s") is None


class Cache:
    """The folder, with what became of it in this run.

    `taken` counts the reports that were found, `damaged` those that could not be used, `kept` those that were written.

    Parameters
    ----------
    folder : Path
        Exists and can be written to: see `open_cache`.
    say : callable
        Is told of damaged files, and when nothing can be written any more.
    most_bytes : int
        What `prune` leaves at most.
    """

    def __init__(self, folder: Path, say: Say, most_bytes: int = MOST_BYTES) -> None:
        """Nothing is read or written yet."""
        self.folder = folder
        self.taken = self.damaged = self.kept = 0
        self._say = say
        self._most_bytes = most_bytes
        self._writable = True

    def find(self, key: str) -> Report | None:
        """Return the report of this key, None if there is none that can be used."""
        path = self._path(key)
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            self._tell_damaged(path, reason(error))
            return None
        head, _, stored = data.partition(b"\n")
        try:
            if head != _seal(key, stored):
                raise ValueError("it is not what was written")
            report = from_bytes(stored)
        except ValueError as error:
            self._tell_damaged(path, str(error))
            with contextlib.suppress(OSError):
                path.unlink()
            return None
        self.taken += 1
        with contextlib.suppress(OSError):
            os.utime(path)
        return report

    def keep(self, key: str, stored: bytes) -> None:
        """Keep a stored report; where that cannot be done it is told, once, and the run goes on without."""
        if not self._writable:
            return
        path = self._path(key)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_bytes(path, _seal(key, stored) + b"\n" + stored)
        except (OSError, OutputError) as error:
            self._writable = False
            why = error.why if isinstance(error, OutputError) else reason(error)
            self._say(f"no more reports are kept in {self.folder}: it cannot be written to: {why}")
        else:
            self.kept += 1

    def prune(self) -> None:
        """Remove what was used least lately where there is too much, and what killed processes left half written."""
        now = time.time()
        files: list[tuple[float, str, int]] = []
        for path in self.folder.glob("??/*"):
            with contextlib.suppress(OSError):
                status = path.stat()
                if path.suffix == ".part" and status.st_mtime < now - HOURS_UNFINISHED * 3600:
                    path.unlink()
                elif path.suffix == ".report":
                    files.append((status.st_mtime, str(path), status.st_size))
        total = sum(size for _, _, size in files)
        if total <= self._most_bytes:
            return
        for _, name, size in sorted(files):
            if total <= self._most_bytes * PRUNED_TO:
                break
            with contextlib.suppress(OSError):
                Path(name).unlink()
            total -= size

    def _path(self, key: str) -> Path:
        return self.folder / key[:2] / f"{key[2:]}.report"

    def _tell_damaged(self, path: Path, why: str) -> None:
        self.damaged += 1
        name = path.relative_to(self.folder)
        if self.damaged <= TOLD_SINGLY:
            self._say(f"a kept report cannot be used ({why}) and is made again: {name.as_posix()} in {self.folder}")
        elif self.damaged == TOLD_SINGLY + 1:
            self._say("further kept reports cannot be used; they are made again without a word for each")


def _seal(key: str, stored: bytes) -> bytes:
    """The first line of a file: binds a report to its key, so that it counts under no other name."""
    return hashlib.sha256(key.encode() + b"\n" + stored).hexdigest().encode()


def open_cache(folder: Path | None, say: Say, most_bytes: int = MOST_BYTES) -> Cache | None:
    """Return the cache in a folder, which is made where it is missing; None, and a word, where it cannot be used.

    Parameters
    ----------
    folder : Path or None
        None: `default_folder`.
    say, most_bytes
        As of `Cache`.
    """
    folder = default_folder() if folder is None else folder
    probe = folder / f".{os.getpid()}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.touch()
        probe.unlink()
    except (OSError, ValueError) as error:
        say(f"no reports are kept between runs: {folder} cannot be written to: {reason(error)}")
        return None
    return Cache(folder, say, most_bytes)
