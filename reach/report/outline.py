"""The outline of a set of tiles: closed paths along the borders that only one of them has."""

from __future__ import annotations

from collections.abc import Iterable

from reach.findings import Tile

Corner = tuple[int, int]
"""A corner of tiles as (column, row): the upper left one of the tile with these numbers."""

_SIDES = (((0, 0), (1, 0), (0, -1)), ((1, 0), (1, 1), (1, 0)), ((1, 1), (0, 1), (0, 1)), ((0, 1), (0, 0), (-1, 0)))
"""A tile's four sides clockwise: the corners where each begins and ends, and where the tile beyond it lies."""


def outlines(tiles: Iterable[Tile]) -> list[list[Corner]]:
    """The closed paths around a set of tiles, which lies on their right hand; the first corner comes again at the end.

    Only corners where a path turns are kept. Tiles that touch with their corners alone have paths of their own.

    Examples
    --------
    >>> outlines([(2, 5), (3, 5)])
    [[(2, 5), (4, 5), (4, 6), (2, 6), (2, 5)]]
    """
    inside = set(tiles)
    leaving: dict[Corner, list[Corner]] = {}
    for column, row in sorted(inside):
        for begin, end, beyond in _SIDES:
            if (column + beyond[0], row + beyond[1]) not in inside:
                corner = (column + begin[0], row + begin[1])
                leaving.setdefault(corner, []).append((column + end[0], row + end[1]))
    paths = []
    while leaving:
        paths.append(_followed(leaving))
    return paths


def _followed(leaving: dict[Corner, list[Corner]]) -> list[Corner]:
    """The path from the first corner that is left, whose sides are taken out."""
    at = first = min(leaving)
    along = (0, 0)
    path = [first]
    while True:
        ends = leaving[at]
        end = max(ends, key=lambda corner: _turn(along, (corner[0] - at[0], corner[1] - at[1])))
        ends.remove(end)
        if not ends:
            del leaving[at]
        turned = (end[0] - at[0], end[1] - at[1])
        if turned == along:
            path[-1] = end
        else:
            path.append(end)
        at, along = end, turned
        if at == first:
            return path


def _turn(along: Corner, turned: Corner) -> int:
    """1 for a turn to the right, -1 for one to the left."""
    return along[0] * turned[1] - along[1] * turned[0]
