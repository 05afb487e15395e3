"""A level written as `reach-level/1`, always the same way: a row, symbol, place or accepted finding a line."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np

from reach.files import write_text
from reach.kernels.params import EMPTY, SPRING
from reach.level import FORMAT, KIND_SYMBOLS, Level, Place, PlaceKind
from reach.level_sources.alphabet import Alphabet
from reach.materials import MATERIALS


def level_to_dict(level: Level) -> dict[str, Any]:
    """Return a level with the keys of a level file; reading it back gives a level of the same sha256.

    Places that need no more than their symbol to say are drawn, the rest listed. Launches that are not whole numbers
    are Decimals.
    """
    alphabet = Alphabet()
    table = np.array([ord(each.symbols[0]) if each.symbols else 0 for each in MATERIALS], "<u4")
    codes = table[level.material]
    launches = {}
    for value in sorted(set(level.launch_px_per_s.values())):
        number = int(value) if value == value.to_integral_value() else value
        entry = {"material": MATERIALS[SPRING].name, "launch_px_per_s": number}
        launches[value] = ord(alphabet.draw(entry, "*"))
    for (column, row), value in level.launch_px_per_s.items():
        codes[row, column] = launches[value]
    drawn = _drawn(level)
    drawn_ids = {place.id for place in drawn}
    for place in drawn:
        codes[place.row, place.column] = ord(_SYMBOLS[place.kind])
    data: dict[str, Any] = {
        "format": FORMAT,
        "name": level.name,
        "tile_px": level.tile_px,
        "rows": [row.tobytes().decode("utf-32-le") for row in codes],
    }
    listed = [_entry(place) for place in level.places if place.id not in drawn_ids]
    accept = [
        {"rule": each.rule} | ({} if each.at is None else {"at": list(each.at)}) | {"reason": each.reason}
        for each in level.accept
    ]
    optional = {"symbols": alphabet.symbols, "places": listed, "accept": accept}
    data.update((key, value) for key, value in optional.items() if value)
    return data


def level_to_text(level: Level) -> str:
    """Return the text of a level file."""
    parts = [f"  {_compact(key)}: {_laid_out(value)}" for key, value in level_to_dict(level).items()]
    return "{\n" + ",\n".join(parts) + "\n}\n"


def save_level(level: Level, path: str | Path) -> None:
    """Write a level file, whole or not at all.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    write_text(path, level_to_text(level))


_SYMBOLS = {kind: symbol for symbol, kind in KIND_SYMBOLS.items()}


def _drawn(level: Level) -> list[Place]:
    """The places that a symbol says all about: alone on an empty tile, usual for the kind, with the id it would get."""
    crowd = Counter((place.column, place.row) for place in level.places)
    numbers = dict.fromkeys(PlaceKind, 1)
    drawn = []
    for place in level.places:
        usual = Place(
            id=f"{place.kind}-{numbers[place.kind]}",
            kind=place.kind,
            column=place.column,
            row=place.row,
            required=place.kind is PlaceKind.GOAL,
            must_be=None,
            ends_level=place.kind.may_end_level,
        )
        alone = crowd[place.column, place.row] == 1 and level.material[place.row, place.column] == EMPTY
        if place.kind in _SYMBOLS and place == usual and alone:
            numbers[place.kind] += 1
            drawn.append(place)
    return drawn


def _entry(place: Place) -> dict[str, Any]:
    """A place as the list has it: everything said that its kind allows to say."""
    entry: dict[str, Any] = {"id": place.id, "kind": place.kind.value, "at": [place.column, place.row]}
    if not place.kind.is_way_in:
        entry["required"] = place.required
    if place.must_be is not None:
        entry["must_be"] = place.must_be
    if place.kind.may_end_level:
        entry["ends_level"] = place.ends_level
    return entry


def _laid_out(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{\n" + ",\n".join(f"    {_compact(key)}: {_compact(part)}" for key, part in value.items()) + "\n  }"
    if isinstance(value, list):
        return "[\n" + ",\n".join(f"    {_compact(part)}" for part in value) + "\n  ]"
    return _compact(value)


def _compact(value: Any) -> str:
    """A value on one line, Decimals with all their digits (which the standard library's writer has no way to keep)."""
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_compact(key)}: {_compact(part)}" for key, part in value.items()) + "}"
    return json.dumps(value, ensure_ascii=False)
