"""What the positions of a recording are multiples of: is it rounding, or the character's own arithmetic?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Context, Decimal
from fractions import Fraction

import numpy as np

from reach.movement import SPX_PER_PX, decimal_text

NOISE_DECIMALS = 5
"""Positions off the subpixel grid with at least so many decimals are taken for printed floating-point numbers."""
_FLOAT_BITS = 23
"""Bits of a single-precision fraction (IEEE 754)."""
_FLICKER = 4
"""Rounding moves a change of speed by up to 2 steps, so two of them by up to 4 against each other."""
_EXACT = Context(prec=200)


@dataclass(frozen=True)
class Grid:
    """`rounding_px` is 0 for exact positions; `said` tells in words how it is known.

    `whole` tells that every position is a whole number of subpixels. `misfits` are the (row, column) of positions that
    are no multiples of what was given, counted from the first row of their take.
    """

    rounding_px: Fraction
    said: str
    whole: bool
    misfits: list[tuple[int, str]] = field(default_factory=list)

    def spx(self, values: Sequence[Decimal]) -> np.ndarray:
        """Positions in subpixels: int64 where all of the recording's are whole, else float64."""
        scaled = [_EXACT.multiply(value, Decimal(SPX_PER_PX)) for value in values]
        if self.whole:
            return np.array([int(value) for value in scaled], np.int64)
        return np.array([float(value) for value in scaled], np.float64)


def find_grid(
    xs: Sequence[Decimal], ys: Sequence[Decimal], ticks: Sequence[np.ndarray], spans: Sequence[tuple[int, int]]
) -> Grid:
    """Find out what positions are multiples of and whether they were rounded to it.

    Parameters
    ----------
    xs, ys : sequence of Decimal
        px.
    ticks : sequence of int64 arrays
        One a take.
    spans : sequence of (int, int)
        The first row of each take, and the row after its last.

    Notes
    -----
    Rates of change are constant for ticks on end in a character's own arithmetic. Rounding makes them flicker by one
    step, however small: with that, a grid of rounding is told from a grid of the character's own.
    """
    decimals = max(0, *(-int(value.as_tuple().exponent) for value in (*xs, *ys)))
    scale = 10**decimals
    units = [np.array([int(_EXACT.multiply(v, Decimal(scale))) for v in axis], object) for axis in (xs, ys)]
    rises = (int(axis[row] - axis[begin]) for axis in units for begin, end in spans for row in range(begin, end))
    step = math.gcd(*rises)
    whole = all(int(value) * SPX_PER_PX % scale == 0 for axis in units for value in axis)
    if step == 0:
        return Grid(Fraction(0), "taken as exact: no position differs from the first", whole)
    step_px = Fraction(step, scale)
    if not whole and decimals >= NOISE_DECIMALS:
        largest = max(abs(float(v)) for axis in (xs, ys) for v in axis)
        exponent = max(-16, math.frexp(largest)[1] - 1 - _FLOAT_BITS)
        noise = Fraction(2) ** exponent
        said = f"read as floating-point numbers, good to {noise.numerator}/{noise.denominator} px"
        return Grid(noise, said, whole)
    steady, flicker = 0, 0
    for axis in units:
        for take_ticks, (begin, end) in zip(ticks, spans, strict=True):
            counted = _steadiness(axis[begin:end] // step if end > begin else axis[begin:end], take_ticks)
            steady, flicker = steady + counted[0], flicker + counted[1]
    name = _px(step_px)
    if whole and (steady > 2 * flicker or (steady == flicker == 0 and step_px <= Fraction(1, 256))):
        return Grid(Fraction(0), f"exact: multiples of {name}, and rates of change do not flicker", whole)
    return Grid(step_px, f"rounded to {name}: all are multiples of it, and rates of change flicker", whole)


def given_grid(
    rounded_px: Fraction, xs: Sequence[Decimal], ys: Sequence[Decimal], spans: Sequence[tuple[int, int]]
) -> Grid:
    """Return the grid that the user tells, with the positions that are not on it; 0 stands for exact positions."""
    whole = all(Fraction(value) * SPX_PER_PX % 1 == 0 for axis in (xs, ys) for value in axis)
    step = rounded_px or Fraction(1, SPX_PER_PX)
    misfits = [
        (row, column)
        for column, axis in (("x_px", xs), ("y_px", ys))
        for begin, end in spans
        for row in range(begin, end)
        if (Fraction(axis[row]) - Fraction(axis[begin])) % step
    ]
    if rounded_px == 0:
        return Grid(Fraction(0), "exact, as told", whole, misfits)
    return Grid(rounded_px, f"rounded to {_px(rounded_px)}, as told", whole, misfits)


def _steadiness(values: np.ndarray, ticks: np.ndarray) -> tuple[int, int]:
    """How often a change of speed is followed by the same, and how often by nearly the same, where neither is 0."""
    positions = values.astype(np.int64) if len(values) else np.zeros(0, np.int64)
    joined = np.diff(ticks) == 1
    change = np.diff(positions, 2)
    known = joined[1:] & joined[:-1]
    pair = known[1:] & known[:-1] & (change[1:] != 0) & (change[:-1] != 0)
    apart = np.abs(change[1:] - change[:-1])
    return int((pair & (apart == 0)).sum()), int((pair & (apart > 0) & (apart <= _FLICKER)).sum())


def _px(value: Fraction) -> str:
    if value.denominator & (value.denominator - 1) == 0 and value.denominator > 8:
        return f"{value.numerator}/{value.denominator} px"
    return f"{decimal_text(value)} px"
