"""The arrays of a concrete search, sized by the level, and their pool of inputs read back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels import book as b
from reach.kernels import pages
from reach.kernels.attempts import ATTEMPT_FIELDS, attempt_table
from reach.kernels.book import Book
from reach.kernels.trials import TARGET_FIELDS
from reach.reachability.footholds import standable_tiles

if TYPE_CHECKING:
    from reach.kernels.params import Motion, Terrain
    from reach.reachability.result import Foothold

TAPE_TICKS = 1 << 15
MOST_NODES = 1 << 19
FAR = 1 << 60


def make_book(
    motion: Motion,
    terrain: Terrain,
    footholds: Sequence[Foothold],
    wanted_tiles: np.ndarray,
    wanted_places: np.ndarray,
) -> Book:
    """Return an empty book for a level; its `reach` has the standable tiles in reading order, then the places."""
    rows, columns = terrain.material.shape
    standable = standable_tiles(motion, terrain)
    tiles = int(standable.sum())
    places = len(terrain.place_ends)
    wanted = np.concatenate((np.asarray(wanted_tiles)[standable], np.asarray(wanted_places, bool)))
    nodes = min(MOST_NODES, (1 << 14) + 256 * len(footholds))

    reach = np.zeros((tiles + places, b.REACH_FIELDS), np.int64)
    reach[:, b.REACH_NODE] = -1
    reach[:, b.WANTED] = wanted
    tile_slot = np.full((rows, columns), -1, np.int32)
    tile_slot[standable] = np.arange(tiles)
    place_at = np.full((rows, columns), -1, np.int32)
    place_next = np.full(places, -1, np.int32)
    for place in range(places - 1, -1, -1):
        at = terrain.place_row[place], terrain.place_column[place]
        place_next[place] = place_at[at]
        place_at[at] = place

    table = np.zeros((len(footholds), b.FOOTHOLD_FIELDS), np.int64)
    for index, foothold in enumerate(footholds):
        table[index, : b.FIRST_NODE] = foothold.row, foothold.left_spx, foothold.right_spx, foothold.is_spring
    table[:, b.FIRST_NODE] = -1
    table[:, b.REST_LEFT] = FAR
    table[:, b.REST_RIGHT] = -FAR

    counts = np.zeros(b.COUNTS, np.int64)
    counts[b.MISSING] = int(wanted.sum())
    counts[b.RANDOM] = 1
    counts[b.TILE] = terrain.tile
    counts[b.BODY_H] = motion.body_h
    counts[b.TOP_SPEED] = max(motion.walk_cap, motion.run_cap, int(motion.air_cap.max()))
    counts[b.CURRENT] = -1
    counts[b.TARGET] = -1
    counts[b.HAS_RUN] = motion.has_run
    counts[b.HAS_DROP] = motion.drop_through
    counts[b.COYOTE_TICKS] = motion.coyote_ticks
    counts[b.AIR_TICKS] = _air_ticks(motion)

    def zeros(*shape: int) -> np.ndarray:
        return pages.zeros(shape, np.int64)

    return Book(
        counts=counts,
        nodes=zeros(nodes, b.NODE_FIELDS),
        pool=zeros(24 * nodes),
        heap=zeros(nodes, 2),
        cells=zeros(1 << (8 * nodes - 1).bit_length()),
        reach=reach,
        tile_slot=tile_slot,
        place_at=place_at,
        place_next=place_next,
        footholds=table,
        row_first=np.searchsorted(table[:, b.ROW], np.arange(rows + 1)).astype(np.int64),
        moves=zeros(min(1 << 18, 1024 + 64 * len(footholds)), b.MOVE_FIELDS),
        move_slots=zeros(1 << (2 * min(1 << 18, 1024 + 64 * len(footholds)) - 1).bit_length()),
        tape=zeros(TAPE_TICKS),
        plan=zeros(ATTEMPT_FIELDS),
        table=attempt_table(bool(motion.has_run), bool(motion.drop_through), motion.coyote_ticks),
        targets=zeros(0, TARGET_FIELDS),
    )


def _air_ticks(motion: Motion) -> int:
    """Return about the most ticks of a jump that lands where it began, at least 16."""
    apex = int((motion.jump_launch // motion.jump_gravity_held).max())
    return min(255, max(16, 2 * apex))


def decode(book: Book, *parts: tuple[int, int]) -> np.ndarray:
    """Return inputs kept in the pool, int64 [ticks, 4], columns direction, down, run, jump.

    Each of the `parts` is its first entry and how many there are.
    """
    none = np.zeros(0, np.int64)
    entries = np.concatenate([none, *(book.pool[first : first + count] for first, count in parts)])
    return inputs_of(np.repeat(entries % 256, entries // 256))


def inputs_of(codes: np.ndarray) -> np.ndarray:
    """Return the inputs, int64 [ticks, 4], that are coded in a byte a tick, as the pool has them."""
    codes = codes.astype(np.int64)
    return np.stack(((codes & 3) - 1, (codes >> 2) & 1, (codes >> 3) & 1, (codes >> 4) & 1), axis=1)


def codes_of(inputs: np.ndarray) -> np.ndarray:
    """Return inputs coded in a byte a tick, uint8 [ticks]; the reverse of `inputs_of`."""
    return ((inputs[:, 0] + 1) | inputs[:, 1] << 2 | inputs[:, 2] << 3 | inputs[:, 3] << 4).astype(np.uint8)
