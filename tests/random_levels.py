"""Small random levels and profiles that between them use every mechanism of the motion model.

`generate(seed)` gives the two JSON objects of a level and a movement profile. Every seed has a theme: a mechanism that
its map and profile are drawn around, so that the mechanism decides something often enough; others join at random. The
numbers are coarse (multiples of a quarter pixel) and the maps small, so that an exhaustive search of states ends.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from typing import Any

from tests.random_maps import (
    DRAWINGS,
    WHOLE_WIDTH,
    Dice,
    Draw,
    Grid,
    draw_gap,
    draw_growing_steps,
    draw_ledges,
    draw_low_hop,
    draw_noise,
    draw_overhang,
    draw_perch,
    draw_shaft,
    draw_spring,
    draw_steps,
    draw_tunnel,
    draw_widening_gaps,
)

Json = dict[str, Any]


def plain_movement(dice: Dice, tile: int) -> Json:
    """A profile without any optional mechanism."""
    step = dice.pick((1, 1, 1, 0.5))
    top = dice.pick((1, 2, 2, 3))
    held = dice.pick((0.5, 1, 1))
    launch = dice.pick((2.5, 3, 3.5, 4))
    return {
        "format": "reach-movement/1",
        "name": "drawn at random",
        "units": "per_tick",
        "tick_rate_hz": dice.pick((60, 60, 50, 30)),
        "body": {
            "width_px": dice.pick((tile - 1, tile - 1, tile - 2, tile, 2)),
            "height_px": dice.pick((tile - 1, tile, tile + 1, tile + 2)),
        },
        "ground": {
            "walk": {"acceleration": step, "top_speed": top},
            "coast_deceleration": dice.pick((1, 1, 0.5)),
            "reverse_deceleration": dice.pick((1, 2)),
        },
        "jump": {
            "bands": [
                {
                    "from_takeoff_speed": 0,
                    "launch_speed": launch,
                    "gravity_held": held,
                    "gravity": dice.pick((1, 1, 1.5, 2)),
                }
            ]
        },
        "fall": {"terminal_speed": dice.pick((2, 3, 4, 5))},
        "air": {
            "acceleration": dice.pick((1, 1, 0.5)),
            "reverse_deceleration": dice.pick((1, 2, 0.5)),
            "top_speed": dice.pick((top, top, 1, 2)),
        },
    }


def jump_tiles(movement: Json, tile: int) -> tuple[int, int]:
    """About how many whole tiles far and high the last band's held jump goes at the greatest speed."""
    entry = movement["jump"]["bands"][-1]
    if "height_px" in entry:
        ticks, height = entry["ticks_to_apex"], entry["height_px"]
    else:
        ticks = entry["launch_speed"] / entry["gravity_held"]
        height = entry["launch_speed"] * (ticks + 1) / 2
    falling, down = 0.0, 0.0
    while down < height:
        falling += 1
        down += min(falling * entry["gravity"], movement["fall"]["terminal_speed"])
    air = movement["air"]["top_speed"]
    tops = [band["value"] for band in air] if isinstance(air, list) else [air]
    tops += [gait["top_speed"] for gait in (movement["ground"]["walk"], movement["ground"].get("run")) if gait]
    ticks += falling + movement.get("help", {}).get("coyote_ticks", 0)
    return int((ticks * max(tops) + movement["body"]["width_px"]) / tile), int(height / tile)


# Themes. Each changes a plain profile so that its mechanism matters, and names the drawings that bring it out.


def short_jump(movement: Json, dice: Dice) -> None:
    """A jump over three or four tiles: so a map has room for a gap that is too wide."""
    movement["jump"]["bands"][0].update(launch_speed=dice.pick((1.5, 2, 2.5)), gravity_held=1, gravity=1)


