"""The pictures of a world's levels, one for each level and entrance, as files of a folder."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from reach.errors import InputError, OutputError, Problem
from reach.files import reason
from reach.json_text import shown
from reach.level import START

if TYPE_CHECKING:
    from reach.world.result import Outcome, Spot
    from reach.world.world_file import LoadedWorld

BETWEEN = "--"
"""Stands between a level and an entrance in the name of a file."""


def picture_names(world: LoadedWorld) -> dict[Spot, str]:
    """Return the file for every entrance where a check may begin: the level's id, and the entrance's if it has several.

    The names follow from the world's links alone, so that they stay as they are when a way opens or closes.

    Raises
    ------
    InputError
        If two entrances would have the same file.
    """
    spots = dict.fromkeys(link.target for link in world.links)
    if world.start is None:
        spots |= dict.fromkeys((each.id, START if each.level is None else each.level.start.id) for each in world.levels)
    else:
        spots[world.start] = None
    several = Counter(level for level, _ in spots)
    names = {
        (level, place): f"{level}{f'{BETWEEN}{place}' if several[level] > 1 else ''}.png" for level, place in spots
    }
    taken: dict[str, Spot] = {}
    for spot, name in names.items():
        other = taken.setdefault(name.lower(), spot)
        if other != spot:
            found = f"the same picture {shown(name)} for {'/'.join(other)} and {'/'.join(spot)}"
            raise InputError([Problem(world.origin, "", found, "ids of which each gives a name of its own")])
    return names


class PictureFolder:
    """A folder with the pictures of a world: made when the first is saved.

    Parameters
    ----------
    world : LoadedWorld
    folder : Path

    Attributes
    ----------
    folder : Path
    saved : set of str
        The files written so far.

    Raises
    ------
    InputError
        As `picture_names`.
    """

    def __init__(self, world: LoadedWorld, folder: Path) -> None:
        """Nothing is written yet."""
        self._world = world
        self.folder = folder
        self._names = picture_names(world)
        self.saved: set[str] = set()

    def save(self, outcome: Outcome) -> None:
        """Draw what came out of a check over its level; of one that has no report nothing is drawn.

        Raises
        ------
        OutputError
            If the folder or the file cannot be written.
        """
        from reach.report.png_overlay import draw_overlay, save_image

        level = self._world.by_id[outcome.job.level].level
        if level is None or outcome.report is None:
            return
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise OutputError(str(self.folder), reason(error)) from None
        name = self._names[outcome.job.level, outcome.job.entrance]
        save_image(draw_overlay(level, outcome.report), self.folder / name)
        self.saved.add(name)

    def left_over(self) -> list[str]:
        """Return the pictures of this world's levels that stand in the folder and are not of this run.

        Of the levels that nobody enters now too: links that are gone may have led there.
        """
        names = {*self._names.values()}
        for each in self._world.levels:
            places = self._world.place_ids(each.id)
            names.update((f"{each.id}.png", *(f"{each.id}{BETWEEN}{place}.png" for place in places)))
        return sorted(name for name in names - self.saved if (self.folder / name).exists())
