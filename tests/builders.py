"""Small terrains and motions for tests, in whole subpixels a tick, so that a test can say every number it relies on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from reach.kernels.contact import overlaps_blocking
from reach.kernels.params import EMPTY, HAZARD, ONE_WAY, SOLID, SPRING, Buttons, Motion, State, Terrain
from reach.kernels.step import initial_state, run_script

PX = 65536
TILE_PX = 16
TILE = TILE_PX * PX
MATERIALS = {
    ".": EMPTY,
    " ": EMPTY,
    "#": SOLID,
    "=": ONE_WAY,
    "^": HAZARD,
    "S": SPRING,
    "@": EMPTY,
    "!": EMPTY,
    "+": EMPTY,
}
BANDED = {
    "jump_from",
    "jump_launch",
    "jump_gravity_held",
    "jump_gravity",
    "air_accel_from",
    "air_accel",
    "air_reverse_from_speed",
    "air_reverse_from_takeoff",
    "air_reverse",
    "air_cap_from",
    "air_cap",
}


def make_motion(**values: int | Sequence[int]) -> Motion:
    """A Motion of round numbers; any field may be given, lists (or one number) for the banded ones.

    Unless given: one band everywhere, walking only, no help, a jump of about 3.5 tiles, a body of 12 x 22 px. The run's
    values follow the walk's where only the walk's are given; giving `run_cap` or `run_accel` switches the run on.
    """
    defaults: dict[str, int | Sequence[int]] = {
        "body_w": 12 * PX,
        "body_h": 22 * PX,
        "walk_accel": 4000,
        "walk_cap": 100000,
        "has_run": int("run_cap" in values or "run_accel" in values),
        "run_memory": 0,
        "coast": 3000,
        "reverse": 9000,
        "jump_from": [0],
        "jump_launch": [260000],
        "jump_gravity_held": [9000],
        "jump_gravity": [20000],
        "cut_speed": -1,
        "launch_tick_gravity": 0,
        "terminal": 320000,
        "air_accel_from": [0],
        "air_accel": [3500],
        "air_reverse_from_speed": [0],
        "air_reverse_from_takeoff": [0],
        "air_reverse": [5000],
        "air_cap_from": [0],
        "air_cap": [100000],
        "drag": 0,
        "coyote_ticks": 0,
        "buffer_ticks": 0,
        "drop_through": 0,
    }
    unknown = set(values) - set(Motion._fields)
    if unknown:
        raise TypeError(f"no such field: {sorted(unknown)}")
    merged = defaults | values
    merged.setdefault("run_accel", merged["walk_accel"])
    merged.setdefault("run_cap", merged["walk_cap"])
    return Motion(
        **{
            name: np.atleast_1d(np.array(merged[name], np.int64)) if name in BANDED else int(merged[name])  # type: ignore[arg-type]
            for name in Motion._fields
        }
    )


def make_terrain(
    rows: Sequence[str],
    *,
    tile: int = TILE,
    launch: int | Mapping[tuple[int, int], int] = 400000,
    places: Sequence[tuple[int, int, int]] | None = None,
) -> Terrain:
    """A Terrain from rows of `.` empty, `#` solid, `=` one_way, `^` hazard, `S` spring.

    `launch` is the springs' launch in spx a tick: one for all, or by (column, row). `places` lists (column, row, ends);
    left out, `!` is a place that ends the level, `+` and `@` are places that do not, in reading order.
    """
    material = np.array([[MATERIALS[character] for character in row] for row in rows], np.uint8)
    speed = np.zeros(material.shape, np.int64)
    for row, column in np.argwhere(material == SPRING):
        speed[row, column] = launch if isinstance(launch, int) else launch[(int(column), int(row))]
    if places is None:
        places = [(c, r, int(s == "!")) for r, line in enumerate(rows) for c, s in enumerate(line) if s in "!+@"]
    table = np.array(places, np.int64).reshape(-1, 3)
    return Terrain(
        tile,
        material,
        speed,
        np.ascontiguousarray(table[:, 0]),
        np.ascontiguousarray(table[:, 1]),
        np.ascontiguousarray(table[:, 2]),
    )


def make_state(x: int, y: int, **values: int) -> State:
    """A state at (x, y) in spx, at rest in the air unless other fields are given."""
    return State(x, y, **(dict.fromkeys(State._fields[2:], 0) | values))


def standing(column: int, row: int, motion: Motion, terrain: Terrain, **values: int) -> State:
    """A grounded state, centred on tile (column, row) with the feet on that tile's bottom."""
    x = column * terrain.tile + (terrain.tile - motion.body_w) // 2
    return make_state(x, (row + 1) * terrain.tile - motion.body_h, **({"grounded": 1} | values))