def with_run(movement: Json, dice: Dice) -> None:
    walk = movement["ground"]["walk"]
    walk["top_speed"] = dice.pick((1, 1, 2))
    movement["ground"]["run"] = {
        "acceleration": dice.pick((1, 1, 2)),
        "top_speed": walk["top_speed"] + dice.pick((1, 2, 3)),
        "memory_ticks": dice.pick((0, 0, 1, 2)),
    }
    movement["air"]["top_speed"] = dice.pick((1, walk["top_speed"]))
    short_jump(movement, dice)


def with_memory(movement: Json, dice: Dice) -> None:
    with_run(movement, dice)
    movement["ground"]["run"]["memory_ticks"] = dice.pick((1, 2, 3))
    movement["body"]["width_px"] = dice.pick((1, 2, 2, 3))


def with_jump_bands(movement: Json, dice: Dice) -> None:
    first = movement["jump"]["bands"][0]
    first["launch_speed"] = dice.pick((2, 2.5, 3))
    movement["ground"]["walk"]["top_speed"] = dice.pick((2, 3))
    for threshold in dice.pick(((1,), (2,), (1.5,), (1, 2), (2, 3))):
        last = movement["jump"]["bands"][-1]
        movement["jump"]["bands"].append(
            {
                "from_takeoff_speed": threshold,
                "launch_speed": last["launch_speed"] + dice.pick((0.5, 1, 1)),
                "gravity_held": dice.pick((0.5, 1, 1)),
                "gravity": dice.pick((1, 1.5, 2)),
            }
        )


def with_air_top(movement: Json, dice: Dice) -> None:
    movement["ground"]["walk"]["top_speed"] = dice.pick((2, 3))
    low = dice.pick((1, 1, 2))
    movement["air"]["top_speed"] = [
        {"from_takeoff_speed": 0, "value": low},
        {"from_takeoff_speed": dice.pick((1, 1.5, 2)), "value": low + dice.pick((1, 2))},
    ]
    movement["air"]["drag"] = dice.pick((0, 0.5, 1))
    short_jump(movement, dice)


def with_air_push(movement: Json, dice: Dice) -> None:
    movement["air"]["top_speed"] = dice.pick((2, 3))
    movement["air"]["acceleration"] = [
        {"from_speed": 0, "value": dice.pick((0.5, 0.25))},
        {"from_speed": dice.pick((0.5, 1)), "value": dice.pick((1, 2))},
    ]
    movement["ground"]["walk"]["top_speed"] = 1
    short_jump(movement, dice)


def with_air_brake(movement: Json, dice: Dice) -> None:
    first = {"from_speed": 0, "from_takeoff_speed": 0, "value": 0.5}
    takeoff = {"from_speed": 0, "from_takeoff_speed": dice.pick((1, 2, 3)), "value": dice.pick((1, 2, 3))}
    speed = {"from_speed": dice.pick((1, 2)), "from_takeoff_speed": 0, "value": dice.pick((1, 2, 3))}
    both = {**speed, "from_takeoff_speed": dice.pick((1, 2, 3))}
    more = dice.pick(((takeoff,), (takeoff,), (speed,), (takeoff, speed), (takeoff, both), (both,)))
    movement["air"]["reverse_deceleration"] = [first, *more]
    movement["jump"]["bands"][0].update(launch_speed=dice.pick((4.5, 4.5, 5)), gravity_held=1, gravity=1)
    movement["ground"]["walk"] = {"acceleration": 1, "top_speed": 3}
    movement["ground"]["reverse_deceleration"] = movement["ground"]["coast_deceleration"] = 1
    movement["air"].update(acceleration=1, top_speed=3)
    movement["body"].update(width_px=dice.pick((2, 3)), height_px=3)


def with_cut(movement: Json, dice: Dice) -> None:
    movement["jump"]["on_release"] = {"cut_speed": dice.pick((0, 0.5, 1))}
    movement["jump"]["bands"][0].update(launch_speed=dice.pick((3, 4, 5)), gravity=1)
    movement["body"]["height_px"] = dice.pick((3, 4))


