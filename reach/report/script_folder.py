"""The proof scripts of a report as files: to every reachable place but the one begun at, and into ground that findings
are about.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from reach.errors import OutputError
from reach.files import reason
from reach.script import Script, save_script, script_from_dict

if TYPE_CHECKING:
    from reach.findings import Report

STUCK = "stuck"
"""The folder, in that of the scripts, of those that lead into ground without a way out."""


@dataclass(frozen=True)
class ScriptFolder:
    """What stands in the folder after saving.

    `saved` are the places whose scripts were written, `outdated` those whose scripts an earlier run left: no proof now.
    `ways_in` and `outdated_ways_in` are the same for the files in the folder `stuck`, by their names without an ending.
    """

    saved: tuple[str, ...]
    outdated: tuple[str, ...]
    ways_in: tuple[str, ...] = ()
    outdated_ways_in: tuple[str, ...] = ()


def save_scripts(report: Report, folder: Path) -> ScriptFolder:
    """Write `folder`/<place id>.json for every reachable place but the one begun at; make the folder if need be.

    For every finding that has a way in, a script of one tick or more, write `folder`/stuck/<rule>-<column>-<row>.json
    (with a number behind, where one tile has several). Files of other places and findings are left alone, but named: a
    script that an earlier run wrote may prove what no longer holds.

    Raises
    ------
    OutputError
        If the folder cannot be made or a script cannot be written.
    """
    _make(folder)
    begun_at = {place.id for place in report.places if place.id == report.from_place}
    if not begun_at:
        begun_at = {place.id for place in report.places if place.kind == "start"}
    wanted = sorted(set(report.scripts) - begun_at)
    for place_id in wanted:
        save_script(report.scripts[place_id], folder / f"{place_id}.json")
    ways_in = dict(_ways_in(report))
    if ways_in:
        _make(folder / STUCK)
    for name, script in sorted(ways_in.items()):
        save_script(script, folder / STUCK / f"{name}.json")
    others = sorted({place.id for place in report.places} - set(wanted))
    return ScriptFolder(
        tuple(wanted),
        tuple(place_id for place_id in others if (folder / f"{place_id}.json").exists()),
        tuple(sorted(ways_in)),
        tuple(name for name in _named_like_ways_in(folder / STUCK) if name not in ways_in),
    )


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(str(folder), reason(error)) from None


def _ways_in(report: Report) -> Iterator[tuple[str, Script]]:
    """Yield the name and the script of every way in."""
    taken: dict[str, int] = {}
    for finding in report.findings:
        way_in = finding.details.get("way_in")
        script = None if way_in is None else script_from_dict(way_in)
        if script is None or not script.ticks or finding.at is None:
            continue
        name = f"{finding.rule}-{finding.at[0]}-{finding.at[1]}"
        taken[name] = taken.get(name, 0) + 1
        yield name if taken[name] == 1 else f"{name}-{taken[name]}", script


def _named_like_ways_in(folder: Path) -> list[str]:
    """Return the names, without the ending, of the files in a folder that are named as ways in are, sorted."""
    try:
        names = sorted(path.name for path in folder.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        raise OutputError(str(folder), reason(error)) from None
    return [name.removesuffix(".json") for name in names if re.fullmatch(r"[a-z-]+-\d+-\d+(-\d+)?\.json", name)]
