"""The data other tests break is good as it is."""

import pytest

from reach.errors import InputError, Problem
from reach.level import level_from_dict
from reach.movement import movement_from_dict
from reach.script import script_from_dict
from tests.made_files import level_data, movement_data, refused, script_data


def test_the_unchanged_data_are_good():
    assert level_from_dict(level_data()).name == "Quay"
    assert movement_from_dict(movement_data()).name == "lamplighter"
    assert script_from_dict(script_data()).ticks == 21


def test_changes_reach_their_place():
    assert "name" not in level_data(name=None)
    assert movement_data(air__top_speed__1__value=7)["air"]["top_speed"][1] == {"from_takeoff_speed": 90, "value": 7}
    assert "run" not in movement_data(ground__run=None)["ground"]


def test_refused_gives_the_problems_and_insists_on_them():
    def raises(problem):
        raise InputError([problem])

    assert refused(raises, Problem("a", "b", "c", "d")) == [("b", "c", "d")]
    with pytest.raises(AssertionError):
        refused(raises, Problem("a", "b", "", "d"))
    with pytest.raises(pytest.fail.Exception):
        refused(level_from_dict, level_data())