def press(text: str = "") -> Buttons:
    """Buttons from letters: l left, r right, d down, R run, j jump."""
    return Buttons(("r" in text) - ("l" in text), int("d" in text), int("R" in text), int("j" in text))


def inputs(*steps: tuple[int, str]) -> np.ndarray:
    """Input rows, int64 [ticks, 4], from (ticks, letters) pairs."""
    return np.array([press(text) for ticks, text in steps for _ in range(ticks)], np.int64).reshape(-1, 4)


def play(state: State, motion: Motion, terrain: Terrain, *steps: tuple[int, str]) -> list[State]:
    """The states along (ticks, letters) steps, the given one first."""
    return [State(*row) for row in run_script(state, inputs(*steps), motion, terrain).tolist()]


def random_motion(rng: np.random.Generator, tile: int) -> Motion:
    """A random profile for small tiles: every option on or off, one to three bands, speeds up to more than a tile."""

    def pick(low: int, high: int) -> int:
        return int(rng.integers(low, high + 1))

    def bands(low: int, high: int) -> tuple[list[int], list[int]]:
        count = pick(1, 3)
        steps = rng.integers(1, tile // 3 + 2, count)
        return [0, *np.cumsum(steps[1:]).tolist()], rng.integers(low, high + 1, count).tolist()

    jump_from, launch = bands(0, tile)
    accel_from, accel = bands(1, tile // 4)
    cap_from, cap = bands(1, tile)
    pairs = sorted({(0, 0)} | {(pick(0, tile // 2), pick(0, tile // 2)) for _ in range(pick(0, 3))})
    has_run = pick(0, 1)
    walk_accel, walk_cap = pick(1, tile // 4), pick(1, tile // 2)
    return make_motion(
        body_w=pick(1, 2 * tile),
        body_h=pick(1, 3 * tile),
        walk_accel=walk_accel,
        walk_cap=walk_cap,
        has_run=has_run,
        run_accel=pick(1, tile // 4) if has_run else walk_accel,
        run_cap=pick(1, tile) if has_run else walk_cap,
        run_memory=pick(0, 3) if has_run else 0,
        coast=pick(1, tile // 4),
        reverse=pick(1, tile // 2),
        jump_from=jump_from,
        jump_launch=launch,
        jump_gravity_held=rng.integers(1, tile // 4 + 2, len(launch)).tolist(),
        jump_gravity=rng.integers(1, tile // 2 + 2, len(launch)).tolist(),
        cut_speed=pick(-1, tile // 4) if pick(0, 1) else -1,
        launch_tick_gravity=pick(0, 1),
        terminal=pick(1, 2 * tile),
        air_accel_from=accel_from,
        air_accel=accel,
        air_reverse_from_speed=[a for a, _ in pairs],
        air_reverse_from_takeoff=[b for _, b in pairs],
        air_reverse=rng.integers(1, tile // 4 + 2, len(pairs)).tolist(),
        air_cap_from=cap_from,
        air_cap=cap,
        drag=pick(0, 2),
        coyote_ticks=pick(0, 3),
        buffer_ticks=pick(0, 3),
        drop_through=pick(0, 1),
    )


def random_terrain(rng: np.random.Generator, tile: int) -> Terrain:
    """A random small map of every material, with a few places, some of which end the level."""
    columns, rows = (int(n) for n in rng.integers(3, 10, 2))
    weights = np.array([6, 2, 1, rng.choice([0, 0.2]), rng.choice([0, 0.5])])
    codes = rng.choice(5, (rows, columns), p=weights / weights.sum())
    places = [(int(rng.integers(columns)), int(rng.integers(rows)), int(rng.random() < 0.1)) for _ in range(3)]
    letters = np.array(list(".#=^S"))[codes]
    launch = {(int(c), int(r)): int(rng.integers(1, 2 * tile)) for r, c in np.argwhere(codes == SPRING)}
    return make_terrain(["".join(line) for line in letters], tile=tile, launch=launch, places=places)


def random_inputs(rng: np.random.Generator, ticks: int) -> np.ndarray:
    """Random input rows, int64 [ticks, 4], each button kept for some ticks at a time."""
    table = np.empty((ticks, 4), np.int64)
    for button, low in enumerate((-1, 0, 0, 0)):
        values = rng.integers(low, 2, ticks)
        keep = np.maximum.accumulate(np.where(rng.random(ticks) < 0.25, np.arange(ticks), 0))
        table[:, button] = values[keep]
    return table


def random_start(rng: np.random.Generator, motion: Motion, terrain: Terrain) -> State | None:
    """A start state on a random tile, None where it overlaps what it must not."""
    rows, columns = terrain.material.shape
    state = initial_state(int(rng.integers(columns)), int(rng.integers(rows)), motion, terrain)
    state = State(*map(int, state))
    return None if state.lost or overlaps_blocking(state.x, state.y, motion, terrain) else state
