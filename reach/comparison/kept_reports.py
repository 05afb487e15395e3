"""Whole reports, with what a picture needs, kept outside of memory until it is known which are to be drawn."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from reach.errors import OutputError
from reach.files import reason, write_bytes
from reach.world.stored_report import from_bytes, to_bytes

if TYPE_CHECKING:
    from reach.findings import Report
    from reach.world.result import Outcome


class KeptReports:
    """Reports by when they are of, level and entrance, in a folder.

    Parameters
    ----------
    folder : Path
        Exists.
    """

    def __init__(self, folder: Path) -> None:
        """Nothing is kept yet."""
        self._folder = folder
        self._files: dict[tuple[str, str, str], Path] = {}

    def keep(self, when: str, outcome: Outcome) -> None:
        """Keep the report of a check, if it has one.

        Raises
        ------
        OutputError
            If it cannot be written.
        """
        if outcome.report is None:
            return
        path = self._folder / f"{len(self._files)}.report"
        write_bytes(path, to_bytes(outcome.report))
        self._files[when, outcome.job.level, outcome.job.entrance] = path

    def find(self, when: str, level: str, entrance: str) -> Report | None:
        """Return a report that was kept; None if there is none."""
        path = self._files.get((when, level, entrance))
        return None if path is None else from_bytes(path.read_bytes())


@contextmanager
def kept_reports() -> Iterator[KeptReports]:
    """Open a temporary folder for reports; it is removed in the end.

    Raises
    ------
    OutputError
        If there is no place for it.
    """
    try:
        folder = tempfile.TemporaryDirectory(prefix="reach-")
    except OSError as error:
        raise OutputError("a temporary folder", reason(error)) from None
    with folder as name:
        yield KeptReports(Path(name))
