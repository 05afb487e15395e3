"""Levels and reports to draw, made by hand: no checker runs here."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random
from types import SimpleNamespace
from typing import Any

import numpy as np

from reach.findings import (
    Finding,
    Mark,
    MarkShape,
    Move,
    MoveKind,
    PlaceVerdict,
    Report,
    Severity,
    Verdict,
)
from reach.kernels.params import EMPTY, HAZARD, ONE_WAY, SOLID, SPRING

TILE_PX = 16
CODES = {".": EMPTY, "#": SOLID, "=": ONE_WAY, "^": HAZARD, "~": SPRING}


@dataclass
class Scene:
    """A level and what a check might say of it."""

    level: Any
    report: Report
    fields: dict[str, Any] = field(default_factory=dict)


def level_of(rows: list[str], name: str = "Rope Walk") -> Any:
    material = np.array([[CODES[symbol] for symbol in row] for row in rows], dtype=np.uint8)
    material.setflags(write=False)
    return SimpleNamespace(
        name=name, tile_px=TILE_PX, material=material, columns=material.shape[1], rows=material.shape[0], places=()
    )


def standable(level: Any) -> list[tuple[int, int]]:
    """Carrying tiles with room above for a body one tile wide and two high."""
    found = []
    for row in range(level.rows):
        for column in range(level.columns):
            carries = level.material[row, column] in (SOLID, ONE_WAY, SPRING)
            above = [level.material[r, column] for r in (row - 1, row - 2) if r >= 0]
            if carries and all(code in (EMPTY, ONE_WAY) for code in above):
                found.append((column, row))
    return found


def arc(source: tuple[int, int], target: tuple[int, int], rise_px: float = 34.0) -> tuple[tuple[float, float], ...]:
    """A parabola from one tile's top to another's."""
    x1, y1 = (source[0] + 0.5) * TILE_PX, float(source[1] * TILE_PX)
    x2, y2 = (target[0] + 0.5) * TILE_PX, float(target[1] * TILE_PX)
    peak = min(y1, y2) - rise_px
    points = []
    for i in range(25):
        share = i / 24
        straight = y1 + (y2 - y1) * share
        middle = (y1 + y2) / 2
        points.append((x1 + (x2 - x1) * share, straight + (peak - middle) * 4 * share * (1 - share)))
    return tuple(points)


def report_of(level: Any, **fields: Any) -> Report:
    tiles = fields.pop("tiles", None)
    if tiles is None:
        tiles = {Verdict.REACHABLE: tuple(standable(level)), Verdict.UNREACHABLE: (), Verdict.UNDECIDED: ()}
    values: dict[str, Any] = {
        "product": "0.1.0",
        "level_name": level.name,
        "level_sha256": "0" * 64,
        "columns": level.columns,
        "rows": level.rows,
        "tile_px": level.tile_px,
        "movement_name": "lamplighter",
        "movement_sha256": "0" * 64,
        "tick_rate_hz": 60,
        "body_px": (12.0, 22.0),
        "from_place": "start-1",
        "options": {},
        "places": (),
        "tiles": tiles,
        "moves": (),
        "route": (),
        "route_to": None,
        "findings": (),
        "scripts": {},
        "coverage": np.zeros((level.rows * 8, level.columns * 8), dtype=bool),
        "complete": True,
    }
    values.update(fields)
    return Report(**values)


def region(level: Any, tiles: list[tuple[int, int]], height: int = 3) -> np.ndarray:
    """A plausible region: some tiles' height above every one of `tiles`, as far as nothing blocks."""
    cells = np.zeros((level.rows * 8, level.columns * 8), dtype=bool)
    for column, row in tiles:
        for up in range(1, height + 1):
            above = row - up
            if above < 0 or level.material[above, column] in (SOLID, SPRING):
                break
            lowest = above * 8 + 8
            cells[max(above * 8, 0) + (5 if up == height else 0) : lowest, column * 8 : column * 8 + 8] = True
    return cells


