"""Evidence made by hand, so that every branch of a rule can be tested without exploring a map."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reach.evidence import Evidence, FootholdOutlook, Outlook
from reach.findings import Move, MoveKind, PlaceVerdict, Verdict
from reach.graph import MoveGraph, ProvedMove, over_graph, under_graph
from reach.level import level_from_dict
from reach.options import CheckOptions
from reach.reachability.result import Exploration, Foothold, OverMove
from reach.script import Script, Step

ROWS = [
    "............",
    "@..+....!...",
    "####.###.###",
    "............",
    "############",
]
LEVEL = {
    "format": "reach-level/1",
    "name": "three ledges",
    "tile_px": 16,
    "rows": ROWS,
}
GOAL, PICKUP = "goal-1", "pickup-1"
FOOTHOLDS = (
    Foothold(0, 2, 0, 60 << 16, False, (0, 3)),
    Foothold(1, 2, 70 << 16, 124 << 16, False, (5, 7)),
    Foothold(2, 2, 138 << 16, 180 << 16, False, (9, 11)),
    Foothold(3, 4, 0, 180 << 16, False, (0, 11)),
)
"""Three ledges side by side, the ground below them."""


def script(ticks=12):
    return Script("three ledges", "made up", "start", (Step(ticks, ("right",)),))


def place(id=PICKUP, kind="pickup", at=(3, 1), required=False, must_be=None, verdict=Verdict.REACHABLE, ticks=12):
    return PlaceVerdict(id, kind, at, required, must_be, verdict, ticks if verdict is Verdict.REACHABLE else None)


def goal(**values):
    return place(**({"id": GOAL, "kind": "goal", "at": (8, 1), "required": True} | values))


def move(source=(3, 2), target=(5, 2), window_ticks=6, **values):
    window_ms = None if window_ticks is None else window_ticks * 1000 / 60
    given = {"window_ms": window_ms, "chance": 0.95, "landing_room_px": 14.0, "arc_px": ((60.0, 32.0), (84.0, 32.0))}
    return Move(source, target, MoveKind.JUMP, 20, window_ticks, **(given | values))


def over(source, target, from_rest=True, comes_to_rest=True):
    return OverMove(source, target, MoveKind.JUMP, from_rest, comes_to_rest, 20)


def outlook(foothold, what, way_in=None, why=""):
    return FootholdOutlook(foothold, Outlook(what), way_in, why)


def made_exploration(footholds, **values):
    """An exploration that rests on every foothold and loses nothing, but for the given values."""
    count = len(footholds)
    given = {
        "complete": True,
        "why": "",
        "footholds": footholds,
        "carried": np.zeros((0, 0), bool),
        "touched": np.zeros(0, bool),
        "rested": np.ones(count, bool),
        "landed": np.ones(count, bool),
        "losing": np.zeros(count, bool),
        "losing_start": False,
        "moves": (),
        "place_moves": (),
        "coverage": np.zeros((0, 0), bool),
        "misses": {},
        "polygon_ticks": 0,
        "kept_polygon_ticks": 0,
        "ground": None,
    }
    return Exploration(**(given | values))


def evidence(
    places=(),
    unreachable=(),
    undecided=(),
    over_moves=(),
    touches=(),
    proved=(),
    moves=(),
    route=(),
    misses=None,
    accept=(),
    options=None,
    **values,
):
    """Evidence about the three ledges.

    `over_moves` are OverMoves; `touches` (foothold, place index); `proved` (foothold, foothold or goal, move index).
    """
    data = LEVEL | ({"accept": list(accept)} if accept else {})
    cells = np.zeros((5, 12), bool)
    place_moves = tuple((source, index, True) for source, index in touches)
    exploration = made_exploration(
        FOOTHOLDS, carried=cells, coverage=cells, moves=tuple(over_moves), place_moves=place_moves, misses=misses or {}
    )
    endings = {index: one.id for index, one in enumerate(places) if one.kind in ("goal", "exit")}
    under = [
        ProvedMove(source, target, () if index is None else (index,), _window(moves, index), 9)
        for source, target, index in proved
    ]
    graph = MoveGraph(
        over_graph(exploration, endings),
        under_graph(FOOTHOLDS, endings.values(), under),
        (0,),
        (0,),
        tuple(endings.values()),
        tuple(_edge(index, proved) for index in range(len(moves))),
    )
    made = Evidence(
        level=level_from_dict(data),
        movement=None,
        options=options or CheckOptions(),
        exploration=exploration,
        graph=graph,
        places=tuple(places),
        tiles={Verdict.REACHABLE: (), Verdict.UNREACHABLE: tuple(unreachable), Verdict.UNDECIDED: tuple(undecided)},
        scripts={one.id: script() for one in places if one.verdict is Verdict.REACHABLE},
        moves=tuple(moves),
        route=tuple(route),
        route_to=GOAL if route else None,
        outlooks=(),
        cures={},
    )
    return replace(made, **values)


def _edge(index, proved):
    return next(((source, target) for source, target, move in proved if move == index), (0, 1))


def _window(moves, index):
    return 0 if index is None else moves[index].window_ticks or 0
