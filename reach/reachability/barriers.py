"""What bars the way to a place first: the ground from which it may be reached, missed by less than the place itself."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import takewhile
from math import floor, inf, sqrt
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.heap import CELLS
from reach.reachability.aims import find_aims
from reach.reachability.covered import may_be_above
from reach.reachability.exploration_run import EFFORT
from reach.reachability.explore import Explorer

if TYPE_CHECKING:
    from reach.findings import Tile
    from reach.reachability.problem import Problem
    from reach.reachability.result import Exploration, Foothold, NearestMiss

SPX = 65536

MOST_POLYGON_TICKS = 10_000_000
"""What leads on from ground out of reach is followed for so many ticks of polygons more than exploring took."""


@dataclass(frozen=True)
class Barrier:
    """Ground that no input gets onto, from rest on which a place may be reached, and the nearest miss of it.

    `tile` is the tile of it that would carry the body there. Approximation: over, of what can be reached from there
    and of where the body gets: no script is known from there, and the miss is at least so large.
    """

    foothold: int
    tile: Tile
    miss: NearestMiss


@dataclass(frozen=True)
class Barriers:
    """The first barrier of every place that has one, by the place's index.

    Places in `unknown` may have one that was not found, since the limit `why` was hit; `EFFORT` is none of the user's.
    """

    first: Mapping[int, Barrier]
    unknown: frozenset[int] = frozenset()
    why: str = ""

    @property
    def limit(self) -> str:
        """The user's limit that was hit, "" if none was."""
        return "" if self.why == EFFORT else self.why


def first_barriers(problem: Problem, seen: Exploration, places: Collection[int]) -> Barriers:
    """Return what bars the way to each of some places that the completed superset does not touch.

    Of the ground that no body gets onto, and from rest on which the superset touches the place (a spring: from being
    set down on it), that is the foothold with the least distance, in px across and up, between where the body can be
    and where it would stand on it. Where that is no less than the nearest miss of the place itself there is none.

    Parameters
    ----------
    problem : Problem
    seen : Exploration
        From the start, complete; one that is not lets nothing be said.
    places : collection of int
        Indices of the places.
    """
    places = [place for place in sorted(places) if not seen.touched[place]]
    ground = _worth_asking(problem, seen, places) if seen.complete else []
    if not ground:
        return Barriers({})
    misses, unknown = _known(problem, seen, ground)
    if misses and unknown:
        nearer = {
            index: misses[index]
            for index in takewhile(
                lambda index: not any(_comes_near(problem, seen, one, sqrt(_length(misses[index]))) for one in unknown),
                _by_length(misses),
            )
        }
        barriers = _ask(problem, seen, places, nearer)
        if len(barriers.first) == len(places):
            return barriers
    if unknown:
        measured, why = _misses(problem, unknown)
        if why:
            return Barriers({}, frozenset(places), why)
        misses |= measured
        if problem.memory is not None:
            problem.memory.misses.learn(_covered(problem, seen), unknown, problem.footholds, measured)
    return _ask(problem, seen, places, misses)


def _known(
    problem: Problem, seen: Exploration, ground: list[Foothold]
) -> tuple[dict[int, NearestMiss], list[Foothold]]:
    """Return the misses that are known from earlier checks, and the ground whose misses are not."""
    if problem.memory is None:
        return {}, ground
    return problem.memory.misses.known(_covered(problem, seen), ground, problem.footholds)


def _covered(problem: Problem, seen: Exploration) -> bytes:
    assert problem.memory is not None
    return problem.memory.covered(problem.motion, problem.terrain, seen, problem.start)


def _by_length(misses: Mapping[int, NearestMiss]) -> list[int]:
    return sorted(misses, key=lambda index: (_length(misses[index]), index))