def place(id_: str, kind: str, at: tuple[int, int], verdict: Verdict = Verdict.REACHABLE) -> PlaceVerdict:
    return PlaceVerdict(id_, kind, at, kind in {"goal", "exit", "checkpoint"}, None, verdict, 10)


SMALL_ROWS = [
    "............",
    "......==..##",
    "............",
    "..........##",
    "####~##^^###",
    "############",
]


def small_scene() -> Scene:
    """12 x 6 tiles with one of everything."""
    level = level_of(SMALL_ROWS)
    unreachable = ((10, 1), (11, 1))
    undecided = ((7, 1),)
    reachable = tuple(tile for tile in standable(level) if tile not in unreachable + undecided)
    moves = (
        Move((3, 4), (6, 1), MoveKind.JUMP, 30, 6, 100.0, chance=0.92, arc_px=arc((3, 4), (6, 1))),
        Move((6, 1), (10, 3), MoveKind.JUMP, 28, 3, 50.0, chance=0.61, arc_px=arc((6, 1), (10, 3), 20)),
        Move((4, 4), (6, 1), MoveKind.SPRING, 31, arc_px=arc((4, 4), (6, 1), 52)),
        Move((6, 1), (5, 4), MoveKind.WALK_OFF, 20, arc_px=arc((6, 1), (5, 4), 0)),
        Move((10, 3), (6, 1), MoveKind.JUMP, 20, passing_only=True, arc_px=arc((10, 3), (6, 1), 30)),
    )
    findings = (
        Finding(
            "unreachable-goal",
            Severity.ERROR,
            (11, 0),
            "The goal bell cannot be reached: from the foothold on row 3, columns 10 to 11 the body misses it by 9 px.",
            "Lower the goal by at least 9 px, or add a foothold between.",
            marks=(
                Mark(MarkShape.TILE, ((11, 0),)),
                Mark(MarkShape.GAP, points_px=((184.0, 32.0), (184.0, 12.0)), label="9 px"),
            ),
        ),
        Finding(
            "tight-landing",
            Severity.WARNING,
            (10, 3),
            "The jump from tile 6,1 to tile 10,3 has a window of 3 ticks (50 ms); chance 61 %.",
            "Bring tile 10,3 nearer by 4 px.",
            {"window_ticks": 3},
            marks=(
                Mark(MarkShape.ARC, points_px=arc((6, 1), (10, 3), 20)),
                Mark(MarkShape.FOOTHOLD, ((10, 3), (11, 3))),
            ),
        ),
        Finding(
            "unused-ground",
            Severity.NOTE,
            (10, 1),
            "2 standable tiles are unreachable.",
            marks=(Mark(MarkShape.FOOTHOLD, unreachable),),
        ),
        Finding(
            "undecided",
            Severity.WARNING,
            (7, 1),
            "Tile 7,1: neither reachable nor unreachable was proved.",
            marks=(Mark(MarkShape.TILE, undecided),),
        ),
        Finding(
            "no-return",
            Severity.NOTE,
            (7, 1),
            "After this nothing leads back to the start.",
            accepted="One way on purpose.",
        ),
    )
    report = report_of(
        level,
        tiles={Verdict.REACHABLE: reachable, Verdict.UNREACHABLE: unreachable, Verdict.UNDECIDED: undecided},
        places=(
            place("start-1", "start", (0, 3)),
            place("lamp", "pickup", (6, 0)),
            place("bell", "goal", (11, 0), Verdict.UNREACHABLE),
            place("gate", "exit", (11, 2)),
            place("hut", "checkpoint", (2, 3)),
            place("pier", "entrance", (7, 2), Verdict.UNDECIDED),
        ),
        moves=moves,
        route=(0, 1),
        route_to="gate",
        findings=findings,
        coverage=region(level, list(reachable)),
        complete=False,
        incomplete_why="the time limit of 10 s was reached",
    )
    return Scene(level, report)


