import numpy as np

from reach.kernels.params import State
from reach.kernels.step import step
from reach.movement import MAX_PX_PER_TICK
from reach.script import MAX_TICKS
from reach.workshop.flat_ground import SIDE_SPX, at_rest, flat_ground, play_flat
from tests.builders import PX, inputs, make_motion, press


def test_the_body_at_rest_stays_where_it_is():
    motion = make_motion()
    rest = at_rest(motion)
    assert State(*step(rest, press(), motion, flat_ground())) == rest


def test_no_script_is_long_enough_to_leave_it():
    assert MAX_TICKS * MAX_PX_PER_TICK * PX < SIDE_SPX // 2


def test_a_script_is_played_from_rest_or_from_a_state():
    motion = make_motion()
    whole = play_flat(motion, inputs((20, "r"), (30, "rj")))
    half = play_flat(motion, inputs((20, "r")))
    rest = play_flat(motion, inputs((30, "rj")), State(*half[-1].tolist()))
    assert np.array_equal(whole[20:], rest)
    assert whole.shape == (51, len(State._fields))