def with_launch_gravity(movement: Json, dice: Dice) -> None:
    movement["jump"]["launch_tick_gravity"] = True
    movement["jump"]["bands"][0]["gravity_held"] = 1


def with_coyote(movement: Json, dice: Dice) -> None:
    movement.setdefault("help", {})["coyote_ticks"] = dice.pick((1, 2, 3, 3))
    movement["ground"]["walk"]["top_speed"] = dice.pick((2, 2, 3))
    movement["jump"]["bands"][0].update(launch_speed=dice.pick((2, 3, 3, 4)), gravity_held=1, gravity=1)


def with_buffer(movement: Json, dice: Dice) -> None:
    movement.setdefault("help", {})["buffer_ticks"] = dice.pick((1, 2))
    movement["jump"]["on_release"] = {"cut_speed": dice.pick((1, 1.5, 2))}
    movement["jump"]["bands"][0].update(launch_speed=dice.pick((5, 6)), gravity_held=1, gravity=dice.pick((1, 1, 2)))
    movement["body"]["height_px"] = dice.pick((3, 4))
    movement["ground"]["walk"]["top_speed"] = movement["air"]["top_speed"] = dice.pick((2, 3))


def with_drag(movement: Json, dice: Dice) -> None:
    movement["air"]["drag"] = dice.pick((0.5, 1))
    movement["ground"]["walk"]["top_speed"] = dice.pick((2, 3))
    movement["air"]["top_speed"] = 1
    short_jump(movement, dice)


def with_drop(movement: Json, dice: Dice) -> None:
    movement.setdefault("help", {})["drop_through"] = True


def with_design_figures(movement: Json, dice: Dice) -> None:
    entry = movement["jump"]["bands"][0]
    del entry["launch_speed"], entry["gravity_held"]
    ticks = dice.pick((3, 4, 5))
    entry["ticks_to_apex"] = ticks
    entry["height_px"] = dice.pick((0.5, 1)) * ticks * (ticks + 1) / 2


def with_wide_body(movement: Json, dice: Dice) -> None:
    movement["body"]["width_px"] += dice.pick((3, 4, 5))


def with_fast_body(movement: Json, dice: Dice) -> None:
    movement["ground"]["walk"] = {"acceleration": dice.pick((1, 2, 3)), "top_speed": dice.pick((5, 6))}
    movement["air"]["top_speed"] = dice.pick((2, 6))
    movement["fall"]["terminal_speed"] = dice.pick((5, 6, 7))
    movement["body"]["width_px"] = dice.pick((1, 2))
    movement["jump"]["bands"][0].update(launch_speed=1, gravity_held=1, gravity=1)


def with_odd_width(movement: Json, dice: Dice) -> None:
    """A body one subpixel wider or narrower than a whole tile or two."""
    movement["body"]["width_px"] = dice.pick((4, 8, 3)) + dice.pick((0.00001526, -0.00001526))


def with_low_jump(movement: Json, dice: Dice) -> None:
    movement["jump"]["bands"][0]["launch_speed"] = dice.pick((1, 2, 2.5))


def with_nothing(movement: Json, dice: Dice) -> None:
    """Left as it is: the map is the theme."""


