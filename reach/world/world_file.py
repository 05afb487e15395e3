"""A world: which levels there are, what leads where, where the game begins and what has to be reached.

A world file (`reach-world/1`) is described key by key in `schemas/world.schema.json`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from reach.errors import InputError, Problem
from reach.files import STANDARD_INPUT, origin_of, read_json
from reach.json_text import Document, JsonPath, shown
from reach.level import START, Level, Place, PlaceKind, load_level
from reach.movement import Movement, load_movement
from reach.schema import nearest, validate

if TYPE_CHECKING:
    from reach.world.result import Spot


_LEADS_TO = re.compile(r"\$\.links\[\d+\](\.back)?\.to\b")
_DID_YOU_MEAN = "; did you mean {}?"


@dataclass(frozen=True)
class Link:
    """One link, one way: whoever touches the place `source` goes on at rest at the place `target`."""

    source: Spot
    target: Spot


@dataclass(frozen=True)
class WorldAccept:
    """A finding of the world that is known and meant: all of a rule, or those about a level, or about a place of it."""

    rule: str
    level: str | None
    place: str | None
    reason: str


@dataclass(frozen=True, eq=False)
class WorldLevel:
    """One level of a world; `file` as the world file names it, and so do all complaints about it.

    `level` is None where the file is missing or broken; `problems` then tell everything that is wrong with it.
    `made_from` are the files that a check of it follows from, as paths from the working folder.
    """

    id: str
    file: str
    movement: Movement
    level: Level | None
    problems: tuple[Problem, ...] = ()
    made_from: tuple[str, ...] = ()

    @property
    def why(self) -> str:
        """What is wrong with the file, on one line; "" if it could be read."""
        return one_line(InputError(self.problems)) if self.problems else ""


@dataclass(frozen=True, eq=False)
class LoadedWorld:
    """A world, as a world file or a folder of levels tells it.

    Where the game begins is None for a folder, whose levels have nothing to do with each other; `skipped` are the
    folder's files that are no levels. A place is named as (level id, place id), with "start" resolved where the level
    could be read. `instead_of` is the movement that the world file names, where the caller gave another for it.
    """

    name: str
    origin: str
    levels: tuple[WorldLevel, ...]
    links: tuple[Link, ...]
    start: Spot | None
    must_reach: tuple[Spot, ...]
    accept: tuple[WorldAccept, ...] = ()
    skipped: tuple[str, ...] = ()
    instead_of: str = ""

    @property
    def linked(self) -> bool:
        """Whether it is a world with a start, not a folder of levels."""
        return self.start is not None

    @cached_property
    def by_id(self) -> Mapping[str, WorldLevel]:
        """The levels by their id."""
        return {level.id: level for level in self.levels}

    @cached_property
    def leads_to(self) -> Mapping[Spot, Spot]:
        """Where each linked exit leads."""
        return {link.source: link.target for link in self.links}

    def place(self, spot: Spot) -> Place | None:
        """Return a place; None where its level could not be read."""
        level = self.by_id[spot[0]].level
        return None if level is None else level.place(spot[1])

    @cached_property
    def _named(self) -> Mapping[str, set[str]]:
        """The places that the world file names, by level."""
        named: dict[str, set[str]] = {level.id: set() for level in self.levels}
        spots = [spot for link in self.links for spot in (link.source, link.target)]
        for level, place in (*spots, *self.must_reach, *([self.start] if self.start else [])):
            named[level].add(place)
        return named

    def place_ids(self, level_id: str) -> tuple[str, ...]:
        """Return the ids of a level's places, in its order; of a level that could not be read those that are known."""
        level = self.by_id[level_id].level
        return tuple(sorted(self._named[level_id])) if level is None else tuple(place.id for place in level.places)


