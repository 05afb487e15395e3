"""A folder of level files as a world without links: every level on its own, from its start."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from reach.errors import InputError, Problem
from reach.files import origin_of, read_json
from reach.level import FORMAT
from reach.movement import load_movement
from reach.world.world_file import LoadedWorld, WorldLevel, read_level


def load_folder(folder: Path, movement: str | Path | None) -> LoadedWorld:
    """Return the levels in a folder, sorted by file name, each called by the name of its file without its ending.

    Every `.json` file in the folder itself is a level unless its format is another one. One that is no JSON may be
    meant as a level, and becomes one that cannot be checked.

    Raises
    ------
    InputError
        If there is no level in it, or one whose name cannot be written into a report, or no movement is given, or it
        cannot be used.
    """
    origin = origin_of(folder)
    if movement is None:
        found, allowed = "a folder of levels, and no movement", "a movement profile as well, as an option (--movement)"
        raise InputError([Problem(origin, "", found, allowed)])
    profile = load_movement(movement)
    levels, skipped, unnamed = [], [], []
    for path in sorted(folder.glob("*.json"), key=lambda path: path.name):
        if _may_be_a_level(path):
            if not path.name.isprintable():
                unnamed.append(
                    Problem(origin_of(path), "", "a file name that is not all printable text", "one that is")
                )
            made_from = (str(path), str(movement))
            levels.append(WorldLevel(path.stem, path.name, profile, *read_level(path, path.name), made_from))
        else:
            skipped.append(origin_of(path.name))
    if unnamed:
        raise InputError(unnamed)
    if not levels:
        raise InputError([Problem(origin, "", "no level in this folder", f"at least one .json file of {FORMAT}")])
    return LoadedWorld(
        name=origin_of(folder.resolve().name) or origin,
        origin=origin,
        levels=tuple(levels),
        links=(),
        start=None,
        must_reach=(),
        skipped=tuple(skipped),
    )


def _may_be_a_level(path: Path) -> bool:
    try:
        data: Any = read_json(path).value
    except InputError:
        return True
    return not isinstance(data, dict) or data.get("format", FORMAT) == FORMAT
