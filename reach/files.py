"""Reading files whole and within limits; writing them whole or not at all."""

from __future__ import annotations

import contextlib
import os
import stat
import sys
import tempfile
from pathlib import Path

from reach.errors import InputError, OutputError, Problem
from reach.json_text import Document, parse_json

MAX_FILE_BYTES = 64 * 2**20
"""A larger file is refused before it is read in full."""
STANDARD_INPUT = "-"
"""The name that stands for standard input where a file to read is asked for."""


def origin_of(path: str | Path) -> str:
    """Return the name of a file as messages show it: as it was given, on one line."""
    if str(path) == STANDARD_INPUT:
        return "<standard input>"
    return "".join(character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in str(path))


def read_bytes(path: str | Path, most_bytes: int | None = None) -> bytes:
    """Return all bytes of a file; `-` reads standard input.

    Raises
    ------
    InputError
        If it is missing, a directory, unreadable or over `most_bytes`, by default MAX_FILE_BYTES.
    """
    origin = origin_of(path)
    most_bytes = MAX_FILE_BYTES if most_bytes is None else most_bytes
    try:
        if str(path) == STANDARD_INPUT:
            data = sys.stdin.buffer.read(most_bytes + 1)
        else:
            with Path(path).open("rb") as stream:
                data = stream.read(most_bytes + 1)
    except FileNotFoundError:
        raise _unreadable(origin, "no such file") from None
    except IsADirectoryError:
        raise _unreadable(origin, "a directory") from None
    except OSError as error:
        raise _unreadable(origin, reason(error)) from None
    except ValueError:
        raise _unreadable(origin, "a name that no file can have") from None
    if len(data) > most_bytes:
        raise _unreadable(origin, "a larger file", f"at most {most_bytes // 2**20} MiB")
    return data


def read_text(path: str | Path, most_bytes: int | None = None) -> str:
    """Return the text of a UTF-8 file, without a byte order mark; `-` reads standard input.

    Raises
    ------
    InputError
        As for `read_bytes`, or if it is not UTF-8.
    """
    data = read_bytes(path, most_bytes)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"the byte 0x{data[error.start]:02X} in line {line}, which is not UTF-8"
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            found = "UTF-16"
        raise _unreadable(origin_of(path), found, "text in UTF-8") from None


def read_json(path: str | Path) -> Document:
    """Return what a JSON file holds, with the place of every part; `-` reads standard input.

    Raises
    ------
    InputError
        As for `read_text`, or if it is not strict JSON.
    """
    return parse_json(read_text(path), origin_of(path))


def write_text(path: str | Path, text: str) -> None:
    """Write a UTF-8 file with line feeds, whole or not at all.

    Raises
    ------
    OutputError
        If it cannot be written. The file is then as it was before.
    """
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: str | Path, data: bytes) -> None:
    """Write a file, whole or not at all: beside its place first, then moved there.

    Raises
    ------
    OutputError
        If it cannot be written. The file is then as it was before.
    """
    try:
        target = Path(path).resolve()
        mode = _mode(target)
        if mode is not None and not stat.S_ISREG(mode):
            # A device or a pipe is written to; moving a file there would replace it.
            with target.open("wb") as stream:
                stream.write(data)
            return
        _write_beside(target, data, mode)
    except FileNotFoundError:
        raise OutputError(origin_of(path), "no such folder") from None
    except IsADirectoryError:
        raise OutputError(origin_of(path), "it is a directory") from None
    except (OSError, RuntimeError) as error:
        raise OutputError(origin_of(path), reason(error)) from None
    except ValueError:
        raise OutputError(origin_of(path), "no file can have this name") from None


def reason(error: Exception) -> str:
    """Return what the system said, without the file's name and the error's number."""
    text = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return text[:1].lower() + text[1:]


def _mode(target: Path) -> int | None:
    """The mode of what stands at the target, None if nothing does."""
    try:
        return target.stat().st_mode
    except FileNotFoundError:
        return None


def _write_beside(target: Path, data: bytes, mode: int | None) -> None:
    if mode is not None and not os.access(target, os.W_OK):
        raise PermissionError(0, "Permission denied")
    if mode is None:
        # A temporary file is private; the result gets the rights that any new file would.
        umask = os.umask(0)
        os.umask(umask)
        mode = 0o666 & ~umask
    descriptor, name = tempfile.mkstemp(prefix=".", suffix=".part", dir=target.parent)
    beside = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        beside.chmod(stat.S_IMODE(mode))
        beside.replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise


def _unreadable(origin: str, found: str, allowed: str = "a file that can be read") -> InputError:
    return InputError([Problem(origin, "", found, allowed)])
