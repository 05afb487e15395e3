"""The easiest route to an ending place: the widest path over proved moves, played whole before it is believed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.graph import MoveGraph, ProvedMove, route_edges, widest_routes
from reach.reachability.chain import chain
from reach.reachability.passages import passages

if TYPE_CHECKING:
    from reach.kernels.params import State
    from reach.measures import Measures
    from reach.reachability.problem import Problem

MOST_ROUTES = 8
"""So many routes of one smallest window are tried."""

MOST_WAYS = 16
"""So many passages are tried for one proved move."""


@dataclass(frozen=True, eq=False)
class Route:
    """Proved moves one after the other into the place `ending`, and inputs from the start that make them all.

    `easiest`: no route of proved moves has a larger smallest window, as far as all windows were measured.
    """

    made_of: tuple[ProvedMove, ...]
    ending: str
    inputs: np.ndarray
    easiest: bool

    @property
    def moves(self) -> tuple[int, ...]:
        """Indices of the report's moves that it is made of."""
        return tuple(index for one in self.made_of for index in one.moves)


@dataclass(frozen=True, eq=False)
class FirstRest:
    """The state in which a script first comes to rest, on which foothold, and the inputs that lead there."""

    foothold: int
    state: State
    inputs: np.ndarray


def easiest_route(
    problem: Problem,
    graph: MoveGraph,
    measures: Measures,
    places: Mapping[int, np.ndarray],
    first: FirstRest | None,
) -> Route | None:
    """Return the easiest route that replays whole; None where no script gets from rest to an ending place.

    Routes are tried from the easiest on. One whose moves do not follow each other from where the body really comes to
    rest is passed over for the next; after the last, the shortest script to an ending place is taken as it is. Either
    is called the easiest only where its smallest window is no smaller than that of the first route tried.
    `places` holds the scripts by a place's index.
    """
    if first is None:
        return None
    widest = None
    for nodes in widest_routes(graph.under_, graph.under_starts, graph.endings, MOST_ROUTES):
        made_of = tuple(graph.under_.edges[edge]["proved"] for edge in route_edges(nodes))
        widest = _width(made_of) if widest is None else widest
        legs = [measures.legs[one][:MOST_WAYS] for one in made_of]
        inputs = chain(first.state, legs, problem.finder, problem.motion, problem.terrain)
        if inputs is not None:
            easiest = _is_easiest(made_of, widest, measures)
            return Route(made_of, str(nodes[-1]), np.concatenate((first.inputs, inputs)), easiest)
    return _shortest_script(problem, measures, places, widest)


def _width(made_of: Iterable[ProvedMove]) -> int:
    return min(one.window_ticks for one in made_of)


def _is_easiest(made_of: Iterable[ProvedMove], widest: int | None, measures: Measures) -> bool:
    """Tell whether a route is as wide as any; a move left unmeasured by a limit may be wider than it counts for."""
    return widest is not None and not measures.limit and _width(made_of) >= widest


def _shortest_script(
    problem: Problem, measures: Measures, places: Mapping[int, np.ndarray], widest: int | None
) -> Route | None:
    """Return the moves of the shortest script to an ending place."""
    endings = sorted(problem.ending_ids.keys() & places, key=lambda index: (len(places[index]), index))
    for index in endings:
        made = passages(problem.start, places[index], problem.finder, problem.motion, problem.terrain)
        moves = [measures.making(problem, passage) for passage in made]
        if made and all(moves):
            made_of = tuple(one for one in moves if one)
            easiest = _is_easiest(made_of, widest, measures)
            return Route(made_of, problem.ending_ids[index], places[index], easiest)
    return None
