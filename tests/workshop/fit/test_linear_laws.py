"""Intervals from rounded rows: the truth is inside, and they are as narrow as the rows make them."""

import numpy as np
import pytest

from reach.workshop.fit.bands import Ref
from reach.workshop.fit.linear_laws import Piece, solve, solve_all

POSITIVE = {"rate": (0.0, np.inf)}


def piece(rate, ticks=30, place=0.0, move=0.0, take=0, **moved):
    n = np.arange(ticks + 1.0)
    position = np.round(place + move * n + rate * n * (n - 1) / 2)
    for row, off in moved.items():
        position[int(row[1:])] += off
    return Piece(position, n, tuple(Ref(take, int(tick)) for tick in n), {"rate": 1.0})


@pytest.mark.parametrize("rate", [0.05, 0.1234, 0.31])
def test_one_piece_holds_the_truth_and_more_narrow_it(rate):
    one = solve([piece(rate)], 1.0, POSITIVE).intervals["rate"]
    many = solve([piece(rate, place=0.1 * n, move=0.07 * n, take=n) for n in range(9)], 1.0, POSITIVE).intervals["rate"]
    assert one[0] <= many[0] <= rate <= many[1] <= one[1]
    # A parabola of N ticks within half a step: the least a second difference over the halves can tell is 8 P / N^2.
    assert one[1] - one[0] <= 2 * 8 / 30**2
    assert many[1] - many[0] < one[1] - one[0]


def test_a_wrong_row_is_left_out_and_named():
    solved = solve([piece(0.1, take=1, r12=7), piece(0.1, take=2)], 1.0, POSITIVE)
    kept, ((ref, off),) = solved.offsets()
    assert ref == Ref(1, 12)
    assert off == pytest.approx(7, abs=1)
    assert solved.intervals["rate"][0] <= 0.1 <= solved.intervals["rate"][1]
    assert all(abs(off) <= 0.5 + 1e-6 for _, off in kept)


def test_two_rates_do_not_pass_for_one():
    mixed = [piece(0.1), piece(0.3, take=1)]
    assert solve(mixed, 1.0, POSITIVE) is None
    assert solve_all([piece(0.1, ticks=40)] * 20 + [piece(0.3, ticks=20)] * 10, 1.0, POSITIVE) is None


def test_nothing_follows_from_nothing():
    assert solve([], 1.0) is None
