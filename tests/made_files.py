"""Plain data of a good level, movement and script, for tests that break one thing in it."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from reach.errors import InputError


def level_data(**changes: Any) -> dict[str, Any]:
    """A small harbour: two rows of air over ground. A change of None removes the key."""
    data = {"format": "reach-level/1", "name": "Quay", "tile_px": 16, "rows": ["....", ".@.!", "##.#"]}
    return {key: value for key, value in (data | changes).items() if value is not None}


def movement_data(**changes: Any) -> dict[str, Any]:
    """A profile that uses every key. A change names its place by the keys to it, with two underscores between."""
    data: dict[str, Any] = {
        "format": "reach-movement/1",
        "name": "lamplighter",
        "units": "per_second",
        "tick_rate_hz": 60,
        "body": {"width_px": 12, "height_px": 22},
        "ground": {
            "walk": {"acceleration": 160, "top_speed": 80},
            "run": {"acceleration": 230, "top_speed": 142, "memory_ticks": 7},
            "coast_deceleration": 160,
            "reverse_deceleration": 420,
        },
        "jump": {
            "bands": [
                {"from_takeoff_speed": 0, "launch_speed": 252, "gravity_held": 500, "gravity": 1300},
                {"from_takeoff_speed": 120, "height_px": 74, "ticks_to_apex": 33, "gravity": 1480},
            ],
            "on_release": {"cut_speed": 90},
            "launch_tick_gravity": False,
        },
        "fall": {"terminal_speed": 290},
        "air": {
            "acceleration": [{"from_speed": 0, "value": 150}, {"from_speed": 80, "value": 210}],
            "reverse_deceleration": [
                {"from_speed": 0, "from_takeoff_speed": 0, "value": 190},
                {"from_speed": 80, "from_takeoff_speed": 120, "value": 280},
            ],
            "top_speed": [{"from_takeoff_speed": 0, "value": 80}, {"from_takeoff_speed": 90, "value": 142}],
            "drag": 3,
        },
        "help": {"coyote_ticks": 5, "buffer_ticks": 4, "drop_through": True},
    }
    data = copy.deepcopy(data)
    for path, value in changes.items():
        put(data, path.split("__"), value)
    return data


def script_data(**changes: Any) -> dict[str, Any]:
    """A short script. A change of None removes the key."""
    steps = [{"ticks": 12, "buttons": ["right", "run"]}, {"ticks": 9, "buttons": ["right", "run", "jump"]}]
    data = {"format": "reach-script/1", "level": "Quay", "movement": "lamplighter", "from": "start", "steps": steps}
    return {key: value for key, value in (data | changes).items() if value is not None}


def put(data: Any, path: list[str], value: Any) -> None:
    """Set one value deep in plain data; None removes it. A whole number in the path is an index."""
    for step in path[:-1]:
        data = data[int(step) if step.isdigit() else step]
    last: Any = int(path[-1]) if path[-1].isdigit() else path[-1]
    if value is None:
        del data[last]
    else:
        data[last] = value


def refused(call: Any, *arguments: Any, **options: Any) -> list[tuple[str, str, str]]:
    """The (place, found, allowed) of every problem for which a call refuses its arguments."""
    with pytest.raises(InputError) as caught:
        call(*arguments, **options)
    assert caught.value.problems
    for problem in caught.value.problems:
        assert problem.file, problem
        assert problem.found, problem
        assert problem.allowed, problem
        assert "\n" not in str(problem)
    return [(problem.place, problem.found, problem.allowed) for problem in caught.value.problems]
