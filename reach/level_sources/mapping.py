"""What the characters, cells or colours of another form of level stand for.

A mapping file (`reach-mapping/1`) is described key by key in `schemas/mapping.schema.json`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from reach.files import read_json
from reach.json_text import Document, shown
from reach.level import Entry
from reach.schema import validate

KEYS_SHOWN = 20


@dataclass(frozen=True)
class Grid:
    """A map as a level file has it: `rows` of characters, and the `symbols` that the file has to tell."""

    rows: list[str]
    symbols: dict[str, Any]


@dataclass(frozen=True, eq=False)
class TileMapping:
    """A mapping file's content; empty where none was given. `document` is for naming places in it."""

    name: str | None = None
    tile_px: int | None = None
    tiles: dict[str, Entry] = field(default_factory=dict)
    document: Document | None = None

    def allowed(self, what: str) -> str:
        """Return in words which `what` ("colour", ...) the mapping knows."""
        if self.document is None:
            return f"a {what} that a mapping file tells (none was given)"
        keys = " ".join(shown(key) for key in list(self.tiles)[:KEYS_SHOWN])
        more = " ..." if len(self.tiles) > KEYS_SHOWN else ""
        return f"a {what} told in {self.document.origin}: {keys}{more}"


def load_mapping(path: str | Path) -> TileMapping:
    """Return the mapping in a JSON file.

    Raises
    ------
    InputError
        If the file cannot be read or breaks a rule of the format; it names every problem.
    """
    document = read_json(path)
    validate(document, "mapping")
    data = document.value
    tiles = {key: {"material": entry} if isinstance(entry, str) else entry for key, entry in data["tiles"].items()}
    return TileMapping(data.get("name"), data.get("tile_px"), tiles, document)
