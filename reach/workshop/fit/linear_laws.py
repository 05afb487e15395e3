"""Guaranteed intervals of speeds and rates from rounded positions, by linear programming.

While one rule acts unclamped, the position after n ticks is x0 + u*n + r*n(n-1)/2: linear in the place x0, the first
tick's move u and the rate r. A row rounded to P says that the true position is within P/2 of it. So each row is a pair
of linear constraints, and the least and greatest value that they allow is a value's guaranteed interval.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from reach.workshop.fit.bands import Ref

MAX_PIECES = 16
"""So many pieces share one programme, the longest; any part of the constraints gives a valid, if wider, interval."""
_SLACK = 1e-6
"""Of the rounding: room for the solver's own tolerance."""
_WRONG_SHARE = 0.03
"""At most this share of the rows may be left out as wrong."""
_STRANGE_SHARE = 0.1
"""At most this share of the pieces may disagree with the rest."""

Interval = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Piece:
    """Rows under one unclamped rule.

    `position` (px) stands after `tick` ticks, counted from the piece's first row. `first_move` and `rate` are sums of
    shared values by name; without `first_move` the first move is the piece's own. `before` bounds the move in the tick
    before the piece, px.
    """

    position: np.ndarray
    tick: np.ndarray
    refs: tuple[Ref, ...]
    rate: Mapping[str, float]
    first_move: Mapping[str, float] | None = None
    before: Interval = (-np.inf, np.inf)


Offsets = tuple[tuple[Ref, float], ...]


def _none() -> tuple[Offsets, Offsets]:
    return (), ()


@dataclass(frozen=True, eq=False)
class Solved:
    """Intervals by name, in px a tick (a tick), and the ticks they rest on."""

    intervals: Mapping[str, Interval]
    refs: tuple[Ref, ...]
    told: Callable[[], tuple[Offsets, Offsets]] = _none

    def offsets(self) -> tuple[Offsets, Offsets]:
        """How far (px) each row lies from the values in the middle of what is possible; the same of those left out."""
        return self.told()


def solve(pieces: Sequence[Piece], rounding_px: float, known: Mapping[str, Interval] | None = None) -> Solved | None:
    """Return the guaranteed intervals of all shared values, None where no values satisfy nearly all rows.

    Parameters
    ----------
    pieces : sequence of Piece
    rounding_px : float
        What positions are rounded to.
    known : mapping, optional
        Intervals that shared values are known to lie in.

    Notes
    -----
    Solved with HiGHS through scipy. Where the rows contradict each other, those that must move in the solution with the
    least sum of moves are left out, if they are few.
    """
    chosen = sorted(pieces, key=lambda piece: -len(piece.tick))[:MAX_PIECES]
    if not chosen:
        return None
    wrong: set[tuple[int, int]] = set()
    programme = whole = _Programme(chosen, rounding_px, known or {})
    intervals = programme.intervals()
    if intervals is None and any(np.isfinite(piece.before).any() for piece in chosen):
        # Other arithmetic than the model's may change speed by half a step in a rule's first tick.
        chosen = [replace(piece, before=(-np.inf, np.inf)) for piece in chosen]
        programme = whole = _Programme(chosen, rounding_px, known or {})
        intervals = programme.intervals()
    if intervals is None:
        bad = programme.violations()
        if bad is None or len(bad) > _wrong_allowed(chosen):
            return None
        wrong = set(bad)
        programme = _Programme(chosen, rounding_px, known or {}, wrong)
        intervals = programme.intervals()
        if intervals is None:
            return None
    kept = {
        ref for number, piece in enumerate(chosen) for row, ref in enumerate(piece.refs) if (number, row) not in wrong
    }

    def told() -> tuple[Offsets, Offsets]:
        offsets = [(row, chosen[row[0]].refs[row[1]], off) for row, off in whole.offsets(programme.middle()).items()]
        right = sorted((ref, off) for row, ref, off in offsets if row not in wrong)
        return tuple(right), tuple(sorted((ref, off) for row, ref, off in offsets if row in wrong))

    return Solved(intervals, tuple(sorted(kept)), told)