def load_world(
    path: str | Path, movement: str | Path | None = None, usual_movement: str | Path | None = None
) -> LoadedWorld:
    """Return the world in a world file (`-` reads standard input) or in a folder of level files.

    A level file that is missing or broken makes that level one that cannot be checked; every other mistake is refused.

    Parameters
    ----------
    path : str or Path
    movement : str or Path, optional
        A movement profile for every level that names none of its own, in place of the world file's; needed for a
        folder.
    usual_movement : str or Path, optional
        The same, but the world file's is taken where it names one.

    Raises
    ------
    InputError
        If the world file or a movement profile cannot be read or breaks a rule of its format; it names every problem.
    """
    if str(path) != STANDARD_INPUT and Path(path).is_dir():
        from reach.world.level_folder import load_folder

        return load_folder(Path(path), usual_movement if movement is None else movement)
    document = read_json(path)
    try:
        validate(document, "world")
    except InputError as error:
        raise InputError(map(_with_place, error.problems)) from None
    folder = Path() if str(path) == STANDARD_INPUT else Path(path).parent
    return _Reading(document, folder, movement, usual_movement).world()


def read_level(path: Path, file: str) -> tuple[Level | None, tuple[Problem, ...]]:
    """Return the level in a file, or all that is wrong with it; it is named as `file` from then on."""
    try:
        return replace(load_level(path), origin=file), ()
    except InputError as error:
        return None, tuple(replace(problem, file=file) for problem in error.problems)


def _with_place(problem: Problem) -> Problem:
    """Tell, of a link that names a level alone where it leads, what it may have been meant to be."""
    level = re.fullmatch(r'"([a-z0-9][a-z0-9_-]{0,63})"', problem.found)
    if level is None or _LEADS_TO.match(problem.place) is None:
        return problem
    return replace(problem, allowed=f"{problem.allowed}{_DID_YOU_MEAN.format(shown(f'{level[1]}/{START}'))}")


def one_line(error: InputError) -> str:
    """Return everything that is wrong, on one line."""
    return str(error).replace("\n", "; ")


@dataclass(frozen=True, eq=False)
class _Entry:
    """What an entry of the list of levels tells; no movement where there is a mistake about it."""

    file: str
    movement: Movement | None
    level: Level | None
    problems: tuple[Problem, ...]
    made_from: tuple[str, ...]


