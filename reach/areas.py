"""Tiles grouped into areas that a designer sees as one."""

from __future__ import annotations

from collections.abc import Iterable

from reach.findings import Tile


def areas(tiles: Iterable[Tile]) -> tuple[tuple[Tile, ...], ...]:
    """Return the tiles grouped by touching sides or corners; areas and their tiles are sorted by row, then column.

    Examples
    --------
    >>> areas([(0, 0), (1, 1), (5, 0)])
    (((0, 0), (1, 1)), ((5, 0),))
    """
    left = set(tiles)
    found = []
    for seed in sorted(left, key=_row_major):
        if seed not in left:
            continue
        left.remove(seed)
        area, waiting = [seed], [seed]
        while waiting:
            column, row = waiting.pop()
            for near in [(column + dc, row + dr) for dc in (-1, 0, 1) for dr in (-1, 0, 1)]:
                if near in left:
                    left.remove(near)
                    area.append(near)
                    waiting.append(near)
        found.append(tuple(sorted(area, key=_row_major)))
    return tuple(found)


def _row_major(tile: Tile) -> Tile:
    return (tile[1], tile[0])
