"""Where the body's left edge may be, exactly: the x axis in pieces over each of which it overlaps the same columns.

Contact is open, flush is none (motion model, section 1): a body of width W overlaps a solid run of columns [a, b]
exactly for ``a*T - W + 1 <= x <= (b + 1)*T - 1``. So what is overlapped changes at ``c*T`` and at ``c*T - W + 1``
alone, and what holds at one x of a piece holds on all of it. The columns beside the map are solid at every height: x
lies in ``0 <= x <= columns*T - W`` always. These tables are made once a level, by numpy.
"""

from typing import NamedTuple

import numpy as np

from reach.kernels.params import HAZARD, ONE_WAY, SOLID, SPRING, Motion, Terrain

BLOCKING = (SOLID, SPRING)
CARRYING = (SOLID, ONE_WAY, SPRING)


class Pieces(NamedTuple):
    """The x axis of a map for a body, from 0 to the last x at which it is inside; no pieces where it is too wide.

    Piece p is ``edges[p] <= x < edges[p + 1]``, spx; a body there overlaps columns `first[p]` to `last[p]`. int64
    [pieces + 1] (or empty), [pieces], [pieces].
    """

    edges: np.ndarray
    first: np.ndarray
    last: np.ndarray


def cut_pieces(columns: int, tile: int, width: int) -> Pieces:
    """Cut the x axis of a map where a body of this width comes to overlap other columns. Approximation: exact.

    Parameters
    ----------
    columns : int
    tile, width : int
        Side of a tile and width of the body, spx.
    """
    lines = np.arange(columns + 1, dtype=np.int64) * tile
    cuts = np.unique(np.concatenate((lines, lines - width + 1)))
    edges = cuts[(cuts >= 0) & (cuts <= lines[-1] - width + 1)]
    return Pieces(edges, edges[:-1] // tile, (edges[:-1] + width - 1) // tile)


def any_overlapped(marked: np.ndarray, pieces: Pieces) -> np.ndarray:
    """Tell where a body overlaps a marked column: bool [rows, columns] to bool [rows, pieces]. Approximation: exact."""
    before = _counts_before(marked)
    return before[:, pieces.last + 1] != before[:, pieces.first]


def greatest_overlapped(values: np.ndarray, pieces: Pieces) -> np.ndarray:
    """Return the greatest of the columns that a body overlaps: [rows, columns] to [rows, pieces].

    Approximation: exact.
    """
    greatest = values[:, pieces.first]
    for ahead in range(1, int((pieces.last - pieces.first).max(initial=0)) + 1):
        np.maximum(greatest, values[:, np.minimum(pieces.first + ahead, pieces.last)], out=greatest)
    return greatest


def any_row(marked: np.ndarray, first: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Tell for ranges of rows which columns are marked in one of them.

    Parameters
    ----------
    marked : bool [rows, columns]
    first, end : int64 [ranges]
        The first row of each range and the one behind its last; rows off the map hold nothing.

    Returns
    -------
    bool [ranges, columns]
    """
    before = _counts_before(marked.T)
    rows = len(marked)
    return np.ascontiguousarray((before[:, np.clip(end, 0, rows)] != before[:, np.clip(first, 0, rows)]).T)


def _counts_before(marked: np.ndarray) -> np.ndarray:
    """How many are marked along the last axis before each place, and in all: int32 [n, length + 1]."""
    counts = np.zeros((marked.shape[0], marked.shape[1] + 1), np.int32)
    np.cumsum(marked, axis=1, out=counts[:, 1:])
    return counts


def find_runs(values: np.ndarray, pieces: Pieces) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return the maximal intervals of x with one value that is not zero, by row, then x.

    Parameters
    ----------
    values : [rows, pieces]
    pieces : Pieces

    Returns
    -------
    row, low, high : int64 [runs]
        [low, high] is closed, spx.
    value : [runs]
    """
    padded = np.pad(values, ((0, 0), (1, 1)))
    changes = padded[:, 1:] != padded[:, :-1]
    row, begin = np.divmod(np.flatnonzero(changes & (padded[:, 1:] != 0)), changes.shape[1])
    end = np.flatnonzero(changes & (padded[:, :-1] != 0)) % changes.shape[1]
    return row, pieces.edges[begin], pieces.edges[end] - 1, values[row, begin]


def _pieces_to_stand(motion: Motion, terrain: Terrain, pieces: Pieces) -> np.ndarray:
    """Tell where a body with its feet line on a row's top overlaps no blocking tile and no hazard.

    bool [rows, pieces]; carried or not is not asked. Approximation: exact.
    """
    bad = _rows_overlapped(np.isin(terrain.material, (*BLOCKING, HAZARD)), motion, terrain)
    return ~any_overlapped(bad, pieces)


def _rows_overlapped(marked: np.ndarray, motion: Motion, terrain: Terrain) -> np.ndarray:
    """Tell which columns are marked in the rows that a body with its feet line on a row's top overlaps."""
    row = np.arange(len(marked))
    return any_row(marked, (row * terrain.tile - motion.body_h) // terrain.tile, row)


def ending_tiles(terrain: Terrain) -> np.ndarray:
    """Tell on which tiles there is a place that ends the level: bool [rows, columns]."""
    ends = np.zeros(terrain.material.shape, np.bool_)
    places = np.flatnonzero(terrain.place_ends)
    ends[terrain.place_row[places], terrain.place_column[places]] = True
    return ends


def foothold_table(motion: Motion, terrain: Terrain) -> np.ndarray:
    """Return all footholds by row, then left end. Approximation: exact.

    Returns
    -------
    int64 [n, 6]
        row, left and right end of the body's left edge (spx), 1 on springs, first and last carrying column a body on it
        can overlap. Spots at an ending place belong to none (nothing follows there).
    """
    columns = terrain.material.shape[1]
    tile, width = terrain.tile, motion.body_w
    pieces = cut_pieces(columns, tile, width)
    carries = np.isin(terrain.material, CARRYING)
    stands = any_overlapped(carries, pieces) & _pieces_to_stand(motion, terrain, pieces)
    stands &= ~any_overlapped(_rows_overlapped(ending_tiles(terrain), motion, terrain), pieces)
    ordinary, bouncing = 1, 2
    kind = np.where(any_overlapped(terrain.material == SPRING, pieces), bouncing, ordinary)
    row, low, high, found = find_runs(np.where(stands, kind, 0), pieces)
    column = np.arange(columns)
    following = np.minimum.accumulate(np.where(carries, column, columns)[:, ::-1], axis=1)[:, ::-1]
    preceding = np.maximum.accumulate(np.where(carries, column, -1), axis=1)
    first, last = following[row, low // tile], preceding[row, (high + width - 1) // tile]
    return np.column_stack((row, low, high, found == bouncing, first, last)).astype(np.int64)


def standable_table(motion: Motion, terrain: Terrain) -> np.ndarray:
    """Tell which tiles carry and can have a body on them (motion model, section 2): bool [rows, columns].

    Spots at an ending place count: the body is on the tile when the level ends. Approximation: exact.
    """
    columns = terrain.material.shape[1]
    pieces = cut_pieces(columns, terrain.tile, motion.body_w)
    before = _counts_before(_pieces_to_stand(motion, terrain, pieces))
    # the pieces over which a body overlaps a column follow one another
    begin = np.searchsorted(pieces.last, np.arange(columns))
    end = np.searchsorted(pieces.first, np.arange(columns), side="right")
    carries: np.ndarray = np.isin(terrain.material, CARRYING)
    return carries & (before[:, end] != before[:, begin])
