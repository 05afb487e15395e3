"""The proof scripts of a report as files, one for every reachable place but the one that the check began at."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from reach.errors import OutputError
from reach.files import reason
from reach.script import save_script

if TYPE_CHECKING:
    from reach.findings import Report


@dataclass(frozen=True)
class ScriptFolder:
    """What stands in the folder after saving.

    `saved` are the places whose scripts were written, `outdated` those whose scripts an earlier run left: no proof now.
    """

    saved: tuple[str, ...]
    outdated: tuple[str, ...]


def save_scripts(report: Report, folder: Path) -> ScriptFolder:
    """Write `folder`/<place id>.json for every reachable place but the one begun at; make the folder if need be.

    Files of other places are left alone, but named: a script that an earlier run wrote may prove what no longer holds.

    Raises
    ------
    OutputError
        If the folder cannot be made or a script cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(str(folder), reason(error)) from None
    begun_at = {place.id for place in report.places if place.id == report.from_place}
    if not begun_at:
        begun_at = {place.id for place in report.places if place.kind == "start"}
    wanted = sorted(set(report.scripts) - begun_at)
    for place_id in wanted:
        save_script(report.scripts[place_id], folder / f"{place_id}.json")
    others = sorted({place.id for place in report.places} - set(wanted))
    return ScriptFolder(tuple(wanted), tuple(place_id for place_id in others if (folder / f"{place_id}.json").exists()))
