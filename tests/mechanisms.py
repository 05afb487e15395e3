"""What each mechanism of the motion model is worth in a level: the verdicts with it and with it taken away.

`SWITCHES` takes one mechanism away from a level; `decisive` tells whether that changes a verdict.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable
from itertools import zip_longest
from typing import Any

from tests.decisive_seeds import DECISIVE
from tests.oracle_files import compile_case, search, standable_tiles
from tests.random_levels import THEME_NAMES, Json, generate, theme_of

QUOTA = 20
"""In so many levels each mechanism shall be decisive."""

FIRST_DRAWN = 100_000
"""Seeds from here on were not looked at when the decisive ones were chosen."""

Switch = Callable[[Json, Json], tuple[Json, Json] | None]
"""(level, movement) without a mechanism; None where they have nothing of it."""


def band_list(value: Any) -> list[Json]:
    """An air list of bands, also where a plain number stands for it."""
    return value if isinstance(value, list) else [{"value": value}]


def _symbols_replaced(level: Json, old: str, new: str) -> Json | None:
    if not any(old in line for line in level["rows"]):
        return None
    return {**level, "rows": [line.replace(old, new) for line in level["rows"]]}


def _without_movement(section: str, *keys: str) -> Switch:
    def switch(level: Json, movement: Json) -> tuple[Json, Json] | None:
        if not any(movement.get(section, {}).get(key) for key in keys):
            return None
        changed = copy.deepcopy(movement)
        for key in keys:
            changed[section].pop(key, None)
        return level, changed

    return switch


def _with_level(old: str, new: str) -> Switch:
    def switch(level: Json, movement: Json) -> tuple[Json, Json] | None:
        changed = _symbols_replaced(level, old, new)
        return None if changed is None else (changed, movement)

    return switch


def _bands_kept(name: str, keep: Callable[[Json], bool]) -> Switch:
    def switch(level: Json, movement: Json) -> tuple[Json, Json] | None:
        changed = copy.deepcopy(movement)
        if name == "jump":
            before, changed["jump"]["bands"] = changed["jump"]["bands"], list(filter(keep, changed["jump"]["bands"]))
            return None if len(before) == len(changed["jump"]["bands"]) else (level, changed)
        before = band_list(movement["air"][name])
        changed["air"][name] = list(filter(keep, before))
        return None if len(before) == len(changed["air"][name]) else (level, changed)

    return switch


def _no_floorless_bottom(level: Json, movement: Json) -> tuple[Json, Json] | None:
    if set(level["rows"][-1]) == {"#"}:
        return None
    return {**level, "rows": [*level["rows"], "#" * len(level["rows"][0])]}, movement


def _no_endings(level: Json, movement: Json) -> tuple[Json, Json] | None:
    changed = copy.deepcopy(level)
    endings = [changed["symbols"]["!"], *(p for p in changed["places"] if p["kind"] in ("goal", "exit"))]
    if not any(place.get("ends_level", True) for place in endings):
        return None
    for place in endings:
        place["ends_level"] = False
    return changed, movement


def _narrow_body(level: Json, movement: Json) -> tuple[Json, Json] | None:
    if movement["body"]["width_px"] <= level["tile_px"]:
        return None
    changed = copy.deepcopy(movement)
    changed["body"]["width_px"] = level["tile_px"] - 1
    return level, changed


def _slow_body(level: Json, movement: Json) -> tuple[Json, Json] | None:
    tile = level["tile_px"]
    walk = movement["ground"]["walk"]
    if walk["top_speed"] <= tile:
        return None
    changed = copy.deepcopy(movement)
    changed["ground"]["walk"]["top_speed"] = tile
    return level, changed


def _release_does_nothing(level: Json, movement: Json) -> tuple[Json, Json] | None:
    changed = copy.deepcopy(movement)
    for entry in changed["jump"]["bands"]:
        if "height_px" in entry:
            ticks = entry["ticks_to_apex"]
            entry["gravity"] = 2 * entry["height_px"] / (ticks * (ticks + 1))
        else:
            entry["gravity"] = entry["gravity_held"]
    changed["jump"]["on_release"] = "gravity"
    return None if changed == movement else (level, changed)


def _coyote_of_one(level: Json, movement: Json) -> tuple[Json, Json] | None:
    if movement.get("help", {}).get("coyote_ticks", 0) < 2:
        return None
    changed = copy.deepcopy(movement)
    changed["help"]["coyote_ticks"] = 1
    return level, changed


def _no_run(level: Json, movement: Json) -> tuple[Json, Json] | None:
    if "run" not in movement["ground"]:
        return None
    changed = copy.deepcopy(movement)
    del changed["ground"]["run"]
    return level, changed


def _no_memory(level: Json, movement: Json) -> tuple[Json, Json] | None:
    if not movement["ground"].get("run", {}).get("memory_ticks"):
        return None
    changed = copy.deepcopy(movement)
    changed["ground"]["run"]["memory_ticks"] = 0
    return level, changed


SWITCHES: dict[str, Switch] = {
    "solid blocks": _with_level("#", "="),
    "one-way lets through": _with_level("=", "#"),
    "one-way carries": _with_level("=", "."),
    "hazard": _with_level("^", "."),
    "spring launches": _with_level("S", "#"),
    "void": _no_floorless_bottom,
    "endings": _no_endings,
    "drop-through": _without_movement("help", "drop_through"),
    "coyote": _without_movement("help", "coyote_ticks"),
    "coyote after its first tick": _coyote_of_one,
    "buffer": _without_movement("help", "buffer_ticks"),
    "run": _no_run,
    "run memory": _no_memory,
    "jump bands": _bands_kept("jump", lambda entry: not entry.get("from_takeoff_speed")),
    "air top speed bands": _bands_kept("top_speed", lambda entry: not entry.get("from_takeoff_speed")),
    "air acceleration bands": _bands_kept("acceleration", lambda entry: not entry.get("from_speed")),
    "air reverse bands by speed": _bands_kept("reverse_deceleration", lambda entry: not entry.get("from_speed")),
    "air reverse bands by takeoff": _bands_kept(
        "reverse_deceleration", lambda entry: not entry.get("from_takeoff_speed")
    ),
    "cut speed": _without_movement("jump", "on_release"),
    "gravity in the launch tick": _without_movement("jump", "launch_tick_gravity"),
    "release": _release_does_nothing,
    "drag": _without_movement("air", "drag"),
    "body wider than a tile": _narrow_body,
    "speed over a tile a tick": _slow_body,
}


def decisive(level: Json, movement: Json, switches: Iterable[str], limit: int = 150_000) -> set[str] | None:
    """Names of the switches that change the verdict on a standable tile or a place; None if the search did not end."""
    case = compile_case(level, movement)
    whole = search(case, limit=limit)
    if not whole.ended:
        return None
    standable = standable_tiles(case)
    found = set()
    for name in switches:
        changed = SWITCHES[name](level, movement)
        if changed is None:
            continue
        other = compile_case(*changed)
        if not other.start_is_clear:
            continue
        without = search(other, limit=limit)
        if without.ended and (without.tiles & standable != whole.tiles or without.places != whole.places):
            found.add(name)
    return found


HOMES: dict[str, tuple[str, ...]] = {
    "solid blocks": ("launch tick", "drop", "noise"),
    "one-way lets through": ("drop", "one-way"),
    "one-way carries": ("one-way",),
    "hazard": ("memory", "cut", "buffer", "hazard"),
    "spring launches": ("spring",),
    "void": ("design figures", "odd width", "hazard", "noise"),
    "endings": ("air top speed", "launch tick", "design figures", "noise"),
    "drop-through": ("drop",),
    "coyote": ("coyote",),
    "coyote after its first tick": ("coyote",),
    "buffer": ("buffer",),
    "run": ("run", "memory"),
    "jump bands": ("jump bands",),
    "air top speed bands": ("air top speed",),
    "air acceleration bands": ("air acceleration",),
    "air reverse bands by speed": ("air reverse",),
    "air reverse bands by takeoff": ("air reverse",),
    "cut speed": ("cut", "buffer"),
    "gravity in the launch tick": ("launch tick",),
    "release": ("cut", "design figures"),
    "drag": ("drag",),
    "body wider than a tile": ("wide body",),
    "speed over a tile a tick": ("fast body",),
}
"""Where to look for levels in which a switch is decisive: the themes drawn around it.

"run memory" has none. It lets a body do nothing that it could not do with the run button down, and a body at rest can
wait with the button down until the memory ends just where it wants to walk: verdicts do not differ. It is compared tick
by tick instead (`test_oracle.py`).
"""


def find_decisive(enough: int, rounds: int, limit: int = 60_000) -> dict[str, list[int]]:
    """For every switch up to `enough` seeds of its home themes for which it is decisive, tried in ascending order."""
    found: dict[str, list[int]] = {name: [] for name in HOMES}
    for seed in range(rounds * len(THEME_NAMES)):
        missing = [name for name, homes in HOMES.items() if theme_of(seed) in homes and len(found[name]) < enough]
        if missing:
            for name in decisive(*generate(seed), missing, limit) or ():
                found[name].append(seed)
    return found


def level_seeds(chosen: int, drawn: int) -> list[int]:
    """Seeds for a set of levels: first as many chosen ones, each switch in turn, then as many that nobody chose."""
    turns = [seed for turn in zip_longest(*DECISIVE.values()) for seed in turn if seed is not None]
    return list(dict.fromkeys(turns))[:chosen] + list(range(FIRST_DRAWN, FIRST_DRAWN + drawn))
