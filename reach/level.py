"""A level: tiles, springs and places, as a level file tells them, and what kernels make of it.

A level file (`reach-level/1`) is described key by key in `schemas/level.schema.json`.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from itertools import repeat
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from reach.errors import InputError, Problem
from reach.files import read_json
from reach.json_text import Document, document_of, shown
from reach.kernels.params import Terrain
from reach.materials import BY_NAME, MATERIALS
from reach.movement import MAX_PX_PER_TICK, SPX_PER_PX, Movement, compile_speed
from reach.schema import MOST_PROBLEMS, nearest, validate

FORMAT = "reach-level/1"
MAX_SIDE_TILES = 4096
MAX_TILES = 4_000_000
MAX_PLACES = 10_000
MAX_BODY_TILES = 8
START = "start"
"""Names the start place wherever a place id is asked for, unless a place has this id."""

Entry = Mapping[str, Any]
"""What a symbol stands for: `{"material": ...}` or `{"place": ...}` with its options."""


class PlaceKind(StrEnum):
    """What a place is for."""

    START = "start"
    ENTRANCE = "entrance"
    GOAL = "goal"
    PICKUP = "pickup"
    CHECKPOINT = "checkpoint"
    EXIT = "exit"

    @property
    def is_way_in(self) -> bool:
        """Whether a body can begin there; a way in is never required."""
        return self in (PlaceKind.START, PlaceKind.ENTRANCE)

    @property
    def may_end_level(self) -> bool:
        """Whether touching it ends the level unless the file says otherwise."""
        return self in (PlaceKind.GOAL, PlaceKind.EXIT)


KIND_SYMBOLS = {"@": PlaceKind.START, "!": PlaceKind.GOAL, "+": PlaceKind.PICKUP}
"""The characters that draw a place in every map."""

KNOWN_SYMBOLS: Mapping[str, Entry] = MappingProxyType(
    {symbol: {"material": material.name} for material in MATERIALS for symbol in material.symbols}
    | {symbol: {"place": kind.value} for symbol, kind in KIND_SYMBOLS.items()}
)
"""What every map may draw without naming its symbols."""


@dataclass(frozen=True)
class Place:
    """A tile that matters. `must_be` is "reachable", "unreachable" or None; `ends_level`: touching it is final."""

    id: str
    kind: PlaceKind
    column: int
    row: int
    required: bool
    must_be: str | None
    ends_level: bool


@dataclass(frozen=True)
class Accept:
    """A finding that is known and meant: every one of the rule, or the one at a tile (column, row)."""

    rule: str
    at: tuple[int, int] | None
    reason: str


@dataclass(frozen=True, eq=False)
class Level:
    """One level. `material` is uint8 [rows, columns], read-only, with the codes of `reach.kernels.params`.

    `launch_px_per_s` maps the (column, row) of every spring to its launch speed. `places` are sorted by row, column and
    id. `sha256` tells the content, not its layout in the file. `origin` is the file as it was named.
    """

    name: str
    tile_px: int
    material: np.ndarray
    launch_px_per_s: Mapping[tuple[int, int], Decimal]
    places: tuple[Place, ...]
    accept: tuple[Accept, ...]
    sha256: str
    origin: str

    @property
    def columns(self) -> int:
        """Width of the map in tiles."""
        return int(self.material.shape[1])

    @property
    def rows(self) -> int:
        """Height of the map in tiles."""
        return int(self.material.shape[0])

    @property
    def start(self) -> Place:
        """The place at which a player begins."""
        return next(place for place in self.places if place.kind is PlaceKind.START)

    def place(self, place_id: str) -> Place:
        """Return the place of this id; "start" also names the start place, unless a place has that id.

        Raises
        ------
        InputError
            If the level has no such place.
        """
        for place in self.places:
            if place.id == place_id:
                return place
        if place_id == START:
            return self.start
        ids = [place.id for place in self.places]
        allowed = f"the id of a place of the level {shown(self.name)}{nearest(place_id, ids)}"
        raise InputError([Problem(self.origin, "$.places", shown(place_id), allowed)])


def load_level(path: str | Path) -> Level:
    """Return the level in a JSON file; `-` reads standard input.

    Raises
    ------
    InputError
        If the file cannot be read or breaks a rule of the format; it names every problem.
    """
    return _level(read_json(path))


def level_from_dict(data: Any, origin: str = "<level>") -> Level:
    """Return the level that plain Python values tell, with the keys of a level file.

    Raises
    ------
    InputError
        If they break a rule of the format; it names every problem.
    """
    return _level(document_of(data, origin))


def ending_at(level: Level, place_id: str) -> Level:
    """Return the level in which touching a place is final: what is reached in it is reached without that place.

    Raises
    ------
    InputError
        If the level has no such place.
    """
    found = level.place(place_id)
    places = tuple(replace(place, ends_level=place.ends_level or place == found) for place in level.places)
    changed = replace(level, places=places)
    return replace(changed, sha256=_sha256(changed))


def compile_terrain(level: Level, movement: Movement) -> Terrain:
    """Return a level as kernels take it, with its springs' launches in subpixels a tick.

    The arrays are copies, writable and C-contiguous, so that a kernel is compiled for one type of array only.

    Raises
    ------
    InputError
        If a spring launches faster than 64 px a tick, or the body is larger than 8 x 8 tiles.
    """
    problems = list(_body_problems(level, movement))
    compiled: dict[Decimal, int] = {}
    launch = np.zeros(level.material.shape, np.int64)
    fastest = MAX_PX_PER_TICK * movement.tick_rate_hz
    for (column, row), px_per_s in level.launch_px_per_s.items():
        if px_per_s not in compiled:
            compiled[px_per_s] = compile_speed(px_per_s, movement.tick_rate_hz)
            if px_per_s > fastest:
                found = f"a launch of {px_per_s} px/s"
                allowed = (
                    f"at most {fastest} px/s, {MAX_PX_PER_TICK} px a tick at {movement.tick_rate_hz} ticks a second"
                )
                problems.append(Problem(level.origin, f"the spring at column {column}, row {row}", found, allowed))
        launch[row, column] = compiled[px_per_s]
    if problems:
        raise InputError(problems)
    return Terrain(
        tile=level.tile_px * SPX_PER_PX,
        material=np.array(level.material, np.uint8, order="C"),
        launch=launch,
        place_column=np.array([place.column for place in level.places], np.int64),
        place_row=np.array([place.row for place in level.places], np.int64),
        place_ends=np.array([place.ends_level for place in level.places], np.int64),
    )


def _body_problems(level: Level, movement: Movement) -> Iterator[Problem]:
    most_px = MAX_BODY_TILES * level.tile_px
    for key, size in (("width_px", movement.motion.body_w), ("height_px", movement.motion.body_h)):
        if size > most_px * SPX_PER_PX:
            found = f"{movement.declared['body'][key]}"
            allowed = f"at most {most_px}: {MAX_BODY_TILES} tiles of {level.tile_px} px in {level.origin}"
            yield Problem(movement.origin, f"$.body.{key}", found, allowed)


def _level(document: Document) -> Level:
    """The level a document tells, or every problem it has."""
    validate(document, "level")
    data = document.value
    codes = _code_points(document)
    entries = dict(KNOWN_SYMBOLS)
    for symbol, entry in data.get("symbols", {}).items():
        entries[symbol] = {"material": entry} if isinstance(entry, str) else entry
    material = _materials(document, codes, entries)
    places = list(_drawn_places(document, codes, entries))
    places += _listed_places(document, material, {place.id for place in places})
    starts = [place for place in places if place.kind is PlaceKind.START]
    if len(starts) != 1:
        found = "no start" if not starts else f"{len(starts)} starts: " + ", ".join(_at(place) for place in starts[:5])
        allowed = 'exactly one, drawn as "@" or listed with the kind "start"'
        raise InputError([document.problem((), found, allowed)])
    launches: dict[tuple[int, int], Decimal] = {}
    for symbol, entry in entries.items():
        if "launch_px_per_s" in entry:
            rows, columns = np.nonzero(codes == ord(symbol))
            tiles = zip(columns.tolist(), rows.tolist(), strict=True)
            launches.update(zip(tiles, repeat(Decimal(entry["launch_px_per_s"]))))
    level = Level(
        name=data["name"],
        tile_px=data["tile_px"],
        material=material,
        launch_px_per_s=MappingProxyType(launches),
        places=tuple(sorted(places, key=lambda place: (place.row, place.column, place.id))),
        accept=_accepts(document, material.shape),
        sha256="",
        origin=document.origin,
    )
    return replace(level, sha256=_sha256(level))


def _code_points(document: Document) -> np.ndarray:
    """The characters of the map, uint32 [rows, columns]; refused where rows differ in length or there are too many."""
    rows = document.value["rows"]
    lengths = [len(row) for row in rows]
    columns = Counter(lengths).most_common(1)[0][0]
    ragged = [index for index, length in enumerate(lengths) if length != columns]
    if ragged:
        allowed = f"{columns} characters, as in row {lengths.index(columns)}"
        raise InputError(
            document.problem(("rows", index), f"row {index} with {len(rows[index])} characters", allowed)
            for index in ragged
        )
    if len(rows) * columns > MAX_TILES:
        found = f"{columns} x {len(rows)} = {len(rows) * columns} tiles"
        raise InputError([document.problem(("rows",), found, f"at most {MAX_TILES} tiles")])
    return np.frombuffer("".join(rows).encode("utf-32-le"), np.uint32).reshape(len(rows), columns)


def _materials(document: Document, codes: np.ndarray, entries: Mapping[str, Entry]) -> np.ndarray:
    """The material of every tile, uint8 [rows, columns], read-only."""
    unknown = len(MATERIALS)
    table = np.full(int(codes.max()) + 1, unknown, np.uint8)
    for symbol, entry in entries.items():
        if ord(symbol) < table.size:
            table[ord(symbol)] = BY_NAME[entry.get("material", "empty")].code
    material = table[codes]
    if (material == unknown).any():
        rows, columns = np.nonzero(material == unknown)
        strange = codes[rows, columns]
        _, firsts, counts = np.unique(strange, return_index=True, return_counts=True)
        problems = []
        for first, count in sorted(zip(firsts.tolist(), counts.tolist(), strict=True))[:MOST_PROBLEMS]:
            row, column = int(rows[first]), int(columns[first])
            often = "" if count == 1 else f", the first of {count}"
            found = f"the unknown symbol {shown(chr(strange[first]))} at column {column}, row {row}{often}"
            known = " ".join(shown(symbol) for symbol in list(entries)[:30])
            problems.append(document.problem(("rows", row), found, f"one of {known}, or a symbol told in $.symbols"))
        raise InputError(problems)
    material.flags.writeable = False
    return material


def _drawn_places(document: Document, codes: np.ndarray, entries: Mapping[str, Entry]) -> Iterator[Place]:
    """The places drawn on the map, with the ids they get: kind-N, N from 1 for each kind in reading order."""
    columns = codes.shape[1]
    drawn = [
        (int(index), entry)
        for symbol, entry in entries.items()
        if "place" in entry
        for index in np.flatnonzero(codes == ord(symbol))
    ]
    if len(drawn) > MAX_PLACES:
        raise InputError([document.problem(("rows",), f"{len(drawn)} places", f"at most {MAX_PLACES}")])
    numbers = dict.fromkeys(PlaceKind, 0)
    for index, entry in sorted(drawn, key=lambda pair: pair[0]):
        kind = PlaceKind(entry["place"])
        numbers[kind] += 1
        yield _place(f"{kind}-{numbers[kind]}", kind, index % columns, index // columns, entry)


def _listed_places(document: Document, material: np.ndarray, taken: set[str]) -> list[Place]:
    """The places of the file's list; refused where one is off the map, in a wall, or has an id that is taken."""
    rows, columns = material.shape
    problems = []
    places = []
    for index, entry in enumerate(document.value.get("places", ())):
        column, row = entry["at"]
        if entry["id"] in taken:
            found = f"the id {shown(entry['id'])} again"
            allowed = "each id once; a place drawn on the map has the id KIND-N"
            problems.append(document.problem(("places", index, "id"), found, allowed))
        taken.add(entry["id"])
        if column >= columns or row >= rows:
            allowed = f"a tile of the map: [0, 0] to [{columns - 1}, {rows - 1}]"
            problems.append(document.problem(("places", index, "at"), f"[{column}, {row}]", allowed))
        elif not MATERIALS[material[row, column]].holds_places:
            allowed = "a tile that is " + " or ".join(each.name for each in MATERIALS if each.holds_places)
            found = f"[{column}, {row}], which is {MATERIALS[material[row, column]].name}"
            problems.append(document.problem(("places", index, "at"), found, allowed))
        places.append(_place(entry["id"], PlaceKind(entry["kind"]), column, row, entry))
    if problems:
        raise InputError(problems)
    return places


