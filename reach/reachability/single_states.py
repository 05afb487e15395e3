"""Searching single states: all of them where numbers are coarse, one of each small cell around what is still

missing.
"""

from __future__ import annotations

import math
import time
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels import book as b
from reach.kernels import single_states as k

if TYPE_CHECKING:
    from reach.kernels.book import Book
    from reach.kernels.params import Motion, Terrain

COARSE_SPX = 2048
"""Where every speed and rate is a multiple of so much, a search over single states may end."""

STATES_IN_TURN = 20_000
NO_BOUND = 1 << 60

BOX_COLUMNS = 6
BOX_ROWS = 10
"""A search around a target keeps that near to it and to the footholds it starts from, in tiles across and up or

down.
"""

FINENESS = ((8, 4), (32, 16), (128, 64))
"""Cells tried one after the other: parts of a tile, parts of the top speed."""


def numbers_are_coarse(motion: Motion) -> bool:
    """Tell whether speeds and rates are such that a search over single states may end."""
    scalars = (
        motion.walk_accel,
        motion.walk_cap,
        motion.run_accel,
        motion.run_cap,
        motion.coast,
        motion.reverse,
        motion.terminal,
        motion.drag,
        max(0, motion.cut_speed),
    )
    lists = (motion.jump_launch, motion.jump_gravity_held, motion.jump_gravity, motion.air_accel, motion.air_reverse)
    return math.gcd(*scalars, *(int(value) for one in (*lists, motion.air_cap) for value in one)) >= COARSE_SPX


def visit_all(most: int, deadline: float | None, book: Book, motion: Motion, terrain: Terrain) -> bool:
    """Visit every state from the book's first node on, at most so many.

    Returns
    -------
    bool
        True where all were visited and there was room for every script: then what has none in the book cannot be
        reached.
    """
    singles = _room(most, motion)
    k.add_roots(np.zeros(1, np.int64), singles, book)
    while singles.counts[k.OVERFLOW] == 0 and (deadline is None or time.monotonic() < deadline):
        if k.visit_states(STATES_IN_TURN, singles, book, motion, terrain):
            return bool(book.counts[b.FULL] == 0)
        if singles.counts[k.DONE] == singles.counts[k.FOUND]:
            return False
    return False


def visit_around(
    sources: np.ndarray,
    aim: tuple[int, int, int, int],
    most: int,
    deadline: float | None,
    book: Book,
    motion: Motion,
    terrain: Terrain,
) -> bool:
    """Look for a target among cells of states between footholds and it, finer each time. Approximation: under.

    Parameters
    ----------
    sources : int64 [n]
        Footholds whose nodes the search begins with.
    aim : left, right, top, bottom
        Where the body's left edge and feet line ought to come, spx.
    most : int
        States stored in each search.
    deadline : float or None
        As in SearchLimits.
    book, motion, terrain : Book, Motion, Terrain

    Returns
    -------
    bool
        Whether any wanted tile or place was gained.
    """
    nodes = np.flatnonzero(np.isin(book.nodes[: int(book.counts[b.NODES]), b.FOOTHOLD], sources)).astype(np.int64)
    missing = int(book.counts[b.MISSING])
    lands = book.footholds[sources]
    tile = terrain.tile
    for parts, speed_parts in FINENESS:
        singles = _room(most, motion)
        counts = singles.counts
        counts[k.X_CELL] = max(1, tile // parts)
        counts[k.V_CELL] = max(1, int(book.counts[b.TOP_SPEED]) // speed_parts)
        counts[k.BOX_LEFT] = min(aim[0], int(lands[:, b.LEFT].min())) - BOX_COLUMNS * tile
        counts[k.BOX_RIGHT] = max(aim[1], int(lands[:, b.RIGHT].max())) + BOX_COLUMNS * tile
        counts[k.BOX_TOP] = min(aim[2], int(lands[:, b.ROW].min()) * tile) - motion.body_h - BOX_ROWS * tile
        counts[k.BOX_BOTTOM] = max(aim[3], int(lands[:, b.ROW].max()) * tile) + BOX_ROWS * tile
        k.add_roots(nodes, singles, book)
        while counts[k.DONE] < counts[k.FOUND] and book.counts[b.FULL] == 0:
            if deadline is not None and time.monotonic() >= deadline:
                return int(book.counts[b.MISSING]) < missing
            k.visit_states(STATES_IN_TURN, singles, book, motion, terrain)
            if int(book.counts[b.MISSING]) < missing:
                return True
    return False


def _room(most: int, motion: Motion) -> k.Singles:
    counts = np.zeros(k.COUNTS, np.int64)
    counts[[k.X_CELL, k.V_CELL]] = 1
    counts[[k.BOX_LEFT, k.BOX_TOP]] = -NO_BOUND
    counts[[k.BOX_RIGHT, k.BOX_BOTTOM]] = NO_BOUND
    thresholds = np.concatenate((motion.jump_from, motion.air_cap_from, motion.air_reverse_from_takeoff))
    return k.Singles(
        counts=counts,
        states=np.zeros((most, 13), np.int64),
        keys=np.zeros((most, 13), np.int64),
        parent=np.zeros(most, np.int32),
        code=np.zeros(most, np.int64),
        slots=np.zeros(1 << (4 * most - 1).bit_length(), np.int32),
        thresholds=np.unique(thresholds),
    )