THEMES: dict[str, tuple[Callable[[Json, Dice], None], tuple[Draw, ...]]] = {
    "run": (with_run, (draw_widening_gaps, draw_widening_gaps, draw_noise)),
    "memory": (with_memory, (draw_perch, draw_perch, draw_perch, draw_widening_gaps)),
    "jump bands": (with_jump_bands, (draw_growing_steps, draw_growing_steps, draw_widening_gaps)),
    "air top speed": (with_air_top, (draw_widening_gaps, draw_widening_gaps, draw_overhang)),
    "air acceleration": (with_air_push, (draw_widening_gaps, draw_growing_steps, draw_overhang)),
    "air reverse": (with_air_brake, (draw_overhang, draw_overhang, draw_overhang, draw_noise)),
    "cut": (with_cut, (draw_low_hop, draw_low_hop, draw_tunnel)),
    "launch tick": (with_launch_gravity, (draw_growing_steps, draw_gap)),
    "coyote": (with_coyote, (draw_widening_gaps,)),
    "buffer": (with_buffer, (draw_low_hop,)),
    "drag": (with_drag, (draw_widening_gaps, draw_tunnel)),
    "drop": (with_drop, (draw_ledges,)),
    "design figures": (with_design_figures, DRAWINGS),
    "wide body": (with_wide_body, (draw_widening_gaps, draw_shaft, draw_steps)),
    "fast body": (with_fast_body, (draw_widening_gaps, draw_widening_gaps, draw_noise)),
    "odd width": (with_odd_width, (draw_gap, draw_shaft)),
    "one-way": (with_nothing, (draw_ledges, draw_steps)),
    "spring": (with_low_jump, (draw_spring,)),
    "hazard": (with_nothing, (draw_tunnel, draw_gap, draw_noise)),
    "noise": (with_nothing, (draw_noise,)),
}
THEME_NAMES = tuple(THEMES)
GUESTS = (with_coyote, with_drop, with_drag, with_cut, with_launch_gravity, with_wide_body, with_run)
"""Mechanisms that join another theme now and then."""


def theme_of(seed: int) -> str:
    """The mechanism that a seed is drawn around."""
    return THEME_NAMES[seed % len(THEME_NAMES)]