def agrees(piece: Piece, rounding_px: float, known: Mapping[str, Interval]) -> bool:
    """Whether some values within the intervals explain nearly all rows of a piece, as in `solve`."""
    quick = _quickly(piece, rounding_px, known)
    if quick is not None:
        return quick
    for own in (piece, replace(piece, before=(-np.inf, np.inf))):
        programme = _Programme([own], rounding_px, known)
        if programme.feasible():
            return True
    bad = programme.violations()
    return bad is not None and len(bad) <= _wrong_allowed([piece])


def _quickly(piece: Piece, rounding_px: float, known: Mapping[str, Interval]) -> bool | None:
    """What a few sums tell of `agrees`, None where they do not: it asks which places the rows leave to begin at."""
    if piece.first_move is None or np.isfinite(piece.before).any():
        return None
    shares: dict[str, np.ndarray] = {}
    for law, times in ((piece.first_move, piece.tick), (piece.rate, piece.tick * (piece.tick - 1) / 2)):
        for name, factor in law.items():
            shares[name] = shares.get(name, 0.0) + factor * times
    if not all(name in known and np.isfinite(known[name]).all() for name in shares):
        return None
    ends = [np.sort([share * known[name][0], share * known[name][1]], axis=0) for name, share in shares.items()]
    low, high = np.sum(ends, axis=0)
    half = rounding_px / 2
    middle = piece.position - (low + high) / 2
    if middle.max() - middle.min() <= rounding_px:
        return True
    # Whichever rows are left out as wrong, the others' places to begin at must meet.
    left_out = min(int(_wrong_allowed([piece])), len(piece.tick) - 1)
    least = np.sort(piece.position - high - half)[-1 - left_out]
    most = np.sort(piece.position - low + half)[left_out]
    return False if least - most > _SLACK * rounding_px * 2 else None


def _wrong_allowed(pieces: Sequence[Piece]) -> float:
    return max(1.0, _WRONG_SHARE * sum(len(piece.tick) for piece in pieces))


def solve_all(
    pieces: Sequence[Piece], rounding_px: float, known: Mapping[str, Interval] | None = None
) -> Solved | None:
    """As `solve`, but None too where the pieces beyond those in the programme do not agree with it."""
    solved = solve(pieces, rounding_px, known)
    if solved is None:
        return None
    strange = sum(not agrees(piece, rounding_px, solved.intervals) for piece in pieces)
    return solved if strange <= _STRANGE_SHARE * len(pieces) else None


