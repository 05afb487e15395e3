"""The command `reach`: runs a command and turns what happened into an exit code.

Exit codes: 0 no finding at or above the threshold, 1 findings (or proved unreachable), 2 the job could not be done (bad
arguments, a bad file, a file that cannot be written, no memory left), 3 undecided (`reach prove`), 70 an internal
error, 130 interrupted, 141 standard output was closed by its reader. Python itself exits 1 on an uncaught exception, so
none is left uncaught.
"""

from __future__ import annotations

import errno
import os
import sys
import traceback
from collections.abc import Sequence
from typing import cast

from reach.errors import ReachError, fault_text
from reach.files import reason

COULD_NOT = 2
INTERNAL_ERROR = 70
INTERRUPTED = 130
OUTPUT_CLOSED = 141

OUT_OF_MEMORY = (
    "out of memory: there is not enough of it for this level. Check a smaller part of the level, or let --memory-limit "
    "end its exploration before that."
)

NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code; every message for the user is on standard error.

    Parameters
    ----------
    arguments : sequence of str, optional
        The words after `reach`; by default those of the process.
    """
    _never_fail_on_a_character()
    try:
        code = _run(arguments)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        _drop_output()
        return OUTPUT_CLOSED
    except ReachError as error:
        from reach.cli.arguments import message_lines

        for line in message_lines(error):
            _say(line)
        try:
            sys.stdout.flush()
        except OSError:
            _drop_output()
        return COULD_NOT
    except KeyboardInterrupt:
        _say("interrupted")
        return INTERRUPTED
    except MemoryError:
        _say(OUT_OF_MEMORY)
        return COULD_NOT
    except OSError as error:
        # Our own files raise OutputError; what typer prints (help, the version) meets a full disk only here.
        if error.errno not in NO_ROOM or error.filename is not None:
            return _internal_error(error)
        _drop_output()
        _say(f"standard output: cannot be written: {reason(error)}")
        return COULD_NOT
    except Exception as error:
        return _internal_error(error)


def _run(arguments: Sequence[str] | None) -> int:
    import typer

    from reach.cli.app import app

    # The base of every complaint about arguments; where typer keeps it differs between its releases.
    complaint = cast("type[typer.BadParameter]", typer.BadParameter.__mro__[2])
    try:
        code = typer.main.get_command(app).main(args=arguments, prog_name="reach", standalone_mode=False)
    except complaint as error:
        _say(f"{_sentence(error.format_message())} ({_help_hint(error)})")
        return COULD_NOT
    except typer.Abort:
        raise KeyboardInterrupt from None
    except SystemExit as leaving:
        # typer leaves so, with code 1, when standard output is closed; completion leaves so when it is done.
        if isinstance(leaving.__context__, BrokenPipeError):
            raise BrokenPipeError from None
        return leaving.code if isinstance(leaving.code, int) else 0
    return code if isinstance(code, int) else 0


def _sentence(message: str) -> str:
    message = " ".join(message.replace("Value error, ", "").split()).rstrip(".")
    return message[:1].lower() + message[1:]


def _help_hint(error: Exception) -> str:
    context = getattr(error, "ctx", None)
    return f"see {context.command_path if context else 'reach'} --help"


def _say(message: str) -> None:
    print(f"reach: {message}", file=sys.stderr)


def _never_fail_on_a_character() -> None:
    """Let a stream that lacks a character (an old Windows code page) write an escape for it instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def _drop_output() -> None:
    """Let what is still buffered go nowhere, so that Python does not stumble over it again as it leaves."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _internal_error(error: Exception) -> int:
    if os.environ.get("REACH_DEBUG") == "1":
        traceback.print_exception(error)
    _say(
        f"internal error: {fault_text(error)}. This is a fault of reach itself, not of your files; with REACH_DEBUG=1 "
        "in the environment it prints the whole trace."
    )
    return INTERNAL_ERROR


if __name__ == "__main__":
    sys.exit(main())
