"""What a project sets for every run, in `reach.toml` or the table `[tool.reach]` of `pyproject.toml`.

Every setting is described in `schemas/settings.schema.json`. The file is looked for in the working folder and those
above it, up to the one that holds a git repository.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from reach.errors import InputError, Problem
from reach.files import STANDARD_INPUT, read_text
from reach.json_text import document_of, shown

OWN_FILE = "reach.toml"
SHARED_FILE = "pyproject.toml"
TABLE = "tool.reach"

KEYS = (
    "world",
    "movement",
    "fail_on",
    "window_ms",
    "timing_spread_ms",
    "time_limit",
    "memory_limit",
    "jobs",
    "cache",
)
"""Every setting, in the schema's order; known without the schema, which takes long to load."""
FILES = ("world", "movement")
"""Settings that name what has to be there to be read."""
PATHS = (*FILES, "cache")


@dataclass(frozen=True)
class Settings:
    """What a settings file says, and where it was found.

    `values` are by key; paths in them lead from the working folder. `file` is named from there too, "" if there is
    none, and so are the folders that were looked in. `place` goes before a key where a message names it.
    """

    looked_in: tuple[str, ...]
    file: str = ""
    place: str = ""
    values: Mapping[str, str | int | float] = field(default_factory=dict)

    def path(self, key: str) -> str:
        """Return the path that one of FILES names.

        Raises
        ------
        InputError
            If nothing is there.
        """
        path = str(self.values[key])
        if not Path(path).exists():
            what = "a file or a folder" if key == "world" else "a file"
            allowed = f"the path of {what}, from the folder of {self.file}"
            raise InputError([Problem(self.file, self.place + key, f"{shown(path)}, where there is nothing", allowed)])
        return path


def descriptions() -> Mapping[str, str]:
    """Return what each setting is, by key."""
    from reach.schema import load_schema

    return {key: entry["description"] for key, entry in load_schema("settings")["properties"].items()}


def find_settings() -> Settings:
    """Return the settings that hold in the working folder; without values where no file has any.

    Raises
    ------
    InputError
        If a file cannot be read, is no TOML, or holds what is no setting; or if both files of a folder hold settings.
    """
    looked_in: list[str] = []
    for folder in _folders():
        looked_in.append(_from_here(folder))
        own, shared = folder / OWN_FILE, folder / SHARED_FILE
        table = _table_of(shared) if _is_there(shared) else None
        if _is_there(own):
            if table is not None:
                found = f"settings, and {_from_here(own)} beside it"
                raise InputError([Problem(_from_here(shared), TABLE, found, "settings in one of the two")])
            return _read(folder, own, _parsed(own), "", looked_in)
        if table is not None:
            return _read(folder, shared, table, f"{TABLE}.", looked_in)
        if _is_there(folder / ".git"):
            break
    return Settings(tuple(looked_in))


def _folders() -> tuple[Path, ...]:
    """The working folder and all above it, from the inside out; none where it has been removed."""
    try:
        here = Path.cwd()
    except OSError:
        return ()
    return (here, *here.parents)


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:  # in a folder that this user may not look into
        return False


def _parsed(file: Path) -> dict[str, Any]:
    text = read_text(_from_here(file))
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = f"text that is no TOML ({str(error)[:1].lower()}{str(error)[1:]})"
        raise InputError([Problem(_from_here(file), "", found, "TOML 1.0")]) from None


def _table_of(file: Path) -> Any:
    """The table of settings in a file that others use too; None where it has none."""
    tool = _parsed(file).get("tool")
    return tool.get("reach") if isinstance(tool, dict) else None


def _read(folder: Path, file: Path, table: Any, place: str, looked_in: list[str]) -> Settings:
    from reach.schema import validate

    origin = _from_here(file)
    try:
        document = document_of(table, origin)
        validate(document, "settings")
    except InputError as error:
        raise InputError(replace(each, place=_place(each.place, place)) for each in error.problems) from None
    values = {key: _value(folder, key, value) for key, value in document.value.items()}
    return Settings(tuple(looked_in), origin, place, values)


def _place(path: str, place: str) -> str:
    """A path into the table, as in JSON, with its name before it."""
    return (place + path.removeprefix("$").removeprefix(".")).removesuffix(".")


def _value(folder: Path, key: str, value: Any) -> str | int | float:
    if key in PATHS:
        path = _from_here(folder / value)
        return f"./{path}" if path == STANDARD_INPUT else path
    return float(value) if isinstance(value, Decimal) else value


def _from_here(path: Path) -> str:
    try:
        return Path(os.path.relpath(path)).as_posix()
    except ValueError:  # on another drive
        return path.as_posix()
