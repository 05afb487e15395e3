"""What the trials of a concrete search aim at: the moves of the superset that lead to something without a script."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels import book as b
from reach.kernels import trials as t

if TYPE_CHECKING:
    from reach.kernels.book import Book
    from reach.kernels.params import Motion, Terrain
    from reach.reachability.result import Foothold, OverMove

NEAREST_SOURCES = 8
"""Where nothing tells from where a tile is reached, so many of the nearest footholds reached are tried."""

MOST_TILES = 32
"""So many missing tiles get targets of their own at a time; of the places all do."""


class TargetList:
    """Targets, and which of them are wanted now. `rows` is int64 [n, TARGET_FIELDS] of kernels/trials.py."""

    def __init__(
        self,
        footholds: Sequence[Foothold],
        terrain: Terrain,
        motion: Motion,
        over_moves: Iterable[OverMove] | None,
        place_moves: Iterable[tuple[int, int, bool]],
        wanted_places: np.ndarray,
    ) -> None:
        """Make a target of each move and each place; the tiles wait until it is known that no move covers them."""
        self._footholds = footholds
        self._tile, self._width, self._height = terrain.tile, motion.body_w, motion.body_h
        self._terrain = terrain
        self._slots: list[int] = []
        self._aimed: set[tuple[int, int]] = set()
        self.rows = np.zeros((0, t.TARGET_FIELDS), np.int64)
        pairs: dict[tuple[int, int], bool] = {}
        for move in over_moves or ():
            calm = move.from_rest and move.comes_to_rest and move.source != move.target
            pairs[move.source, move.target] = pairs.get((move.source, move.target), False) or calm
        self._calm = np.array([pairs[pair] for pair in sorted(pairs)], bool)
        self._moves = len(pairs)
        self._add([self._to_foothold(source, target) for source, target in sorted(pairs)])
        sources = sorted({(source, place) for source, place, _ in place_moves if wanted_places[place] and source >= 0})
        self._add([self._to_place(source, place) for source, place in sources])

    def refresh(self, book: Book, want_moves: bool, most: int) -> int:
        """Set which targets are tried next; returns how many. None is tried more than `most` times."""
        active = self._leading_on(book)
        if want_moves:
            active[: self._moves] |= self._without_example(book)
        active &= self.rows[:, t.TRIED] < most
        if not active.any() and self._aim_near(book):
            active = self._leading_on(book) & (self.rows[:, t.TRIED] < most)
        self.rows[:, t.ACTIVE] = active
        return int(active.sum())

    def missing(self, book: Book) -> list[tuple[np.ndarray, tuple[int, int, int, int]]]:
        """Return for each thing missing the footholds reached that could lead there, and the box to come into."""
        groups: dict[tuple[int, int, int, int], set[int]] = {}
        for row in self.rows[self._leading_on(book)].tolist():
            box = (row[t.AIM_LEFT], row[t.AIM_RIGHT], row[t.AIM_TOP], row[t.AIM_BOTTOM])
            groups.setdefault(box, set()).add(row[t.SOURCE])
        return [(np.array(sorted(groups[box]), np.int64), box) for box in sorted(groups)]

    def near_misses(self, book: Book, most_spx: int) -> list[int]:
        """Return the targets whose nearest miss was so small that another spot to start from may do."""
        misses = self.rows[:, t.CLOSEST] - t.NOT_LANDED
        near = np.flatnonzero(self._leading_on(book) & (misses > 0) & (misses <= most_spx))
        return sorted(near.tolist(), key=lambda index: (int(misses[index]), index))

    def aim_alone(self, index: int) -> int:
        """Make one target the only active one, with the attempt that ever came nearest; returns its miss in spx."""
        row = self.rows[index]
        self.rows[:, t.ACTIVE] = 0
        row[t.ACTIVE] = 1
        row[t.NEAREST] = row[t.CLOSEST]
        row[t.STALE] = 0
        row[t.BEST : t.CLOSEST_BEST] = row[t.CLOSEST_BEST :]
        return int(row[t.CLOSEST]) - t.NOT_LANDED

    def _leading_on(self, book: Book) -> np.ndarray:
        """Return which targets lead from a foothold reached to something missing."""
        landed = book.footholds[:, b.LANDED_ON] != 0
        missing = (book.reach[:, b.REACH_NODE] < 0) & (book.reach[:, b.WANTED] != 0)
        tiles = len(missing) - len(self._terrain.place_ends)
        count = len(self._footholds)
        lacking = ~landed
        for foothold in self._footholds:
            first, last = foothold.columns
            slots = book.tile_slot[foothold.row, first : last + 1]
            lacking[foothold.index] |= bool(missing[slots[slots >= 0]].any())
        active = landed[self.rows[:, t.SOURCE]]
        for index, target in enumerate(self.rows[:, t.TARGET].tolist()):
            if target >= count:
                active[index] &= missing[tiles + target - count]
            elif target >= 0:
                active[index] &= lacking[target]
            else:
                active[index] &= missing[self._slots[index - len(self.rows)]]
        return active

    def _without_example(self, book: Book) -> np.ndarray:
        """Return which moves from rest to rest have no script from rest to rest."""
        moves = book.moves[: int(book.counts[b.MOVES])]
        calm = moves[(moves[:, b.MOVE_FROM_REST] != 0) & (moves[:, b.MOVE_TO_REST] != 0)]
        known = set(map(tuple, calm[:, [b.MOVE_SOURCE, b.MOVE_TARGET]].tolist()))
        landed = book.footholds[:, b.LANDED_ON] != 0
        pairs = self.rows[: self._moves, [t.SOURCE, t.TARGET]].tolist()
        found = np.array([tuple(pair) in known for pair in pairs], bool)
        return ~found & self._calm & landed[self.rows[: self._moves, t.SOURCE]]

    def _aim_near(self, book: Book) -> bool:
        """Make targets of what is missing and has none, each from the nearest footholds reached; True if any is new."""
        missing = (book.reach[:, b.REACH_NODE] < 0) & (book.reach[:, b.WANTED] != 0)
        tiles = np.argwhere((book.tile_slot >= 0) & missing[book.tile_slot]).tolist()[:MOST_TILES]
        new = []
        for row, column in tiles:
            for source in self._nearest(book, column, row):
                if self._is_new(source, int(book.tile_slot[row, column])):
                    new.append(self._to_tile(source, column, row))
        places = np.flatnonzero(missing[len(missing) - len(self._terrain.place_ends) :]).tolist()
        first = len(missing) - len(self._terrain.place_ends)
        for place in places:
            at = int(self._terrain.place_column[place]), int(self._terrain.place_row[place])
            for source in self._nearest(book, *at):
                if self._is_new(source, first + place):
                    new.append(self._to_place(source, place))
        self._add(new)
        return bool(new)

    def _is_new(self, source: int, slot: int) -> bool:
        if (source, slot) in self._aimed:
            return False
        self._aimed.add((source, slot))
        self._slots.append(slot)
        return True

    def _nearest(self, book: Book, column: int, row: int) -> list[int]:
        landed = np.flatnonzero(book.footholds[:, b.LANDED_ON])
        across = book.footholds[landed, b.LEFT : b.RIGHT + 1] - column * self._tile
        away = np.maximum(0, np.maximum(across[:, 0], -across[:, 1]))
        away += np.abs(book.footholds[landed, b.ROW] - row) * self._tile
        return landed[np.argsort(away, kind="stable")[:NEAREST_SOURCES]].tolist()

    def _to_foothold(self, source: int, target: int) -> list[int]:
        foothold = self._footholds[target]
        top = foothold.row * self._tile
        return [source, target, foothold.left_spx, foothold.right_spx, top, top]

    def _to_place(self, source: int, place: int) -> list[int]:
        column, row = int(self._terrain.place_column[place]), int(self._terrain.place_row[place])
        left, right = self._over(column)
        top = row * self._tile
        return [source, len(self._footholds) + place, left, right, top + 1, top + self._tile + self._height - 1]

    def _to_tile(self, source: int, column: int, row: int) -> list[int]:
        return [source, -1, *self._over(column), row * self._tile, row * self._tile]

    def _over(self, column: int) -> tuple[int, int]:
        """Return the x interval in which the body overlaps a column."""
        return column * self._tile - self._width + 1, (column + 1) * self._tile - 1

    def _add(self, new: list[list[int]]) -> None:
        rows = np.zeros((len(new), t.TARGET_FIELDS), np.int64)
        if new:
            rows[:, : t.ACTIVE] = new
        rows[:, [t.NEAREST, t.CLOSEST]] = t.FAR
        self.rows = np.concatenate((self.rows, rows))
