"""A check with a memory of others says to the byte what it says without, whatever was edited in between."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from reach.checker import Memory, check
from reach.errors import InputError
from reach.level import level_from_dict
from reach.movement import movement_from_dict
from reach.options import CheckOptions
from reach.report.json_report import dump
from tests.random_levels import generate
from tests.random_maps import Dice


def edited(level: dict[str, Any], dice: Dice) -> dict[str, Any]:
    """The level with another tile somewhere."""
    level = copy.deepcopy(level)
    row, column = dice.below(len(level["rows"])), dice.below(len(level["rows"][0]))
    text = level["rows"][row]
    if text[column] in ".#=^S":
        level["rows"][row] = text[:column] + dice.pick("..##=^S") + text[column + 1 :]
    return level


def faster(movement: dict[str, Any]) -> dict[str, Any]:
    """Nearly the same movement."""
    movement = copy.deepcopy(movement)
    movement["air"]["acceleration"] = 0.75
    return movement


def said(level: dict[str, Any], movement: dict[str, Any], options: CheckOptions, memory: Memory | None = None) -> str:
    """The report, or the message where there is none."""
    try:
        report = check(level_from_dict(level), movement_from_dict(movement), options, None, memory)
    except InputError as error:
        return str(error)
    return dump(report)


def compare_edits(seed: int, count: int) -> int:
    """Check a level as it is edited with one memory and without; returns how many windows were not measured anew.

    Every third edit is taken back; now and then the movement or the options are others for once.
    """
    dice = Dice(seed)
    level, movement = generate(seed)
    memory, taken = Memory(), 0
    for number in range(count):
        new = edited(level, dice) if number else level
        played = faster(movement) if number % 4 == 3 else movement
        options = CheckOptions(window_threshold_ms=90.0 if number % 5 == 4 else 60.0)
        with_memory = said(new, played, options, memory)
        assert with_memory == said(new, played, options), (seed, number)
        taken += memory.windows.taken
        if number % 3:
            level = new
    return taken


def test_reports_are_the_same_with_a_memory_and_without():
    assert sum(compare_edits(seed, 7) for seed in (7, 10, 11, 12)) > 5


@pytest.mark.long
def test_reports_are_the_same_over_hundreds_of_edits():
    assert sum(compare_edits(seed, 12) for seed in range(100, 160)) > 500


def test_what_two_checks_did_not_use_is_forgotten():
    level, movement = generate(7)
    memory = Memory()
    empty = level | {"rows": ["." * len(row) if "@" not in row else row for row in level["rows"]]}
    taken = []
    for one in (level, level, empty, empty, level):
        said(one, movement, CheckOptions(), memory)
        taken.append(memory.windows.taken)
    assert taken[1] > 0
    assert taken[4] == 0
