"""The numbers that a fit writes."""

from fractions import Fraction

import pytest

from reach.movement import compile_speed
from reach.workshop.fit.outcome import Estimate, Quantity
from reach.workshop.fit.written_profile import read, shortest_decimal, written_number


@pytest.mark.parametrize("px_per_s", [76, 147, 80.5, 0.03])
def test_what_was_declared_is_found_again(px_per_s):
    compiled = compile_speed(Fraction(str(px_per_s)), 60)
    number = written_number(Estimate("", Quantity.SPEED, compiled, compiled, ()), 60)
    assert compile_speed(Fraction(str(number)), 60) == compiled
    assert number == px_per_s or len(str(number)) <= len(str(px_per_s))


def test_the_fewest_digits_win():
    assert str(shortest_decimal(Fraction("0.1149"), Fraction("0.1203"))) == "0.12"
    assert str(shortest_decimal(Fraction(7), Fraction(7))) == "7"


def test_what_may_be_nothing_is_written_as_nothing():
    assert written_number(Estimate("air.drag", Quantity.RATE, 0, 40, ()), 60) == 0


def test_a_plain_number_is_its_first_band():
    data = {"air": {"acceleration": 5, "top_speed": [{"value": 7}]}}
    assert read(data, "air.acceleration[0].value") == 5
    assert read(data, "air.acceleration[1].value") is None
    assert read(data, "air.top_speed[0].value") == 7
    assert read(data, "air.drag") is None
