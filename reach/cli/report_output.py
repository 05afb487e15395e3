"""Where the report of a command goes, and what is told beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from reach.cli import streams
from reach.cli.arguments import ReportFormat
from reach.files import write_text

if TYPE_CHECKING:
    from rich.text import Text


def write_report(
    report_format: ReportFormat,
    output: Path | None,
    compose: Callable[..., Text],
    dump: Callable[[], str],
    headline: str,
    written: Sequence[str],
) -> None:
    """Write a report; where it is not text on standard output, tell the verdict and the files on standard error.

    Parameters
    ----------
    report_format : ReportFormat
    output : Path or None
        None: standard output.
    compose : callable
        Gives the text, for a width and what was written if it is called with these.
    dump : callable
        Gives the JSON.
    headline : str
        The verdict.
    written : sequence of str
        What was written beside it, a line for each file.
    """
    if report_format is ReportFormat.TEXT and output is None:
        streams.write_text(compose(streams.terminal_width(), written))
        return
    text = dump() if report_format is ReportFormat.JSON else compose().plain
    if output is None:
        streams.write_data(text)
    else:
        write_text(output, text)
        written = [*written, f"report: {output}"]
    for line in (headline, *written):
        streams.say(line)