def _ask(problem: Problem, seen: Exploration, places: Sequence[int], misses: Mapping[int, NearestMiss]) -> Barriers:
    """Return what bars the way, of the ground with these misses: all there is, or all that is missed by less."""
    order = _by_length(misses)
    lengths = [_length(misses[index]) for index in order]
    asked = {
        place: sum(length < (_length(seen.misses[place]) if place in seen.misses else inf) for length in lengths)
        for place in places
    }
    problem.tell("asking what bars the way", None)
    found, why = problem.explorer.first_to_touch(
        order,
        {place: most for place, most in asked.items() if most},
        seen,
        most_polygon_ticks=MOST_POLYGON_TICKS + seen.kept_polygon_ticks,
        deadline=problem.deadline,
        memory_limit_mib=problem.options.memory_limit_mib,
        progress=lambda done, waiting: problem.tell("asking what bars the way", done / max(1, done + waiting)),
    )
    first = {
        place: Barrier(index, _tile(problem, index, misses[index]), misses[index]) for place, index in found.items()
    }
    unknown = {place for place, most in asked.items() if most and place not in found} if why else ()
    return Barriers(first, frozenset(unknown), why if unknown else "")


def _worth_asking(problem: Problem, seen: Exploration, places: Sequence[int]) -> list[Foothold]:
    """Return the ground that no body gets onto and that may be missed by less than one of the places.

    That is no ground which the place's own miss is measured to, and none that lies farther from all that is covered.
    """
    if not places or seen.landed.all():
        return []
    aims = find_aims(problem.motion, problem.terrain, problem.footholds).tolist()
    measured = [{tuple(aim) for index, *aim in aims if index == place} for place in places]
    most_px = [sqrt(_length(seen.misses[place])) if place in seen.misses else inf for place in places]
    return [
        foothold
        for foothold in problem.footholds
        if not seen.landed[foothold.index]
        and any(
            _standing(problem, foothold) not in own and _comes_near(problem, seen, foothold, most)
            for own, most in zip(measured, most_px, strict=True)
        )
    ]


def _comes_near(problem: Problem, seen: Exploration, foothold: Foothold, most_px: float) -> bool:
    """Tell whether a body on the foothold may be so near to one that can be; False only where it is not.

    Where two bodies are so far apart, the one has a covered cell that is no farther from the other.
    """
    left, right, top, _ = _standing(problem, foothold)
    cells, height, width = CELLS / problem.terrain.tile, problem.motion.body_h, problem.motion.body_w
    most = most_px * SPX + 1
    if most == inf or (top < most and may_be_above(problem.motion, problem.terrain, seen)):
        return True
    rows = slice(max(0, floor((top - most) * cells)), max(0, floor((top + height + most) * cells) + 1))
    columns = slice(max(0, floor((left - most) * cells)), max(0, floor((right + width + most) * cells) + 1))
    return bool(seen.coverage[rows, columns].any())


def _standing(problem: Problem, foothold: Foothold) -> tuple[int, int, int, int]:
    """Return the positions of a body on a foothold: least and greatest x, least and greatest y, spx."""
    y = foothold.row * problem.terrain.tile - problem.motion.body_h
    return (foothold.left_spx, foothold.right_spx, y, y)


def _misses(problem: Problem, ground: Iterable[Foothold]) -> tuple[dict[int, NearestMiss], str]:
    """Return the nearest miss of each foothold, by its index, and which limit was hit."""
    offset = len(problem.terrain.place_row)
    aims = np.array([(offset + one.index, *_standing(problem, one)) for one in ground], np.int64)
    seen = problem.explore(Explorer(problem.motion, problem.terrain, problem.footholds, aims, problem.jobs))
    return {index - offset: miss for index, miss in seen.misses.items()}, seen.why


def _length(miss: NearestMiss) -> float:
    return miss.across_px**2 + miss.up_px**2


def _tile(problem: Problem, index: int, miss: NearestMiss) -> Tile:
    """Return the tile under the body's middle where it would stand, or the nearest one that carries it there."""
    foothold, tile = problem.footholds[index], problem.terrain.tile
    width = problem.motion.body_w
    foremost = width * (1 + (miss.to_px[0] > miss.at_px[0]) - (miss.to_px[0] < miss.at_px[0])) // 2
    x = round(miss.to_px[0] * SPX) - foremost
    x = min(max(x, foothold.left_spx), foothold.right_spx)
    carrying = problem.explorer.carrying[foothold.row]
    under = [column for column in range(max(0, x // tile), (x + width - 1) // tile + 1) if column < len(carrying)]
    middle = x + width // 2
    column = min(
        (column for column in under if carrying[column]), key=lambda column: abs(column * tile + tile // 2 - middle)
    )
    return (column, foothold.row)