def _place(place_id: str, kind: PlaceKind, column: int, row: int, entry: Entry) -> Place:
    """A place with what its kind says where its entry is silent. What must not be reached is not required either."""
    must_be = entry.get("must_be")
    needed = kind not in (PlaceKind.PICKUP, PlaceKind.START, PlaceKind.ENTRANCE) and must_be != "unreachable"
    return Place(
        id=place_id,
        kind=kind,
        column=column,
        row=row,
        required=entry.get("required", needed),
        must_be=must_be,
        ends_level=entry.get("ends_level", kind.may_end_level),
    )


def _accepts(document: Document, shape: tuple[int, ...]) -> tuple[Accept, ...]:
    """The entries of the file's list; refused where one names a tile off the map."""
    rows, columns = shape
    problems = []
    entries = []
    for index, entry in enumerate(document.value.get("accept", ())):
        at = tuple(entry["at"]) if "at" in entry else None
        if at is not None and (at[0] >= columns or at[1] >= rows):
            allowed = f"a tile of the map: [0, 0] to [{columns - 1}, {rows - 1}]"
            problems.append(document.problem(("accept", index, "at"), f"[{at[0]}, {at[1]}]", allowed))
        entries.append(Accept(entry["rule"], at, entry["reason"]))
    if problems:
        raise InputError(problems)
    return tuple(entries)