def random_scene(columns: int, rows: int, seed: int, findings: int, name: str = "Quarry Stairs") -> Scene:
    """A made-up level of any size: ground with gaps, platforms, hazards, springs, and a check that says a lot of it."""
    random = Random(seed)
    grid = [["."] * columns for _ in range(rows)]
    for c in range(columns):
        if c % 17 not in (9, 10):
            for r in (rows - 1, rows - 2):
                grid[r][c] = "#"
        elif random.random() < 0.5:
            grid[rows - 1][c] = "^"
    for _ in range(columns * rows // 40):
        c, r, length = random.randrange(columns), random.randrange(2, rows - 3), random.randrange(2, 7)
        symbol = random.choice("##==#~")
        for k in range(length if symbol != "~" else 1):
            if c + k < columns:
                grid[r][c + k] = symbol
    for _ in range(columns // 30):
        c = random.randrange(columns)
        for r in range(rows - 5, rows - 2):
            grid[r][c] = "#"
    level = level_of(["".join(row) for row in grid], name)
    ground = standable(level)
    drawn = {tile: random.random() for tile in {(c // 9, r) for c, r in ground}}
    sorted_out: dict[Verdict, list[tuple[int, int]]] = {verdict: [] for verdict in Verdict}
    for c, r in ground:
        share = drawn[(c // 9, r)]
        low = r >= rows - 2
        verdict = (
            Verdict.UNREACHABLE
            if share < 0.15 and not low
            else Verdict.UNDECIDED
            if share < 0.2 and not low
            else Verdict.REACHABLE
        )
        sorted_out[verdict].append((c, r))
    reached = sorted(sorted_out[Verdict.REACHABLE])
    moves = []
    for index, source in enumerate(reached):
        if index % 3:
            continue
        near = [
            t for t in reached[index + 1 : index + 60] if 2 <= t[0] - source[0] <= 6 and -3 <= t[1] - source[1] <= 3
        ]
        if near:
            target = random.choice(near)
            kind = random.choice([MoveKind.JUMP, MoveKind.JUMP, MoveKind.WALK_OFF])
            rise = 30.0 if kind is MoveKind.JUMP else 0.0
            moves.append(Move(source, target, kind, 30, random.randrange(1, 30), arc_px=arc(source, target, rise)))
    route = []
    at = 0
    for index, move in enumerate(moves):
        if move.source[0] >= at and move.kind is MoveKind.JUMP and move.source[1] >= rows - 6:
            route.append(index)
            at = move.target[0] + 2
    kinds = list(Severity)
    found = []
    for index in range(findings):
        tile = random.choice(ground)
        severity = kinds[index % 3]
        marks: tuple[Mark, ...] = (Mark(MarkShape.TILE, (tile,)),)
        if index % 4 == 1:
            move = random.choice(moves)
            tile, marks = move.target, (Mark(MarkShape.ARC, points_px=move.arc_px),)
        if index % 4 == 2:
            row = [t for t in ground if t[1] == tile[1] and 0 <= t[0] - tile[0] < 4]
            marks = (Mark(MarkShape.FOOTHOLD, tuple(row)),)
        words = "The body can get here and nothing leads on to an ending place from rest; " * (1 + index % 3)
        found.append(
            Finding(
                "softlock" if index % 2 else "unused-ground",
                severity,
                tile,
                words.strip(),
                "Add a way out.",
                marks=marks,
            )
        )
    places = [place("start-1", "start", (0, rows - 3))]
    for index, kind in enumerate(
        ["pickup", "checkpoint", "goal", "exit", "entrance", "pickup"] * max(1, columns // 60)
    ):
        c, r = random.choice(ground)
        places.append(place(f"{kind}-{index + 1}", kind, (c, r - 1), random.choice(list(Verdict)[:2])))
    report = report_of(
        level,
        tiles={verdict: tuple(sorted(those, key=lambda t: (t[1], t[0]))) for verdict, those in sorted_out.items()},
        places=tuple(places),
        moves=tuple(moves),
        route=tuple(route),
        route_to="goal-3",
        findings=tuple(found),
        coverage=region(level, reached, 4),
    )
    return Scene(level, report)
