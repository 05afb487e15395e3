from itertools import pairwise

import numpy as np

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.workshop.gap_limits import over_limits
from reach.workshop.gap_scripts import Flights
from reach.workshop.one_ledge import ledge_world, on_ledge
from tests.builders import make_motion

T = 16 * 65536
MOTION = make_motion(walk_accel=5000, walk_cap=100000, coyote_ticks=2)


def tri(n: int) -> int:
    return n * (n + 1) // 2


def test_a_script_is_played_from_rest_to_the_tick_that_passes_the_far_top():
    heights = (T, 0, -3 * T)
    flights = Flights(MOTION, heights)
    for index, height in enumerate(heights):
        crossing = flights.widest(index, 20 * T)
        assert crossing is not None
        terrain = ledge_world(20 * T, 10 * T, 20 * T)
        start = on_ledge(terrain, MOTION, 20 * T - crossing.ledge_spx)
        states = [State(*row) for row in run_script(start, crossing.inputs, MOTION, terrain).tolist()]
        level = terrain.tile - height
        feet = [state.y + MOTION.body_h for state in states]
        assert feet[-2] <= level < feet[-1]
        assert states[-1].x + MOTION.body_w - 1 - 20 * T == crossing.gap_spx
        assert states[-1].takeoff == crossing.takeoff_spx_per_tick
        # the far ledge's side is met by none that is below its top
        assert all(a.x < states[-1].x for b, a in pairwise(states) if b.y + MOTION.body_h > level)


def test_the_widest_gap_on_level_ground_is_the_closed_form():
    """Without coyote time: from the last subpixel at full speed, for as many ticks as the jump is in the air.

    Held and let go alike the gravity is 9000 and the launch 260000: n * 260000 - 9000 * n(n-1)/2 < 0 first for n = 59.
    """
    motion = MOTION._replace(coyote_ticks=0, jump_gravity=np.array([9000]))
    n = next(n for n in range(1, 100) if n * 260000 - 9000 * tri(n - 1) < 0)
    crossing = Flights(motion, (0,)).widest(0, 20 * T)
    assert crossing is not None
    assert n == 59
    assert crossing.gap_spx == n * 100000 + motion.body_w - 2
    # 19 ticks of run-up before the takeoff's, which is the twentieth
    assert crossing.ledge_spx == 5000 * tri(19) + 1
    assert crossing.takeoff_spx_per_tick == 100000


def test_coyote_time_adds_its_ticks_at_full_speed():
    crossing = Flights(MOTION, (0,)).widest(0, 20 * T)
    plain = Flights(MOTION._replace(coyote_ticks=0), (0,)).widest(0, 20 * T)
    assert crossing is not None and plain is not None
    # two more ticks, and the fall in them makes the jump that much shorter
    assert plain.gap_spx + 100000 <= crossing.gap_spx <= plain.gap_spx + 2 * 100000


def test_a_shorter_ledge_has_no_room_for_long_run_ups():
    flights = Flights(MOTION, (0,))
    widest = flights.widest(0, 20 * T)
    assert widest is not None
    shorter = flights.widest(0, widest.ledge_spx - 1)
    assert shorter is not None and shorter.gap_spx < widest.gap_spx and shorter.ledge_spx < widest.ledge_spx
    standing = flights.widest(0, 1)
    assert standing is not None and standing.ledge_spx == 1
    assert flights.widest(0, 0) is None
    assert flights.shortest(0, widest.gap_spx).ledge_spx == widest.ledge_spx
    assert flights.shortest(0, standing.gap_spx).ledge_spx == 1
    assert flights.shortest(0, widest.gap_spx + 1) is None


def test_letting_go_soon_goes_farther_where_holding_has_the_stronger_gravity():
    motion = MOTION._replace(jump_gravity_held=np.array([20000]), jump_gravity=np.array([9000]))
    held_only = MOTION._replace(jump_gravity_held=np.array([20000]), jump_gravity=np.array([20000]))
    better, worse = (Flights(each, (0,)).widest(0, 20 * T) for each in (motion, held_only))
    assert better is not None and worse is not None and better.gap_spx > worse.gap_spx


def test_the_highest_step_is_landed_on_and_none_a_subpixel_higher():
    flights = Flights(MOTION, (2 * T,))
    too_high = Flights(MOTION, (flights.step_up_spx + 1,))
    assert (too_high.gaps_spx == -1).all() and too_high.widest(0, 20 * T) is None
    assert Flights(MOTION, (flights.step_up_spx,)).widest(0, 20 * T) is not None


def test_long_run_ups_are_tried_in_some_lengths_only():
    slow = MOTION._replace(walk_accel=50)
    flights = Flights(slow, (0,))
    longest = flights.widest(0, 10_000 * T)
    assert longest is not None and longest.takeoff_spx_per_tick == 100000
    assert len(flights.ledges_spx) < 6000


def test_the_run_button_stays_down_to_the_takeoff():
    """Without run memory a body that lets go of it takes off at a walk."""
    motion = MOTION._replace(has_run=1, run_accel=6000, run_cap=160000, air_cap=np.array([160000]))
    crossing = Flights(motion, (0,)).widest(0, 20 * T)
    assert crossing is not None and crossing.takeoff_spx_per_tick == 160000
    assert over_limits(motion, 20 * T, (0,)).gaps_spx == (crossing.gap_spx,)


def test_hopping_on_is_tried_where_the_air_is_faster():
    motion = MOTION._replace(air_cap=np.array([160000]), coyote_ticks=0)
    crossing = Flights(motion, (0,)).widest(0, 200 * T)
    assert crossing is not None
    # the takeoff's tick on the ground coasts
    assert crossing.takeoff_spx_per_tick == 160000 - motion.coast
    assert over_limits(motion, 40 * T, (0,)).gaps_spx == (crossing.gap_spx,)


def test_takeoff_speeds_between_those_of_a_straight_run_up_are_tried():
    """A jump that is better the faster, but just under a threshold, at which a weaker one begins."""
    motion = MOTION._replace(
        coyote_ticks=0,
        jump_from=np.array([0, 58000]),
        jump_launch=np.array([260000, 100000]),
        jump_gravity_held=np.array([9000, 9000]),
        jump_gravity=np.array([20000, 20000]),
    )
    crossing = Flights(motion, (0,)).widest(0, 20 * T)
    assert crossing is not None
    # 11 ticks of 5000 make 55000 straight on; one without a direction takes 3000 away
    assert crossing.takeoff_spx_per_tick == 57000
