"""The oracle's own reading of level and movement files, and its searches with their answers.

`compile_case` turns the two JSON objects into the integers of `oracle`, with exact fractions and nothing rounded in
between; `search` explores a case and answers which tiles, places and losses are possible, each with its inputs.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from tests import oracle
from tests.oracle import BOUNCER, LEDGE, NOTHING, SPIKES, WALL, Body, Rules, World

SUBPIXELS = 65536

MATERIALS = {"empty": NOTHING, "solid": WALL, "one_way": LEDGE, "hazard": SPIKES, "spring": BOUNCER}
SYMBOLS: dict[str, Any] = {
    ".": "empty",
    " ": "empty",
    "#": "solid",
    "=": "one_way",
    "^": "hazard",
    "@": {"place": "start"},
    "!": {"place": "goal"},
    "+": {"place": "pickup"},
}


def exact(number: float | int | str) -> Fraction:
    """The decimal as written."""
    return Fraction(str(number))


def whole(value: Fraction) -> int:
    """Nearest integer, half away from zero; at least 1 where the value is positive."""
    size = abs(value)
    nearest = (2 * size.numerator + size.denominator) // (2 * size.denominator)
    if value > 0:
        return max(1, nearest)
    return -nearest


@dataclass(frozen=True)
class Case:
    """A level and a movement profile as the oracle sees them."""

    rules: Rules
    world: World
    place_ids: tuple[str, ...]
    start: Body
    start_is_clear: bool

    @property
    def rows(self) -> int:
        return len(self.world.cells)

    @property
    def columns(self) -> int:
        return self.world.cells.shape[1]


def compile_rules(movement: dict[str, Any]) -> Rules:
    """The integers of a movement profile (motion model, section 3)."""
    hz = Fraction(movement.get("tick_rate_hz", 60))
    per_second = movement["units"] == "per_second"

    def speed(number: Any) -> int:
        return whole(exact(number) * SUBPIXELS / (hz if per_second else 1))

    def rate(number: Any) -> int:
        return whole(exact(number) * SUBPIXELS / (hz * hz if per_second else 1))

    jump, air, ground = movement["jump"], movement["air"], movement["ground"]
    help_ = movement.get("help", {})
    at_launch = jump.get("launch_tick_gravity", False)

    jumps = []
    for entry in jump["bands"]:
        if "launch_speed" in entry:
            launch, held = speed(entry["launch_speed"]), rate(entry["gravity_held"])
        else:
            ticks = entry["ticks_to_apex"]
            height = exact(entry["height_px"]) * SUBPIXELS
            held = max(1, whole(2 * height / (ticks * (ticks + 1))))
            launch = (ticks + 1 if at_launch else ticks) * held
        jumps.append((speed(entry.get("from_takeoff_speed", 0)), launch, held, rate(entry["gravity"])))

    def bands(value: Any, keys: tuple[str, ...], convert: Any) -> np.ndarray:
        entries = value if isinstance(value, list) else [{"value": value}]
        return np.array([[*(speed(e.get(k, 0)) for k in keys), convert(e["value"])] for e in entries], np.int64)

    release = jump.get("on_release", "gravity")
    run = ground.get("run")
    return Rules(
        width=whole(exact(movement["body"]["width_px"]) * SUBPIXELS),
        height=whole(exact(movement["body"]["height_px"]) * SUBPIXELS),
        walk=np.array([rate(ground["walk"]["acceleration"]), speed(ground["walk"]["top_speed"])], np.int64),
        run=np.array([rate(run["acceleration"]), speed(run["top_speed"])] if run else [], np.int64),
        memory=run.get("memory_ticks", 0) if run else 0,
        coast=rate(ground["coast_deceleration"]),
        reverse=rate(ground["reverse_deceleration"]),
        jumps=np.array(jumps, np.int64),
        cut=-1 if release == "gravity" else speed(release["cut_speed"]),
        gravity_at_launch=int(at_launch),
        terminal=speed(movement["fall"]["terminal_speed"]),
        air_push=bands(air["acceleration"], ("from_speed",), rate),
        air_brake=bands(air["reverse_deceleration"], ("from_speed", "from_takeoff_speed"), rate),
        air_top=bands(air["top_speed"], ("from_takeoff_speed",), speed),
        drag=rate(air.get("drag", 0)),
        coyote=help_.get("coyote_ticks", 0),
        buffer=help_.get("buffer_ticks", 0),
        drops=int(help_.get("drop_through", False)),
    )


def compile_case(level: dict[str, Any], movement: dict[str, Any]) -> Case:
    """The integers of a level and a profile, and the state they start in."""
    rules = compile_rules(movement)
    hz = movement.get("tick_rate_hz", 60)
    symbols = {**SYMBOLS, **level.get("symbols", {})}
    lines = level["rows"]
    cells = np.zeros((len(lines), len(lines[0])), np.uint8)
    launches = np.zeros(cells.shape, np.int64)
    places: list[tuple[str, str, int, int, bool]] = []
    drawn: dict[str, int] = {}

    def note_place(ident: str, kind: str, column: int, row: int, entry: dict[str, Any]) -> None:
        places.append((ident, kind, column, row, entry.get("ends_level", kind in ("goal", "exit"))))

    for row, line in enumerate(lines):
        for column, character in enumerate(line):
            entry = symbols[character]
            if isinstance(entry, str):
                cells[row, column] = MATERIALS[entry]
            elif "place" in entry:
                kind = entry["place"]
                drawn[kind] = drawn.get(kind, 0) + 1
                note_place(f"{kind}-{drawn[kind]}", kind, column, row, entry)
            else:
                cells[row, column] = MATERIALS[entry["material"]]
                if entry["material"] == "spring":
                    launches[row, column] = whole(exact(entry["launch_px_per_s"]) * SUBPIXELS / hz)
    for entry in level.get("places", []):
        note_place(entry["id"], entry["kind"], *entry["at"], entry)

    world = World(
        SUBPIXELS * level["tile_px"],
        cells,
        launches,
        np.array([(column, row, int(ends)) for _, _, column, row, ends in places], np.int64),
    )
    column, row = next((place[2], place[3]) for place in places if place[1] == "start")
    start = Body(*map(int, oracle.start_body(world, rules, column, row)))
    box = (start.x, start.y, rules.width, rules.height)
    clear = not oracle.is_stuck(world, *box) and not oracle.is_hurt(world, *box)
    return Case(rules, world, tuple(place[0] for place in places), start, clear)


def standable_tiles(case: Case) -> set[tuple[int, int]]:
    """Tiles (column, row) that carry and on which a body can be, tried at every x where an overlap can change."""
    tile, width, height = case.world.tile, case.rules.width, case.rules.height
    found = set()
    for row in range(case.rows):
        y = row * tile - height
        for column in range(case.columns):
            if not oracle.carries(int(case.world.cells[row, column])):
                continue
            least, most = column * tile - width + 1, (column + 1) * tile - 1
            edges = range((least // tile) * tile, most + tile + width, tile)
            tries = {least, most, *(x for e in edges for x in (e - 1, e, e - width, e - width + 1))}
            for x in sorted(tries):
                box = (x, y, width, height)
                inside = least <= x <= most
                if inside and not oracle.is_stuck(case.world, *box) and not oracle.is_hurt(case.world, *box):
                    found.add((column, row))
                    break
    return found


def all_inputs(rules: Rules) -> np.ndarray:
    """Every input of one tick as (direction, down, run, jump), without the buttons that this profile never reads."""
    downs = (0, 1) if rules.drops else (0,)
    runs = (0, 1) if len(rules.run) else (0,)
    return np.array([(d, o, r, j) for d in (0, 1, -1) for o in downs for r in runs for j in (0, 1)], np.int64)


def takeoff_classes(rules: Rules) -> np.ndarray:
    """Every takeoff threshold of every band list, ascending, 0 first."""
    return np.unique(np.concatenate(([0], rules.jumps[:, 0], rules.air_top[:, 0], rules.air_brake[:, 1])))


@dataclass(frozen=True)
class Search:
    """What any input can lead to. With `ended` false a limit was hit: what is listed is reached, the rest unknown."""

    ended: bool
    states: np.ndarray
    tiles: frozenset[tuple[int, int]]
    places: frozenset[str]
    can_be_lost: bool
    can_end: bool
    inputs: np.ndarray
    came_from: np.ndarray
    tile_from: np.ndarray
    place_from: np.ndarray
    lost_from: np.ndarray
    place_ids: tuple[str, ...]

    @property
    def count(self) -> int:
        """Number of states kept."""
        return len(self.states)

    def script_to_tile(self, tile: tuple[int, int]) -> np.ndarray:
        """Fewest inputs int64 [ticks, 4] after which the tile's top carries the body."""
        return self._script(*self.tile_from[tile[1], tile[0]])

    def script_to_place(self, ident: str) -> np.ndarray:
        """Fewest inputs int64 [ticks, 4] after which the place is touched."""
        return self._script(*self.place_from[self.place_ids.index(ident)])

    def script_to_loss(self) -> np.ndarray:
        """Fewest inputs int64 [ticks, 4] after which the body is lost."""
        return self._script(*self.lost_from)

    def script_to_state(self, index: int) -> np.ndarray:
        """Fewest inputs int64 [ticks, 4] to the state of that index."""
        return self._script(*self.came_from[index])

    def _script(self, before: int, via: int) -> np.ndarray:
        pressed = []
        while before >= 0:
            pressed.append(self.inputs[via])
            before, via = self.came_from[before]
        return np.array(pressed[::-1], np.int64).reshape(-1, 4)