class _Programme:
    """The constraints of some pieces as matrix and bounds; columns are the shared values, then each piece's own."""

    def __init__(
        self,
        pieces: Sequence[Piece],
        rounding_px: float,
        known: Mapping[str, Interval],
        without: Collection[tuple[int, int]] = (),
    ) -> None:
        names = sorted({name for piece in pieces for name in (*piece.rate, *(piece.first_move or ()))})
        self.names = {name: number for number, name in enumerate(names)}
        width = len(names) + sum(1 if piece.first_move is not None else 2 for piece in pieces)
        blocks, bounds = [], []
        self.rows: list[tuple[int, int] | None] = []
        column = len(names)
        half = rounding_px / 2 * (1 + _SLACK)
        for number, piece in enumerate(pieces):
            count = len(piece.tick)
            origin = piece.position[0]
            block = np.zeros((count, width))
            block[:, column] = 1.0
            move = np.zeros(width)
            if piece.first_move is None:
                move[column + 1] = 1.0
            else:
                for name, factor in piece.first_move.items():
                    move[self.names[name]] = factor
            rate = np.zeros(width)
            for name, factor in piece.rate.items():
                rate[self.names[name]] = factor
            block += np.outer(piece.tick, move) + np.outer(piece.tick * (piece.tick - 1) / 2, rate)
            seen = piece.position - origin
            kept = [row for row in range(count) if (number, row) not in without]
            blocks += [block[kept], -block[kept]]
            bounds += [(seen + half)[kept], (half - seen)[kept]]
            self.rows += [(number, row) for row in kept] * 2
            for sign, limit in ((1.0, piece.before[1]), (-1.0, -piece.before[0])):
                if np.isfinite(limit):
                    blocks.append((sign * (move - rate))[None, :])
                    bounds.append(np.array([limit + _SLACK * rounding_px]))
                    self.rows.append(None)
            column += 1 if piece.first_move is not None else 2
        self.matrix = np.concatenate(blocks)
        self.bound = np.concatenate(bounds)
        self.limits: list[tuple[float | None, float | None]] = [(None, None)] * width
        for name, (low, high) in known.items():
            if name in self.names:
                self.limits[self.names[name]] = (low, high if np.isfinite(high) else None)

    def intervals(self) -> dict[str, Interval] | None:
        """The least and greatest value of every shared value; None where the constraints contradict each other."""
        found: dict[str, Interval] = {}
        for name, number in self.names.items():
            ends = []
            for sign in (1.0, -1.0):
                cost = np.zeros(self.matrix.shape[1])
                cost[number] = sign
                result = _minimum(cost, self.matrix, self.bound, self.limits)
                if result.status == 2:
                    return None
                ends.append(sign * result.fun if result.status == 0 else -sign * np.inf)
            found[name] = (min(ends), max(ends))
        return found

    def feasible(self) -> bool:
        """Whether the constraints do not contradict each other."""
        return bool(_minimum(np.zeros(self.matrix.shape[1]), self.matrix, self.bound, self.limits).status == 0)

    def middle(self) -> np.ndarray:
        """The solution that lies farthest from all rows' limits."""
        rows = np.array([[0.0 if row is None else 1.0] for row in self.rows])
        width = self.matrix.shape[1]
        result = _minimum(
            np.concatenate([np.zeros(width), [-1.0]]),
            np.hstack([self.matrix, rows]),
            self.bound,
            [*self.limits, (0.0, None)],
        )
        return result.x[:width] if result.status == 0 else np.zeros(width)

    def offsets(self, solution: np.ndarray) -> dict[tuple[int, int], float]:
        """How far each row lies from a solution, px."""
        room = self.bound - self.matrix @ solution
        limits: dict[tuple[int, int], list[float]] = {}
        for row, left in zip(self.rows, room.tolist(), strict=True):
            if row is not None:
                limits.setdefault(row, []).append(left)
        # The room above and below a row adds up to the rounding; half their difference is the distance.
        return {row: (above - below) / 2 for row, (above, below) in limits.items()}

    def violations(self) -> list[tuple[int, int]] | None:
        """The rows (piece, row) that move where the moves' sum is least."""
        movable = [number for number, row in enumerate(self.rows) if row is not None]
        slack = np.zeros((len(self.rows), len(movable)))
        slack[movable, np.arange(len(movable))] = -1.0
        width = self.matrix.shape[1]
        cost = np.concatenate([np.zeros(width), np.ones(len(movable))])
        limits = [*self.limits, *([(0.0, None)] * len(movable))]
        result = _minimum(cost, np.hstack([self.matrix, slack]), self.bound, limits)
        if result.status != 0:
            return None
        moved = np.flatnonzero(result.x[width:] > 1e-7)
        return sorted({row for number in moved if (row := self.rows[movable[number]]) is not None})


def possible(law: np.ndarray, position: np.ndarray, limits: Sequence[Any], rounding_px: float) -> bool:
    """Whether some values within their limits explain all rows; `law` has one row a position, one column a value."""
    seen = position - position[0]
    half = rounding_px / 2 * (1 + _SLACK)
    bound = np.concatenate([seen + half, half - seen])
    return bool(_minimum(np.zeros(law.shape[1]), np.concatenate([law, -law]), bound, limits).status == 0)


def _minimum(cost: np.ndarray, matrix: np.ndarray, bound: np.ndarray, limits: Sequence[Any]) -> Any:
    from scipy.optimize import linprog

    return linprog(cost, A_ub=matrix, b_ub=bound, bounds=limits, method="highs")