def _at(place: Place) -> str:
    return f"[{place.column}, {place.row}]"


def _sha256(level: Level) -> str:
    """The hash of what a level says, however its file is laid out and whatever characters draw it."""
    values = sorted(set(level.launch_px_per_s.values()))
    springs = np.zeros(level.material.shape, "<u4")
    if values:
        numbers = {value: number for number, value in enumerate(values, 1)}
        columns, rows = np.array(list(level.launch_px_per_s)).T
        springs[rows, columns] = [numbers[value] for value in level.launch_px_per_s.values()]
    content = {
        "format": FORMAT,
        "name": level.name,
        "tile_px": level.tile_px,
        "size": [level.columns, level.rows],
        "launches": [_plain(value) for value in values],
        "places": [[p.id, p.kind, p.column, p.row, p.required, p.must_be, p.ends_level] for p in level.places],
        "accept": [[a.rule, a.at, a.reason] for a in level.accept],
    }
    digest = hashlib.sha256(json.dumps(content, sort_keys=True, ensure_ascii=True).encode())
    digest.update(level.material.tobytes())
    digest.update(springs.tobytes())
    return digest.hexdigest()


def _plain(value: Decimal) -> str:
    """A number written one way only: 480 for 480.0 and 4.8e2."""
    return format(value.normalize(), "f")
