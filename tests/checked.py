"""Whole checks of small maps, each made once: with them every rule is shown on a map and on its near twin."""

from __future__ import annotations

from functools import cache

from reach.checker import check
from reach.level import level_from_dict
from reach.movement import movement_from_dict
from reach.options import CheckOptions

MOVEMENT = {
    "format": "reach-movement/1",
    "name": "tests",
    "units": "per_second",
    "tick_rate_hz": 60,
    "body": {"width_px": 12, "height_px": 20},
    "ground": {
        "walk": {"acceleration": 500, "top_speed": 90},
        "coast_deceleration": 500,
        "reverse_deceleration": 900,
    },
    "jump": {"bands": [{"height_px": 40, "ticks_to_apex": 20, "gravity": 1000}]},
    "fall": {"terminal_speed": 300},
    "air": {"acceleration": 400, "reverse_deceleration": 600, "top_speed": 90},
}
"""A jump of 40 px (two and a half tiles) that carries about 65 px across level ground."""


def movement():
    return movement_from_dict(MOVEMENT)


def level(rows, **values):
    return level_from_dict({"format": "reach-level/1", "name": "map", "tile_px": 16, "rows": list(rows)} | values)


@cache
def _checked(rows, values, options):
    return check(level(rows, **dict(values)), movement(), options)


def checked(rows, options=CheckOptions(), **values):  # noqa: B008
    """The report on a map of strings; `values` are further keys of a level file."""
    return _checked(tuple(rows), _Frozen(values), options)


class _Frozen(dict):
    """Keys of a level file as a cache's key."""

    def __hash__(self):
        return hash(repr(sorted(self.items())))


def found(report, rule):
    """The findings of one rule."""
    return [each for each in report.findings if each.rule == rule]


def tile(character, rows):
    """Where a character is drawn, as (column, row)."""
    return next((line.index(character), row) for row, line in enumerate(rows) if character in line)
