"""The levels and movements that are measured, by name."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from reach.errors import InputError
from reach.level import Level, compile_terrain, level_from_dict
from reach.movement import Movement, load_movement
from reach.reachability.footholds import find_footholds
from reach.reachability.result import Foothold
from reach.simulator import start_state
from tests.bench.generated_levels import SHAPES, Json, generate
from tests.checkout import ROOT

HERE = Path(__file__).parent
DENSE = ("dense-200x15", "dense-2000x15")
SAMPLE_MOVEMENTS = ("lamplighter", "courier")
COLUMN = 40
"""Where the body rests instead, in the dense maps: their own start is walled in."""


@dataclass(frozen=True)
class Case:
    """What is measured; `moved` is whether the body begins at rest by column 40 instead of where the level says."""

    level: str
    movement: str
    moved: bool = False

    def __str__(self) -> str:
        """The name in the tables."""
        return f"{self.level} {self.movement}" + (f", from column {COLUMN}" if self.moved else "")


CASES = (
    *(Case(name, "heavy", moved) for name in DENSE for moved in (False, True)),
    *(Case(shape, movement) for shape in SHAPES for movement in SAMPLE_MOVEMENTS),
)


def read_movement(name: str) -> Movement:
    """The movement of a case."""
    folder = HERE if name == "heavy" else ROOT / "sample_levels" / "movement"
    return load_movement(folder / f"{name}.json")


def read_level(name: str) -> Json:
    """The JSON object of a case's level."""
    if name in SHAPES:
        return generate(name)
    found: Json = json.loads((HERE / f"{name}.json").read_text(encoding="utf-8"))
    return found


def read_case(case: Case) -> tuple[Level, Movement]:
    """The level, with its start moved where the case says so, and the movement."""
    movement = read_movement(case.movement)
    data = read_level(case.level)
    return (move_start(data, movement) if case.moved else level_from_dict(data)), movement


def foothold_by_column(movement: Movement, level: Level) -> Foothold:
    """The foothold whose middle is nearest to column 40, the uppermost of several."""
    footholds = find_footholds(movement.motion, compile_terrain(level, movement))
    return min(footholds, key=lambda each: (abs(sum(each.columns) / 2 - COLUMN), each.row, each.index))


def move_start(data: Json, movement: Movement) -> Level:
    """The level with its start on the foothold by column 40."""
    foothold = foothold_by_column(movement, level_from_dict(data))
    rows = [line.replace("@", ".") for line in data["rows"]]
    above = foothold.row - 1
    first, last = foothold.columns
    for column in sorted(range(first, last + 1), key=lambda each: (abs(each - COLUMN), each)):
        line = rows[above]
        moved = [*rows[:above], f"{line[:column]}@{line[column + 1 :]}", *rows[above + 1 :]]
        level = level_from_dict(data | {"rows": moved})
        try:
            start = start_state(level, movement, level.start.id)
        except InputError:
            continue
        if line[column] == "." and start.grounded and foothold.left_spx <= start.x <= foothold.right_spx:
            return level
    raise AssertionError(f"no tile to begin at on the foothold by column {COLUMN}")
