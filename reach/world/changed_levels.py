"""Which levels of a world have changed since an earlier commit, and which those are linked to."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from reach.errors import InputError, Problem
from reach.files import STANDARD_INPUT, origin_of
from reach.level import START
from reach.world.git_changes import unchanged_since
from reach.world.result import Job

if TYPE_CHECKING:
    from reach.world.world_file import LoadedWorld


@dataclass(frozen=True)
class Chosen:
    """The levels to check, by id: those that may have changed since `revision`, and those that links join them to."""

    revision: str
    levels: Collection[str]


def changed_levels(world: LoadedWorld, path: str, revision: str, settings_file: str = "") -> Chosen | str:
    """Return the levels that may have changed; or why the whole world has to be checked.

    Parameters
    ----------
    world : LoadedWorld
    path : str
        Where it was loaded from.
    revision : str
        A commit, as git takes it.
    settings_file : str, optional
        The file with settings that every check follows from, if there is one.

    Raises
    ------
    InputError
        If git cannot tell, or the world comes from standard input.
    """
    if path == STANDARD_INPUT:
        found, allowed = "a world from standard input", "a file or a folder, whose changes git can tell"
        raise InputError([Problem("<arguments>", "--changed-since", found, allowed)])
    unchanged = unchanged_since(revision, Path(path) if Path(path).is_dir() else Path(path).parent)
    if unchanged is None:
        return "no commit yet"
    for file in ([path] if world.linked else []) + ([settings_file] if settings_file else []):
        if file not in unchanged:
            return f"{origin_of(file)} has changed since {revision}, or git does not know it"
    changed = {level.id for level in world.levels if any(file not in unchanged for file in level.made_from)}
    linked = set(changed)
    for link in world.links:
        ends = {link.source[0], link.target[0]}
        if ends & changed:
            linked |= ends
    if len(linked) == len(world.levels):
        return f"every level has changed since {revision}, or is linked to one that has"
    return Chosen(revision, linked)


def jobs_of(world: LoadedWorld, chosen: Chosen) -> list[Job]:
    """Return a job for each place of the levels that a link leads to, or where the game begins.

    These are all places at which a player can enter a level. One that has none is checked from its start.
    """
    spots = [*([world.start] if world.start is not None else []), *(link.target for link in world.links)]
    found = dict.fromkeys(Job(*spot) for spot in spots if spot[0] in chosen.levels)
    entered = {job.level for job in found}
    alone = [each for each in world.levels if each.id in chosen.levels and each.id not in entered]
    return [*found, *(Job(each.id, START if each.level is None else each.level.start.id) for each in alone)]
