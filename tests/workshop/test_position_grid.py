"""Telling rounding from a character's own arithmetic, on simulated walks of every sample profile."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from reach.kernels.params import State, Terrain
from reach.kernels.step import run_script
from reach.movement import load_movement
from reach.workshop.position_grid import find_grid, given_grid
from tests.checkout import ROOT

TILE = 16 * 65536


def walk(name):
    """Positions (spx) of 1200 ticks of random play on one long floor."""
    motion = load_movement(ROOT / f"sample_levels/movement/{name}.json").motion
    material = np.zeros((20, 600), np.uint8)
    material[19] = 1
    nothing = np.zeros(0, np.int64)
    terrain = Terrain(TILE, material, np.zeros((20, 600), np.int64), nothing, nothing, nothing)
    start = State(TILE * 300, 19 * TILE - motion.body_h, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0)
    rng = np.random.default_rng(7)
    choices = np.stack([rng.integers(-1, 2, 60), np.zeros(60, int), rng.integers(0, 2, 60), rng.integers(0, 2, 60)], 1)
    return run_script(start, np.repeat(choices, 20, axis=0), motion, terrain)[1:, :2]


def found(positions, step):
    """The grid found in positions rounded to `step` px (0: not at all)."""
    values = [[Fraction(int(spx), 65536) for spx in column] for column in positions.T]
    if step:
        values = [[round(value / step) * step for value in column] for column in values]
    columns = [[Decimal(v.numerator) / Decimal(v.denominator) for v in column] for column in values]
    ticks = np.arange(len(positions))
    return find_grid(*columns, [ticks], [(0, len(ticks))])


@pytest.mark.parametrize("name", ["lamplighter", "courier", "ferryman"])
def test_rounding_is_told_from_the_characters_own_arithmetic(name):
    positions = walk(name)
    assert found(positions, 0).rounding_px == 0
    for step in (Fraction(1), Fraction(1, 2), Fraction(1, 10), Fraction(1, 100), Fraction(1, 1000)):
        assert found(positions, step).rounding_px == step


def test_a_character_that_counts_in_sixteenths_is_exact_on_sixteenths():
    grid = found(walk("ferryman"), Fraction(1, 16))
    assert grid.rounding_px == 0
    assert grid.said == "exact: multiples of 1/16 px, and rates of change do not flicker"
    assert found(walk("courier"), Fraction(1, 16)).rounding_px == Fraction(1, 16)


def test_a_take_may_be_shifted():
    """Whole pixels beside a half: steps count, not positions."""
    xs = [Decimal(str(round(0.7 * t * t) + 0.5)) for t in range(12)]
    grid = find_grid(xs, [Decimal(0)] * 12, [np.arange(12)], [(0, 12)])
    assert grid.rounding_px == 1
    assert grid.spx(xs[:2]).tolist() == [32768, 98304]


def test_a_body_that_never_moves_tells_nothing():
    grid = find_grid([Decimal(3)] * 4, [Decimal(2)] * 4, [np.arange(4)], [(0, 4)])
    assert (grid.rounding_px, grid.said) == (0, "taken as exact: no position differs from the first")


def test_what_is_told_is_held_against_the_positions():
    xs = [Decimal("0.5"), Decimal("1.5"), Decimal("1.75")]
    grid = given_grid(Fraction(1), xs, [Decimal(0)] * 3, [(0, 3)])
    assert grid.misfits == [(2, "x_px")]
    assert given_grid(Fraction(1, 4), xs, [Decimal(0)] * 3, [(0, 3)]).misfits == []
