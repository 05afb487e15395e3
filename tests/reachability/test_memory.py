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


def beside(level: dict[str, Any], other: dict[str, Any]) -> dict[str, Any]:
    """The level, and to its right the tiles of another, of which nothing can be known before."""
    rows, others = ([*one["rows"]] for one in (level, other))
    height = max(len(rows), len(others))
    rows = ["." * len(rows[0])] * (height - len(rows)) + rows
    others = ["." * len(others[0])] * (height - len(others)) + others
    moved = height - len(level["rows"])
    places = [place | {"at": [place["at"][0], place["at"][1] + moved]} for place in level["places"]]
    tiles = str.maketrans("@!", "..")
    joined = [one + "." * 6 + two.translate(tiles) for one, two in zip(rows, others, strict=True)]
    return level | {"rows": joined, "places": places}


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


def compare_edits(seed: int, count: int) -> tuple[int, int, int]:
    """Check a level as it is edited with one memory and without; how many misses, searches and windows were known?

    Every third edit is taken back; now and then the movement or the options are others for once.
    """
    dice = Dice(seed)
    level, movement = generate(seed)
    level = beside(level, generate(seed + 1)[0])
    memory, misses, scripts, windows = Memory(), 0, 0, 0
    for number in range(count):
        new = edited(level, dice) if number else level
        played = faster(movement) if number % 4 == 3 else movement
        options = CheckOptions(window_threshold_ms=90.0 if number % 5 == 4 else 60.0)
        with_memory = said(new, played, options, memory)
        assert with_memory == said(new, played, options), (seed, number)
        misses += memory.misses.taken
        scripts, windows = scripts + memory.scripts.taken, windows + memory.windows.taken
        if number % 3:
            level = new
    return misses, scripts, windows


def test_reports_are_the_same_with_a_memory_and_without():
    misses, scripts, windows = zip(*(compare_edits(seed, 7) for seed in (7, 10, 11, 12)), strict=True)
    assert sum(misses) > 5
    assert sum(scripts) > 5
    assert sum(windows) > 5


@pytest.mark.long
def test_reports_are_the_same_over_hundreds_of_edits():
    misses, scripts, windows = zip(*(compare_edits(seed, 12) for seed in range(100, 130)), strict=True)
    assert sum(misses) > 60
    assert sum(scripts) > 60
    assert sum(windows) > 200


def test_what_was_taken_back_is_known_again():
    level, movement = generate(7)
    memory = Memory()
    other = level | {"rows": ["#" * len(level["rows"][0]), *level["rows"][1:]]}
    assert other != level
    taken = []
    for one in (level, other, level):
        said(one, movement, CheckOptions(), memory)
        taken.append((memory.scripts.taken, memory.windows.taken))
    assert taken[0] == (0, 0)
    assert min(taken[2]) > 0