def search(case: Case, starts: Iterable[Body] | None = None, limit: int = 400_000) -> Search:
    """Everything reachable from the start state, or from the given states (for questions such as a softlock)."""
    first = [case.start] if starts is None else list(starts)
    inputs = all_inputs(case.rules)
    table = np.array(first, np.int64).reshape(-1, oracle.FIELDS)
    ended, _, states, came_from, tile_from, place_from, lost_from = oracle.explore(
        table, inputs, case.rules, case.world, takeoff_classes(case.rules), limit
    )
    return Search(
        ended=bool(ended),
        states=states,
        tiles=frozenset((int(c), int(r)) for r, c in np.argwhere(tile_from[:, :, 0] != oracle.NEVER)),
        places=frozenset(case.place_ids[i] for i in np.flatnonzero(place_from[:, 0] != oracle.NEVER)),
        can_be_lost=bool(lost_from[0] != oracle.NEVER),
        can_end=bool((states[:, Body._fields.index("ended")] != 0).any()),
        inputs=inputs,
        came_from=came_from,
        tile_from=tile_from,
        place_from=place_from,
        lost_from=lost_from,
        place_ids=case.place_ids,
    )


def replay(case: Case, inputs: np.ndarray, start: Body | None = None) -> np.ndarray:
    """States int64 [ticks + 1, fields] along the inputs, row 0 the start state."""
    return oracle.walk(case.start if start is None else start, inputs, case.rules, case.world)


def touched_places(case: Case, state: Body) -> set[str]:
    """Ids of the places that a body in this state touches; none if it is lost."""
    if state.lost:
        return set()
    box = (state.x, state.y, case.rules.width, case.rules.height)
    return {name for i, name in enumerate(case.place_ids) if oracle.overlaps_place(case.world, i, *box)}
