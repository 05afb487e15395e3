"""Standard output and standard error: text, colour and progress."""

from __future__ import annotations

import shutil
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from reach.errors import OutputError
from reach.files import reason

if TYPE_CHECKING:
    from rich.text import Text

Tell = Callable[[str, float | None], None]
"""Told what is being done and, where it is known, which part of it is done (0 to 1)."""

SHOW_PROGRESS_AFTER_S = 1.0
PLAIN_WIDTH = 100
"""Columns of text that goes to a file or a pipe, so that it is the same everywhere."""


def terminal_width() -> int:
    """Return how many columns of text fit on standard output."""
    if not sys.stdout.isatty():
        return PLAIN_WIDTH
    return max(60, min(PLAIN_WIDTH, shutil.get_terminal_size().columns))


def write_data(text: str) -> None:
    """Write data to standard output as UTF-8 with `\\n` line ends, whatever the system's own are.

    Raises
    ------
    OutputError
        If it cannot be written (but BrokenPipeError if its reader has gone).
    """
    with _output_errors():
        binary = getattr(sys.stdout, "buffer", None)
        if binary is None:
            sys.stdout.write(text)
            return
        sys.stdout.flush()
        binary.write(text.encode())
        binary.flush()


def write_text(text: Text | str) -> None:
    """Write text for a person to standard output, in colour only on a terminal and unless NO_COLOR is set."""
    from rich.console import Console

    with _output_errors():
        console = Console(file=sys.stdout, soft_wrap=True, highlight=False, markup=False, emoji=False)
        if console.is_terminal:
            console.print(text, end="")
        else:
            sys.stdout.write(str(text))
        sys.stdout.flush()


def say(message: str) -> None:
    """Tell the user something beside the result, on standard error."""
    print(f"reach: {message}", file=sys.stderr)


def announce_compilation() -> None:
    """Say that kernels are compiled, since that takes a while, and whether it will be so again."""
    from reach.compiler.kernel_cache import folder, why_not_kept

    why = why_not_kept()
    if why:
        say(
            f"compiling kernels, as every run has to: they cannot be kept in {folder()} ({why}); "
            "NUMBA_CACHE_DIR can name another folder ..."
        )
    else:
        say("compiling kernels that no run has needed since installing or updating; this can take a minute ...")


@contextmanager
def progress() -> Iterator[Tell]:
    """Show what is being done on standard error, if it is a terminal and the work takes over a second.

    Wherever standard error goes, it is told when kernels have to be compiled first.
    """
    from reach.compiler.interruption import compiling_stops
    from reach.compiler.kernel_cache import when_compiling

    with compiling_stops(), when_compiling(announce_compilation), _display() as tell:
        yield tell


@contextmanager
def _display() -> Iterator[Tell]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda stage, done: None
        return
    columns = (TextColumn("{task.description}"), BarColumn(bar_width=24), TimeElapsedColumn())
    display = Progress(*columns, console=console, transient=True)
    task = display.add_task("reading", total=None)

    def tell(stage: str, done: float | None) -> None:
        display.update(task, description=stage, total=None if done is None else 1.0, completed=done or 0.0)

    timer = threading.Timer(SHOW_PROGRESS_AFTER_S, display.start)
    timer.daemon = True
    timer.start()
    try:
        yield tell
    finally:
        timer.cancel()
        timer.join()
        display.stop()


@contextmanager
def _output_errors() -> Iterator[None]:
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        raise OutputError("standard output", reason(error)) from None
