"""A replay as a table: one row a tick, as CSV or as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reach.simulator import Replay, Row

COLUMNS = ("tick", "x_spx", "y_spx", "vx_spx", "vy_spx", "grounded", "lost", "places")
"""Row 0 is the start state, row t the state after tick t; positions and speeds in subpixels, 65536 to a pixel."""


def to_csv(replay: Replay) -> str:
    """Return a replay as comma-separated values with a header; places touched in one tick have spaces between them."""
    lines = [",".join(COLUMNS)]
    lines += [",".join([*map(str, _numbers(row)), " ".join(row.places)]) for row in replay.rows]
    return "\n".join(lines) + "\n"


def to_json(replay: Replay) -> str:
    """Return a replay as a JSON array with an object a tick, each on its own line; `places` is a list of ids."""
    objects: Iterable[dict[str, object]] = (
        dict(zip(COLUMNS, [*_numbers(row), list(row.places)], strict=True)) for row in replay.rows
    )
    return "[\n" + ",\n".join(f"  {json.dumps(each)}" for each in objects) + "\n]\n"


def _numbers(row: Row) -> list[int]:
    return [int(value) for value in row[:-1]]
