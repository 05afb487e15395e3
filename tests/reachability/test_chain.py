from dataclasses import replace

import numpy as np
import pytest

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.reachability.chain import chain, stroll
from reach.reachability.footholds import find_footholds
from reach.reachability.passages import FootholdFinder, passages
from tests.builders import inputs, make_motion, make_terrain, standing

MOTION = make_motion(buffer_ticks=3)
ROWS = ["." * 24, "." * 24, "." * 23 + "!", "####...#######...#######"]
JUMP = ((20, "r"), (20, "rj"), (30, "r"), (60, ""))


def made(rows=ROWS, motion=MOTION):
    terrain = make_terrain(rows)
    return FootholdFinder(find_footholds(motion, terrain), motion, terrain), motion, terrain


def legs(finder, motion, terrain):
    first = passages(standing(2, 2, motion, terrain), inputs(*JUMP), finder, motion, terrain)
    second = passages(standing(12, 2, motion, terrain), inputs(*JUMP), finder, motion, terrain)
    third = passages(standing(18, 2, motion, terrain), inputs((300, "r")), finder, motion, terrain)
    return [first, second, third]


def test_legs_are_chained_into_one_script_that_replays_to_the_end():
    finder, motion, terrain = made()
    wanted = legs(finder, motion, terrain)
    assert [(leg.source, leg.target, leg.place) for (leg,) in wanted] == [(0, 1, None), (1, 2, None), (2, None, 0)]
    start = standing(0, 2, motion, terrain)
    whole = chain(start, wanted, finder, motion, terrain)
    assert run_script(start, whole, motion, terrain)[-1, 12] == 1
    again = passages(start, whole, finder, motion, terrain)
    assert [(leg.source, leg.target, leg.place) for leg in again] == [(0, 1, None), (1, 2, None), (2, None, 0)]


def test_no_legs_make_an_empty_script():
    finder, motion, terrain = made()
    assert chain(standing(0, 2, motion, terrain), [], finder, motion, terrain).shape == (0, 4)


def test_a_leg_that_begins_on_another_foothold_is_not_chained():
    finder, motion, terrain = made()
    assert chain(standing(0, 2, motion, terrain), legs(finder, motion, terrain)[1:], finder, motion, terrain) is None


@pytest.mark.parametrize("target_px", [0, 3, 17.25, 40, 51.99])
@pytest.mark.parametrize("from_px", [0, 30, 52])
def test_a_stroll_ends_at_rest_within_one_push_of_its_target(target_px, from_px):
    finder, motion, terrain = made()
    start = standing(0, 2, motion, terrain)._replace(x=int(from_px * 65536))
    target = int(target_px * 65536)
    states = run_script(start, stroll(start, target, finder, motion, terrain), motion, terrain)
    assert states[-1, 2] == 0 and states[-1, 4] == 1
    one_push = motion.walk_accel + sum(range(motion.walk_accel % motion.coast, motion.walk_accel, motion.coast))
    assert abs(int(states[-1, 0]) - target) < one_push
    low, high = sorted((start.x, target))
    assert (low <= states[:, 0]).all() and (states[:, 0] <= high).all()


def test_a_stroll_forgets_every_button_first():
    finder, motion, terrain = made(motion=make_motion(buffer_ticks=3, run_cap=200000, run_memory=5))
    start = standing(1, 2, motion, terrain, jump_was_down=1, run_memory=4)
    walk = stroll(start, start.x, finder, motion, terrain)
    end = State(*run_script(start, walk, motion, terrain)[-1].tolist())
    assert (end.jump_was_down, end.run_memory) == (0, 0) and len(walk) == 4


def test_a_body_in_the_air_cannot_stroll():
    finder, motion, terrain = made()
    start = standing(0, 1, motion, terrain, grounded=0)
    assert stroll(start, start.x, finder, motion, terrain) is None


def test_a_stroll_that_would_leave_its_foothold_stays_on_it():
    finder, motion, terrain = made()
    start = standing(0, 2, motion, terrain)
    walk = stroll(start, 200 << 16, finder, motion, terrain)
    states = run_script(start, walk, motion, terrain)
    assert (states[:, 4] == 1).all() and np.diff(states[:, 0]).min() >= 0


def test_the_first_way_of_a_leg_that_works_is_taken():
    finder, motion, terrain = made()
    first, second, third = legs(finder, motion, terrain)
    start = standing(0, 2, motion, terrain)
    broken = replace(first[0], inputs=first[0].inputs[:20])
    whole = chain(start, [[broken, *first], second, third], finder, motion, terrain)
    assert (whole == chain(start, [first, second, third], finder, motion, terrain)).all()
    assert chain(start, [[broken], second, third], finder, motion, terrain) is None
