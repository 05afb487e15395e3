"""What is to be compared, as the user names it: a world, a folder of levels, one level, or a saved report."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

from reach.comparison import saved_report
from reach.errors import InputError, Problem
from reach.files import STANDARD_INPUT, origin_of, read_text
from reach.json_text import shown
from reach.level import FORMAT as LEVEL_FORMAT
from reach.level import load_level
from reach.movement import load_movement
from reach.world.world_file import LoadedWorld, WorldLevel, load_world

if TYPE_CHECKING:
    from reach.comparison.side import Side

WORLD_FORMAT = "reach-world/1"
ALLOWED = "a world, a folder of levels, a level, or a report that was saved with --format json"


class SourceKind(Enum):
    """What a source is, in words."""

    WORLD = "a world"
    FOLDER = "a folder of levels"
    LEVEL = "a level"
    SAVED = "a saved report"


@dataclass(frozen=True)
class Source:
    """One of the two things to be compared; `saved` holds what is compared of a saved report."""

    path: str
    kind: SourceKind
    saved: Side | None = None

    @property
    def names_movement(self) -> bool:
        """Whether it says by which movement it is played."""
        return self.kind in (SourceKind.WORLD, SourceKind.SAVED)

    def load(self, movement: str | None, name: str = "", usual_movement: str | None = None) -> LoadedWorld:
        """Return what has to be checked, a level as a folder of that one, with this movement where one is given.

        `name` is what a level is called; by default as its file, without the ending. `usual_movement` is taken where
        neither `movement` nor a world file names one.

        Raises
        ------
        InputError
            As `load_world`; for a level, if it or the movement cannot be read.
        """
        if self.kind is not SourceKind.LEVEL:
            return load_world(self.path, movement, usual_movement)
        movement = movement or usual_movement
        if movement is None:
            found, allowed = "a level, and no movement", "a movement profile as well, as an option (--movement)"
            raise InputError([Problem(origin_of(self.path), "", found, allowed)])
        level = load_level(self.path)
        file = Path(self.path)
        entry = WorldLevel(name or origin_of(file.stem), origin_of(file.name), load_movement(movement), level)
        return LoadedWorld(level.name, level.origin, (entry,), (), None, ())


def source_of(path: str) -> Source:
    """Return what stands in a file or folder; a saved report is read, the others are when they are loaded.

    Raises
    ------
    InputError
        If it is none of them.
    """
    origin = origin_of(path)
    if path == STANDARD_INPUT:
        raise InputError([Problem(origin, "", "standard input", f"the name of {ALLOWED}")])
    if Path(path).is_dir():
        return Source(path, SourceKind.FOLDER)
    try:
        data = saved_report.parsed(read_text(path, saved_report.MOST_BYTES))
    except ValueError as error:
        raise InputError([Problem(origin, "", f"no JSON: {error}", ALLOWED)]) from None
    told = data.get("format") if isinstance(data, dict) else None
    if told in saved_report.FORMATS:
        return Source(path, SourceKind.SAVED, saved_report.side_of_saved(data, origin, origin_of(Path(path).stem)))
    kinds = {WORLD_FORMAT: SourceKind.WORLD, LEVEL_FORMAT: SourceKind.LEVEL}
    if not isinstance(told, str) or told not in kinds:
        found = "no format" if told is None else f"the format {shown(told)}"
        raise InputError([Problem(origin, "", found, ALLOWED)])
    return Source(path, kinds[told])
