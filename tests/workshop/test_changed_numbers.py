"""Profiles with one number changed: that one only, and told in the units of the file."""

import numpy as np
import pytest

from reach.kernels.params import Motion
from reach.movement import load_movement
from reach.workshop.changed_numbers import counts, quantities
from tests.checkout import ROOT

LAMPLIGHTER, COURIER, FERRYMAN = (
    load_movement(ROOT / "sample_levels" / "movement" / f"{name}.json")
    for name in ("lamplighter", "courier", "ferryman")
)


def changed_fields(one, other):
    return {name for name in Motion._fields if not np.array_equal(getattr(one, name), getattr(other, name))}


@pytest.mark.parametrize("movement", [LAMPLIGHTER, COURIER, FERRYMAN], ids=lambda movement: movement.name)
def test_only_the_named_fields_change(movement):
    for quantity in quantities(movement):
        at = quantity.most / 3 if quantity.is_value else 1.25
        assert changed_fields(quantity.changed(at), movement.motion) <= set(quantity.fields)
        assert changed_fields(quantity.changed(at), movement.motion)
        if not quantity.is_value:
            assert changed_fields(quantity.changed(1.0), movement.motion) == set()
    for name, said, motion in counts(movement.motion):
        assert changed_fields(motion, movement.motion), (name, said)


def test_what_a_profile_lacks_is_offered_and_what_it_has_not_is_not():
    names = {movement.name: {quantity.id for quantity in quantities(movement)} for movement in (LAMPLIGHTER, COURIER)}
    assert "run-top-speed" in names["lamplighter"] - names["courier"]
    fields = {each.id: each for each in quantities(LAMPLIGHTER)}
    assert fields["drag"].is_value
    assert fields["cut-speed"].is_value
    assert not {each.id: each for each in quantities(COURIER)}["drag"].is_value


def test_a_change_is_told_in_the_units_of_the_file():
    (walk,) = (each for each in quantities(LAMPLIGHTER) if each.id == "walk-top-speed")
    assert walk.said(1.1) == "the walk's top speed is 10 % higher (83.5995 px/s instead of 75.9998 px/s)"
    (coast,) = (each for each in quantities(FERRYMAN) if each.id == "coasting")
    assert coast.said(0.5) == "the coasting deceleration is 50 % lower (0.0625 px/tick^2 instead of 0.125 px/tick^2)"
    (gravity,) = (each for each in quantities(LAMPLIGHTER) if each.id == "gravity")
    assert gravity.said(1.03) == "gravity is 3 % higher"
    (drag,) = (each for each in quantities(LAMPLIGHTER) if each.id == "drag")
    assert drag.said(65536 / 3600) == "speed fades in the air (drag), by 1 px/s^2"
