"""The errors a user can cause: each names the file, the place in it, what was found and what is allowed."""

from __future__ import annotations

import traceback
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

SHOWN_PROBLEMS = 50
"""So many problems are written out; of the rest only the number is told."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with what the user gave.

    `file` is named as the user named it, or in angle brackets where there is none (`<arguments>`). `place` is where in
    it: a JSON path with line and column where they are known, a tile, an option; "" is the whole file.
    """

    file: str
    place: str
    found: str
    allowed: str

    def __str__(self) -> str:
        """Return the problem on one line.

        Examples
        --------
        >>> print(Problem("quay.json", "$.tile_px (line 3, column 14)", "2", "a whole number from 4 to 256"))
        quay.json: $.tile_px (line 3, column 14): found 2; allowed: a whole number from 4 to 256
        """
        where = f"{self.file}: {self.place}" if self.place else self.file
        return f"{where}: found {self.found}; allowed: {self.allowed}"


class ReachError(Exception):
    """What every error that a user can cause derives from. Its text is the message to show."""


class InputError(ReachError):
    """Something given cannot be used. `problems` holds everything that is wrong with it, in the order of the file.

    Parameters
    ----------
    problems : iterable of Problem
        At least one.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems and word the message."""
        self.problems = tuple(problems)
        lines = [str(problem) for problem in self.problems[:SHOWN_PROBLEMS]]
        if len(self.problems) > SHOWN_PROBLEMS:
            lines.append(f"and {len(self.problems) - SHOWN_PROBLEMS} more problems")
        super().__init__("\n".join(lines))


class OutputError(ReachError):
    """A result cannot be written.

    Parameters
    ----------
    file : str
        The output as the user named it.
    why : str
        What the system said, in plain words.
    """

    def __init__(self, file: str, why: str) -> None:
        """Keep the parts and word the message."""
        self.file = file
        self.why = why
        super().__init__(f"{file}: cannot be written: {why}")


def fault_text(error: Exception) -> str:
    """Return of an error that no user caused, on one line, which it is and where in this package it came up."""
    package = Path(__file__).parent
    ours = [frame for frame in traceback.extract_tb(error.__traceback__) if package in Path(frame.filename).parents]
    text = " ".join(f"{type(error).__name__}: {error}".split())
    if ours:
        text += f" at {Path(ours[-1].filename).relative_to(package.parent).as_posix()}, line {ours[-1].lineno}"
    return text
