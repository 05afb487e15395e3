"""Where the levels of a world stand on a page, and the ways of the arrows between them: whole px, nothing is drawn.

Levels stand in columns by their distance from the start, counted in links, from left to right; where a page is full the
next columns stand below. Arrows run in the gaps between the cards, each on a line of its own: they cross, but never lie
on each other, on a card or on a text.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, sqrt
from typing import TYPE_CHECKING

import networkx as nx

from reach.findings import Verdict
from reach.report.sheet import Box, Point

if TYPE_CHECKING:
    from reach.world.result import WorldReport

LEAST_COLUMNS = 6
_COLUMNS_SHARE = 0.6
LANE_PX = 9
_BESIDE_PX = 20
"""Room between a card and the nearest line that runs along its side, for the head of an arrow."""
_ABOVE_PX = 13
_PORT_PX = 10
_PORT_MARGIN_PX = 12

Cell = tuple[int, int]
"""A column and a row of the page."""


@dataclass(frozen=True)
class Arrow:
    """All links from one level to another that have the same verdict; `both`: there are such links back as well."""

    source: str
    target: str
    verdict: Verdict
    both: bool = False


@dataclass(frozen=True)
class Layout:
    """A page: its size, the box of each level by id, the path of each arrow, and how many links on each level is.

    `distance` leaves out levels to which no link leads from the start that is not proved impassable.
    """

    width: int
    height: int
    cards: Mapping[str, Box]
    paths: Mapping[Arrow, tuple[Point, ...]]
    distance: Mapping[str, int]


def arrows_of(report: WorldReport) -> list[Arrow]:
    """Return the arrows of a world, in the order of its links; one stands for all links that it can stand for."""
    ways = dict.fromkeys((link.source[0], link.target[0], link.verdict) for link in report.links)
    arrows: dict[tuple[str, str, Verdict], Arrow] = {}
    for source, target, verdict in ways:
        if (target, source, verdict) not in arrows or source == target:
            both = source != target and (target, source, verdict) in ways
            arrows[source, target, verdict] = Arrow(source, target, verdict, both)
    return list(arrows.values())


def lay_out(levels: Sequence[str], arrows: Sequence[Arrow], start: str | None, card: tuple[int, int]) -> Layout:
    """Return where everything stands.

    Parameters
    ----------
    levels : sequence of str
        Ids, in the world's order.
    arrows : sequence of Arrow
    start : str, optional
        The level where the game begins; without one the levels stand in their order.
    card : (int, int)
        Width and least height of a level's card in px.

    Returns
    -------
    Layout
    """
    distance = _distances(levels, arrows, start)
    columns = max(LEAST_COLUMNS, ceil(sqrt(_COLUMNS_SHARE * len(levels))))
    cells = _cells(*_ranks(levels, arrows, start, distance), columns)
    return _Router(cells, arrows, card).layout(distance)


def _distances(levels: Sequence[str], arrows: Sequence[Arrow], start: str | None) -> dict[str, int]:
    if start is None:
        return {}
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(levels)
    for arrow in arrows:
        if arrow.verdict is not Verdict.UNREACHABLE:
            graph.add_edge(arrow.source, arrow.target)
            if arrow.both:
                graph.add_edge(arrow.target, arrow.source)
    return dict(nx.single_source_shortest_path_length(graph, start))


def _ranks(
    levels: Sequence[str], arrows: Sequence[Arrow], start: str | None, distance: Mapping[str, int]
) -> tuple[list[list[str]], list[str]]:
    """The levels by distance, each near those that lead to it, and the levels to which nothing leads."""
    if start is None:
        return [[level] for level in levels], []
    order = {level: float(index) for index, level in enumerate(levels)}
    ranks: list[list[str]] = []
    place: dict[str, float] = {}
    for number in range(max(distance.values()) + 1):
        rank = [level for level in levels if distance.get(level) == number]
        before = {
            level: [place[one] for arrow in arrows for one in _others(arrow, level) if one in place] for level in rank
        }
        rank.sort(key=lambda level: (sum(before[level]) / max(1, len(before[level])), order[level]))
        place.update({level: (index + 1) / (len(rank) + 1) for index, level in enumerate(rank)})
        ranks.append(rank)
    rest = [level for level in levels if level not in distance]
    return ranks, rest


def _others(arrow: Arrow, level: str) -> list[str]:
    """The level at the other end of an arrow at `level`, if it is one."""
    ends = (arrow.source, arrow.target)
    return [one for one in ends if one != level] if level in ends else []


def _cells(ranks: Sequence[Sequence[str]], rest: Sequence[str], columns: int) -> dict[str, Cell]:
    """A cell for each level: the ranks in columns, then the rest, which begin a row where columns are not one high."""
    most = 1 if max(map(len, ranks)) == 1 else ceil(sqrt(sum(map(len, ranks)) / columns))
    stacks: list[Sequence[str]] = []
    for rank in ranks:
        pieces = ceil(len(rank) / most)
        ends = [len(rank) * index // pieces for index in range(pieces + 1)]
        stacks += [rank[first:end] for first, end in pairwise(ends)]
    singles = [[level] for level in rest]
    if max(map(len, stacks)) == 1:
        bands = _in_bands([*stacks, *singles], columns)
    else:
        bands = [*_in_bands(stacks, columns), *_in_bands(singles, columns)]
    cells: dict[str, Cell] = {}
    top = 0
    for band in bands:
        for column, stack in enumerate(band):
            cells |= {level: (column, top + index) for index, level in enumerate(stack)}
        top += max(map(len, band))
    return cells


def _in_bands(stacks: Sequence[Sequence[str]], columns: int) -> list[Sequence[Sequence[str]]]:
    return [stacks[first : first + columns] for first in range(0, len(stacks), columns)]


@dataclass(frozen=True)
class _Route:
    """The gaps that an arrow runs through.

    `out` and `into` are the upright gaps (gap c lies left of column c) at its first and last card, `level` the gap
    (gap r lies above row r) that it runs along between them, None where both are the same gap.
    """

    arrow: Arrow
    out: int
    into: int
    level: int | None


Span = tuple[int, int, int]
"""First and last position along a gap, and the number of the arrow."""


class _Router:
    """Finds the ways of all arrows: first through which gaps, then on which line of each, then in px."""

    def __init__(self, cells: Mapping[str, Cell], arrows: Sequence[Arrow], card: tuple[int, int]) -> None:
        self.cells = cells
        self.card = card
        self.columns = 1 + max(column for column, _ in cells.values())
        self.rows = 1 + max(row for _, row in cells.values())
        self.load = [0] * (self.rows + 1)
        self.routes = [self._route(arrow) for arrow in arrows]
        self.ports = self._ports()
        self.upright = self._lanes_of_upright()
        self.along = self._lanes_along()

    def _route(self, arrow: Arrow) -> _Route:
        (column, row), (to_column, to_row) = self.cells[arrow.source], self.cells[arrow.target]
        if to_column == column:
            return _Route(arrow, column + 1, column + 1, None)
        out, into = (column + 1, to_column) if to_column > column else (column, to_column + 1)
        if out == into:
            return _Route(arrow, out, into, None)
        first, last = (row + 1, to_row) if to_row > row else (to_row + 1, row) if to_row < row else (row, row + 1)
        level = min(range(first, last + 1), key=lambda gap: (self.load[gap], -gap))
        self.load[level] += 1
        return _Route(arrow, out, into, level)

    def _is_straight(self, route: _Route) -> bool:
        (column, row), (to_column, to_row) = self.cells[route.arrow.source], self.cells[route.arrow.target]
        return row == to_row and abs(column - to_column) == 1

    def _ends(self, number: int) -> list[tuple[int, int, int]]:
        """Where an arrow touches cards: the gap and the row, and where along that gap it goes on to."""
        route = self.routes[number]
        row, to_row = (self.cells[level][1] for level in (route.arrow.source, route.arrow.target))
        if self._is_straight(route):
            return [(route.out, row, 2 * row + 1)]
        if route.level is None:
            return [(route.out, row, 2 * to_row + 1), (route.into, to_row, 2 * row + 1)]
        return [(route.out, row, 2 * route.level), (route.into, to_row, 2 * route.level)]

    def _ports(self) -> dict[tuple[int, int], list[tuple[int, int]]]:
        """For every gap and row the ends of arrows there, as (arrow, which end), from top to bottom."""
        found: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
        for number in range(len(self.routes)):
            for end, (gap, row, onward) in enumerate(self._ends(number)):
                found.setdefault((gap, row), []).append((onward, number, end))
        return {where: [(number, end) for _, number, end in sorted(ends)] for where, ends in found.items()}

    def _position(self, gap: int, row: int, port: tuple[int, int]) -> int:
        """Where an end of an arrow is along its gap, in units in which each gap above a row is a whole stretch."""
        stretch = 2 * len(self.routes) + 1
        return (2 * row + 1) * stretch + self.ports[gap, row].index(port)

    def _lanes_of_upright(self) -> dict[tuple[int, int], tuple[int, int]]:
        """For every upright gap and arrow its line in it, and the number of lines of the gap."""
        stretch = 2 * len(self.routes) + 1
        spans: dict[int, list[Span]] = {}
        for number, route in enumerate(self.routes):
            if self._is_straight(route):
                continue
            at = [self._position(gap, row, (number, end)) for end, (gap, row, _) in enumerate(self._ends(number))]
            if route.level is None:
                spans.setdefault(route.out, []).append((min(at), max(at), number))
                continue
            turn = 2 * route.level * stretch
            for gap, position in ((route.out, at[0]), (route.into, at[1])):
                spans.setdefault(gap, []).append((min(position, turn), max(position, turn), number))
        return {(gap, number): lane for gap, those in spans.items() for number, lane in _lanes(those).items()}

    def _lanes_along(self) -> dict[tuple[int, int], tuple[int, int]]:
        spans: dict[int, list[Span]] = {}
        for number, route in enumerate(self.routes):
            if route.level is not None:
                ends = (route.out, route.into)
                spans.setdefault(route.level, []).append((min(ends), max(ends), number))
        return {(gap, number): lane for gap, those in spans.items() for number, lane in _lanes(those).items()}

    def layout(self, distance: Mapping[str, int]) -> Layout:
        """Return everything in px."""
        width, least = self.card
        tall = [
            max(
                [
                    least,
                    *(
                        _PORT_PX * len(ports) + 2 * _PORT_MARGIN_PX
                        for (_, at), ports in self.ports.items()
                        if at == row
                    ),
                ]
            )
            for row in range(self.rows)
        ]
        across = [
            self._gap(self.upright, gap, _BESIDE_PX, outer=gap in (0, self.columns)) for gap in range(self.columns + 1)
        ]
        down = [self._gap(self.along, gap, _ABOVE_PX, outer=gap in (0, self.rows)) for gap in range(self.rows + 1)]
        lefts = [sum(across[: column + 1]) + column * width for column in range(self.columns + 1)]
        tops = [sum(down[: row + 1]) + sum(tall[:row]) for row in range(self.rows + 1)]
        cards = {
            level: (lefts[column], tops[row], lefts[column] + width, tops[row] + tall[row])
            for level, (column, row) in self.cells.items()
        }

        def port(gap: int, row: int, which: tuple[int, int]) -> float:
            ports = self.ports[gap, row]
            room = tall[row] - 2 * _PORT_MARGIN_PX
            return tops[row] + _PORT_MARGIN_PX + round(room * (ports.index(which) + 1) / (len(ports) + 1))

        def upright(gap: int, number: int) -> float:
            lane, lanes = self.upright[gap, number]
            return lefts[gap] - across[gap] + (across[gap] - (lanes - 1) * LANE_PX) // 2 + lane * LANE_PX

        def side(level: str, gap: int) -> float:
            left, _, right, _ = cards[level]
            return left if gap == self.cells[level][0] else right

        paths: dict[Arrow, tuple[Point, ...]] = {}
        for number, route in enumerate(self.routes):
            ends = [port(gap, row, (number, end)) for end, (gap, row, _) in enumerate(self._ends(number))]
            begin = (side(route.arrow.source, route.out), ends[0])
            close = (side(route.arrow.target, route.into), ends[-1])
            if self._is_straight(route):
                paths[route.arrow] = (begin, close)
                continue
            turns = [upright(route.out, number), upright(route.into, number)]
            middle: list[Point] = []
            if route.level is not None:
                lane, lanes = self.along[route.level, number]
                gap = route.level
                y = tops[gap] - down[gap] + (down[gap] - (lanes - 1) * LANE_PX) // 2 + lane * LANE_PX
                middle = [(turns[0], y), (turns[1], y)]
            paths[route.arrow] = (begin, (turns[0], begin[1]), *middle, (turns[1], close[1]), close)
        return Layout(lefts[-1], tops[-1], cards, paths, distance)

    def _gap(self, lanes: Mapping[tuple[int, int], tuple[int, int]], gap: int, beside: int, outer: bool) -> int:
        """The width of a gap in px: none at the outside where nothing runs."""
        number = max([0, *(of for (where, _), (_, of) in lanes.items() if where == gap)])
        return 0 if outer and not number else 2 * beside + max(0, number - 1) * LANE_PX


def _lanes(spans: Sequence[Span]) -> dict[int, tuple[int, int]]:
    """Give each span a line on which it meets no other, as few as that takes; returns (line, number of lines)."""
    ends: list[int] = []
    taken: dict[int, int] = {}
    for first, last, number in sorted(spans):
        free = [lane for lane, end in enumerate(ends) if end < first]
        lane = free[0] if free else len(ends)
        if not free:
            ends.append(last)
        ends[lane] = last
        taken[number] = lane
    return {number: (lane, len(ends)) for number, lane in taken.items()}