def body_fits(grid: Grid, movement: Json, tile: int, column: int, row: int) -> bool:
    """Whether the body, centred on the tile with its feet on the tile's bottom, overlaps no block, border or hazard."""
    scale = 65536
    side = tile * scale
    width, height = (round(movement["body"][key] * scale) for key in ("width_px", "height_px"))
    left, bottom = column * side + (side - width) // 2, (row + 1) * side
    for c in range(left // side, (left + width - 1) // side + 1):
        for r in range((bottom - height) // side, row + 1):
            if not 0 <= c < grid.columns or (r >= 0 and grid.cells[r][c] in "#S^"):
                return False
    return True


def add_places(grid: Grid, dice: Dice, movement: Json, tile: int) -> list[Json] | None:
    """Draw a start, a goal and pickups; list an entrance, a checkpoint or an exit. None where no start fits."""
    spots = [spot for spot in grid.empty_cells() if body_fits(grid, movement, tile, *spot)]
    grounded = [(c, r) for c, r in spots if r + 1 < grid.rows and grid.cells[r + 1][c] in "#=S"]
    if not grounded:
        return None
    if dice.chance(0.6):
        grounded = [spot for spot in grounded if spot[0] == grounded[0][0] or spot[0] <= 2] or grounded
    column, row = dice.pick(grounded if dice.chance(0.9) else spots)
    if grid.start in spots and dice.chance(0.9):
        column, row = grid.start
    grid.cells[row][column] = "@"
    for character in "!" + "+" * dice.between(0, 2):
        free = grid.empty_cells()
        above_ground = [(c, r) for c, r in free if r + 1 < grid.rows and grid.cells[r + 1][c] in "#=S"]
        if free:
            column, row = dice.pick(above_ground if above_ground and dice.chance(0.7) else free)
            grid.cells[row][column] = character
    listed: list[Json] = []
    for kind in ("entrance", "checkpoint", "exit"):
        free = [spot for spot in grid.empty_cells() if list(spot) not in [place["at"] for place in listed]]
        if free and dice.chance(0.15):
            listed.append({"id": f"the-{kind}", "kind": kind, "at": list(dice.pick(free))})
            if kind == "checkpoint" and dice.chance(0.5):
                listed[-1]["must_be"] = dice.pick(("reachable", "unreachable"))
    return listed


def generate(seed: int) -> tuple[Json, Json]:
    """The level and the movement profile of a seed, as the JSON objects of their formats."""
    dice = Dice(seed)
    change, drawings = THEMES[theme_of(seed)]
    while True:
        tile = dice.pick((4, 4, 5))
        movement = plain_movement(dice, tile)
        for guest in GUESTS:
            if guest is not change and dice.chance(0.06):
                guest(movement, dice)
        change(movement, dice)
        first = dice.pick(drawings)
        whole = first in WHOLE_WIDTH and dice.chance(0.75)
        leap, rise = jump_tiles(movement, tile)
        grid = Grid(dice.between(8, 12) + (2 if whole else 0), dice.between(5, 8), leap, rise)
        floor = grid.rows - dice.between(1, 2)
        middle = dice.between(4, grid.columns - 4)
        order = [first, dice.pick(drawings if dice.chance(0.5) else DRAWINGS)]
        if dice.chance(0.3):
            order.reverse()
        if whole:
            first(grid, dice, 0, grid.columns - 1, floor)
        else:
            order[0](grid, dice, 0, middle - 1, floor)
            order[1](grid, dice, middle, grid.columns - 1, floor)
        for _ in range(dice.pick((0, 0, 1, 2))):
            row, column = dice.between(1, grid.rows - 1), dice.between(0, grid.columns - 1)
            grid.cells[row][column] = dice.pick(".#=^")
        listed = add_places(grid, dice, movement, tile)
        if listed is not None:
            break
    level: Json = {
        "format": "reach-level/1",
        "name": f"drawn from {seed}",
        "tile_px": tile,
        "rows": ["".join(line) for line in grid.cells],
        "symbols": {
            "S": {"material": "spring", "launch_px_per_s": movement["tick_rate_hz"] * dice.pick((4, 5, 6, 7))},
            "!": {"place": "goal", "ends_level": dice.chance(0.5)},
        },
        "places": listed,
    }
    return level, movement


def digest(seeds: range) -> str:
    """A hash of everything that the seeds give."""
    text = json.dumps([generate(seed) for seed in seeds], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def roughened(movement: Json, dice: Dice) -> Json:
    """The profile with fine decimals, per second: nothing stays on a coarse grid, so no search of it ends."""
    hz = dice.pick((50, 60, 75, 120))
    sizes = {"width_px", "height_px"}
    rates = {"acceleration", "coast_deceleration", "reverse_deceleration", "gravity", "gravity_held", "drag"}

    def rough(value: Any, key: str, scale: int) -> Any:
        if isinstance(value, dict):
            return {name: rough(inner, name, scale) for name, inner in value.items()}
        if isinstance(value, list):
            return [{n: rough(v, key if n == "value" else n, scale) for n, v in entry.items()} for entry in value]
        if key.endswith("_ticks") or key == "ticks_to_apex" or isinstance(value, (bool, str)) or value == 0:
            return value
        fine = value + (dice.below(20000) - 10000) / 100_000
        if (key == "height_px" and scale == 1) or key in sizes:
            return round(fine, 5)
        return round(fine * hz * (hz if key in rates else 1), 3)

    changed = {**movement, "units": "per_second", "tick_rate_hz": hz}
    changed["body"] = rough(movement["body"], "body", 1)
    for section in ("ground", "jump", "fall"):
        changed[section] = rough(movement[section], section, 0)
    air = {
        name: rough(value, "acceleration" if name in ("acceleration", "reverse_deceleration") else name, 0)
        for name, value in movement["air"].items()
    }
    changed["air"] = air
    return changed


def held_inputs(dice: Dice, ticks: int) -> list[tuple[int, int, int, int]]:
    """Random inputs (direction, down, run, jump), each combination held for 1 to 20 ticks."""
    pressed: list[tuple[int, int, int, int]] = []
    while len(pressed) < ticks:
        press = (dice.pick((-1, 0, 1, 1)), int(dice.chance(0.2)), dice.below(2), int(dice.chance(0.6)))
        pressed += [press] * dice.pick((1, 1, 2, 3, 5, 8, 13, 20))
    return pressed[:ticks]