class _Reading:
    """Turns a document that keeps to the schema into a world, and gathers everything that is wrong with it."""

    def __init__(
        self,
        document: Document,
        folder: Path,
        movement: str | Path | None,
        usual_movement: str | Path | None,
    ) -> None:
        self.document = document
        self.data = document.value
        self.folder = folder
        self.given = movement if movement is not None or "movement" in self.data else usual_movement
        self.problems: list[tuple[int, Problem]] = []
        self.movements: dict[str, Movement | None] = {}
        self.levels: dict[str, _Entry] = {}

    def world(self) -> LoadedWorld:
        """Return the world, or raise with every problem in the order of the file."""
        self._read_levels()
        links = tuple(self._links())
        start = self._start()
        must_reach = self._must_reach()
        accept = tuple(self._accept())
        if self.problems:
            raise InputError(problem for _, problem in sorted(self.problems, key=lambda pair: pair[0]))
        levels = tuple(
            WorldLevel(level_id, entry.file, entry.movement, entry.level, entry.problems, entry.made_from)
            for level_id, entry in self.levels.items()
            if entry.movement is not None
        )
        if must_reach is None:
            must_reach = tuple((each.id, goal) for each in levels for goal in _required_goals(each))
        instead_of = self.data.get("movement", "") if self.given is not None else ""
        return LoadedWorld(
            self.data["name"], self.document.origin, levels, links, start, must_reach, accept, instead_of=instead_of
        )

    def _complain(self, path: JsonPath, found: str, allowed: str) -> None:
        self.problems.append((self.document.offset(path), self.document.problem(path, found, allowed)))

    def _read_levels(self) -> None:
        usual = self._usual_movement()
        for index, entry in enumerate(self.data["levels"]):
            own: JsonPath = ("levels", index, "movement")
            movement = self._movement(own, self.folder, entry["movement"]) if "movement" in entry else usual
            if "movement" not in entry and self.given is None and "movement" not in self.data:
                allowed = '"movement": a movement profile, here, for the whole world, or as an option (--movement)'
                self._complain(("levels", index), "no movement", allowed)
            if entry["id"] in self.levels:
                self._complain(("levels", index, "id"), f"the id {shown(entry['id'])} again", "each id once")
                continue
            file = entry["file"]
            made_from = (str(self.folder / file), self._movement_file(entry))
            level, problems = read_level(self.folder / file, file)
            self.levels[entry["id"]] = _Entry(file, movement, level, tuple(map(self._asked_for, problems)), made_from)

    def _asked_for(self, problem: Problem) -> Problem:
        """Name the world file, without its folder, where a file that it names cannot be read."""
        if problem.place:
            return problem
        asking = Path(self.document.origin).name
        return replace(problem, allowed=f"{problem.allowed}, since {asking} names it")

    def _movement_file(self, entry: Mapping[str, str]) -> str:
        """Where the profile of a level is read from; "" where none is named, which is a mistake."""
        if "movement" not in entry and self.given is not None:
            return str(self.given)
        name = entry.get("movement", self.data.get("movement"))
        return "" if name is None else str(self.folder / name)

    def _usual_movement(self) -> Movement | None:
        if self.given is not None:
            return self._movement((), Path(), str(self.given))
        if "movement" in self.data:
            return self._movement(("movement",), self.folder, self.data["movement"])
        return None

    def _movement(self, path: JsonPath, folder: Path, name: str) -> Movement | None:
        """The profile in a file, each read once; None where it has problems, which are told once."""
        file = str(folder / name)
        if file not in self.movements:
            self.movements[file] = None
            try:
                self.movements[file] = replace(load_movement(file), origin=origin_of(name))
            except InputError as error:
                problems = map(self._asked_for, error.problems) if path else error.problems
                self.problems += [(self.document.offset(path), problem) for problem in problems]
        return self.movements[file]

    def _links(self) -> Iterator[Link]:
        taken: dict[Spot, str] = {}
        for index, entry in enumerate(self.data.get("links", ())):
            there = self._link(("links", index), entry, taken)
            if there is not None:
                yield there
            if "back" not in entry:
                continue
            back = self._link(("links", index, "back"), entry["back"], taken)
            if back is not None:
                yield back
            levels = [entry[end].partition("/")[0] for end in ("to", "from")]
            for end, level in zip(("from", "to"), levels, strict=True):
                if entry["back"][end].partition("/")[0] != level and level in self.levels:
                    self._complain(
                        ("links", index, "back", end), shown(entry["back"][end]), f"a place of the level {shown(level)}"
                    )

    def _link(self, path: JsonPath, entry: Mapping[str, str], taken: dict[Spot, str]) -> Link | None:
        source, target = (self._spot((*path, end), entry[end], end == "from") for end in ("from", "to"))
        if source is not None:
            place = self._place(source)
            if place is not None and not place.ends_level:
                found = f"{shown(entry['from'])}, of the kind {place.kind}, which does not end its level"
                self._complain((*path, "from"), found, self._endings(source[0]))
            if source in taken:
                found = f"a second link from {shown(entry['from'])}"
                self._complain((*path, "from"), found, f"one link from it, and it has one to {shown(taken[source])}")
            taken.setdefault(source, entry["to"])
        if target is not None:
            self._can_begin((*path, "to"), entry["to"], target)
        return None if source is None or target is None else Link(source, target)

    def _endings(self, level_id: str) -> str:
        level = self.levels[level_id].level
        ids = [place.id for place in level.places if place.ends_level] if level else []
        if not ids:
            return "a place that ends the level, and this level has none"
        return f"a place that ends the level: {', '.join(ids[:20])}{', ...' if len(ids) > 20 else ''}"

    def _can_begin(self, path: JsonPath, text: str, spot: Spot) -> None:
        place = self._place(spot)
        if place is not None and place.ends_level:
            allowed = "a place at which play goes on: a start, an entrance, or any that does not end its level"
            self._complain(path, f"{shown(text)}, of the kind {place.kind}, which ends its level", allowed)

    def _start(self) -> Spot | None:
        text = self.data["start"]
        spot = self._spot(("start",), text if "/" in text else f"{text}/{START}")
        if spot is not None:
            self._can_begin(("start",), text, spot)
        return spot

    def _must_reach(self) -> tuple[Spot, ...] | None:
        if "must_reach" not in self.data:
            return None
        found: dict[Spot, None] = {}
        for index, text in enumerate(self.data["must_reach"]):
            spot = self._spot(("must_reach", index), text)
            if spot is None:
                continue
            place = self._place(spot)
            if place is not None and place.kind.is_way_in:
                kind = f"{shown(text)}, of the kind {place.kind}"
                self._complain(("must_reach", index), kind, "a goal, exit, checkpoint or pickup")
            if spot in found:
                self._complain(("must_reach", index), f"{shown(text)} again", "each place once")
            found[spot] = None
        return tuple(found)

    def _accept(self) -> Iterator[WorldAccept]:
        if "accept" not in self.data:
            return
        # The rules look at worlds, so they cannot be imported before this module is.
        from reach.rules.registry import all_rules as rules_of_levels
        from reach.world.rules.registry import all_rules as rules_of_worlds

        ids = [rule.id for rule in rules_of_worlds()]
        of_levels = {rule.id for rule in rules_of_levels() if rule.find is not None}
        for index, entry in enumerate(self.data["accept"]):
            rule, text = entry["rule"], entry.get("at", "")
            if rule in of_levels:
                found = f"{shown(rule)}, which is found in a level"
                allowed = f"a rule of a world: {', '.join(ids)}; {rule} is accepted in the level's own file"
                self._complain(("accept", index, "rule"), found, allowed)
            elif rule not in ids:
                allowed = f"one of {', '.join(ids)}{nearest(rule, ids)}"
                self._complain(("accept", index, "rule"), f"the unknown rule {shown(rule)}", allowed)
            level, place = text or None, None
            if "/" in text:
                level, place = self._spot(("accept", index, "at"), text) or (None, None)
            elif text:
                self._spot(("accept", index, "at"), f"{text}/{START}")
            yield WorldAccept(rule, level, place, entry["reason"])

    def _spot(self, path: JsonPath, text: str, ending: bool = False) -> Spot | None:
        """The place that a text names; None, with a complaint, where there is no such level or place.

        With `ending` it is one that ends its level, and those are told.
        """
        level_id, _, place_id = text.partition("/")
        if level_id not in self.levels:
            allowed = f"the id of a level of this file{nearest(level_id, self.levels)}"
            self._complain(path, f"the unknown level {shown(level_id)}", allowed)
            return None
        level = self.levels[level_id].level
        if level is None:
            return level_id, place_id
        try:
            return level_id, level.place(place_id).id
        except InputError:
            ids = [place.id for place in level.places if place.ends_level or not ending]
            if ending:
                self._complain(
                    path, f"the unknown place {shown(text)}", f"{self._endings(level_id)}{nearest(place_id, ids)}"
                )
                return None
            some = f": {', '.join(ids)}" if len(ids) <= 20 else ""
            allowed = f"the id of a place of the level {shown(level_id)}{nearest(place_id, ids) or some}"
            self._complain(path, f"the unknown place {shown(text)}", allowed)
            return None

    def _place(self, spot: Spot) -> Place | None:
        level = self.levels[spot[0]].level
        return None if level is None else level.place(spot[1])


def _required_goals(level: WorldLevel) -> list[str]:
    places = level.level.places if level.level is not None else ()
    return [place.id for place in places if place.kind is PlaceKind.GOAL and place.required]
