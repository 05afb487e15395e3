"""The exploration on tiny worlds, one or more for each of its rules, on both sides of the last subpixel that works."""

from __future__ import annotations

import pytest

from tests.exhaustive import every_state
from tests.explorations import explored
from tests.micro_maps import MICRO_MAPS, MicroMap, Scene, coarse_steps, perch


def is_claimed(scene: Scene) -> bool:
    """Whether the superset has the target."""
    column, row = scene.target
    return bool(explored(scene).carried[row, column])


def is_reached(scene: Scene) -> bool:
    """Whether some input leads to the target."""
    found = every_state(scene.motion, scene.terrain, scene.start)
    assert found.ended
    return scene.target in found.tiles


SIDES = [
    pytest.param(made, n, expected, id=f"rule {made.rule}: {made.name}({n})")
    for made in MICRO_MAPS
    for n, expected in ((made.works, True), (made.fails, False))
    if n is not None
]


@pytest.mark.small
@pytest.mark.parametrize(("made", "n", "expected"), SIDES)
def test_a_limit_is_met_to_the_subpixel(made: MicroMap, n: int, expected: bool) -> None:
    scene = made.make(n)
    for each in (scene, scene.mirrored()):
        assert is_claimed(each) == expected


@pytest.mark.parametrize(("made", "n", "expected"), SIDES)
def test_an_exhaustive_search_sees_the_same_limit(made: MicroMap, n: int, expected: bool) -> None:
    scene = made.make(n)
    assert is_reached(scene) == expected


def test_limits_are_one_subpixel_apart() -> None:
    for made in MICRO_MAPS:
        if made.works is not None and made.fails is not None:
            assert abs(made.works - made.fails) == 1


def test_every_rule_has_a_world() -> None:
    assert {made.rule for made in MICRO_MAPS} >= {1, 2, 3, 4, 5, 6, 7, 8, 10, 11}


def test_a_cut_may_add_less_than_a_subpixel_to_a_speed() -> None:
    """With 22 spots a speed between 6 and 7 is cut at the perch's end: rounded up, it takes off at 8."""
    assert [is_reached(perch(n, body_w=7)) for n in (7, 8, 9)] == [True, False, False]
    assert [is_claimed(perch(n, body_w=7)) for n in (7, 8, 9)] == [True, True, False]


def test_rest_anywhere_may_claim_what_lies_between_coarse_steps() -> None:
    """Steps of 4 from a wall at 0 miss 34, the one spot above a hole as wide as the body; none wider is let through."""
    assert [is_reached(coarse_steps(n)) for n in (17, 18)] == [False, False]
    assert [is_claimed(coarse_steps(n)) for n in (17, 18)] == [True, False]
