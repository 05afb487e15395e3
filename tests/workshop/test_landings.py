import numpy as np
import pytest

from reach.kernels.params import EMPTY, SOLID, Motion, State, Terrain
from reach.kernels.step import run_script
from reach.movement import load_movement
from reach.workshop.landings import landing_at, measure_landings
from reach.workshop.one_ledge import held
from tests.builders import make_motion
from tests.checkout import ROOT

MOTION = make_motion(body_w=40000, walk_cap=90000, run_accel=9000, run_cap=150000, coast=3000, reverse=9000, drag=100)


def perch(width: int) -> tuple[Terrain, int]:
    """A foothold of so many subpixels over nothing, its top at y = 2 * width, and its left end."""
    left = 1 + 800_000 // width
    material = np.full((2_000_000 // width + 4, left + 1 + 3_000_000 // width), EMPTY, np.uint8)
    material[2, left] = SOLID
    none = np.zeros(0, np.int64)
    return Terrain(width, material, np.zeros(material.shape, np.int64), none, none, none), left * width


def landed(motion: Motion, width: int, speed: int, later_spx: int, then: np.ndarray) -> list[State]:
    """States from the landing on: at the first spot that carries, or so many subpixels later."""
    terrain, left = perch(width)
    x = left - motion.body_w + 1 + later_spx
    start = landing_at(motion, x, 2 * width, speed)
    states = run_script(start, np.concatenate([held(1), then]), motion, terrain)[1:]
    first = State(*states[0].tolist())
    assert first.grounded and first.x == x and first.vx == speed
    return [State(*row) for row in states.tolist()]


@pytest.mark.parametrize("motion", [MOTION, MOTION._replace(coast=20000)], ids=["reversing", "coasting"])
def test_the_narrowest_foothold_stops_the_body_and_one_a_subpixel_narrower_does_not(motion):
    for landing in measure_landings(motion, 3):
        direction = -1 if motion.reverse >= motion.coast else 0
        ticks = -(-landing.speed_spx_per_tick // max(motion.reverse, motion.coast))
        brake = held(ticks, direction)
        for width, later in (
            (landing.stop_spx, 0),
            (landing.stop_in_window_spx, 2 * landing.speed_spx_per_tick),
        ):
            assert width > 1
            stopped = landed(motion, width, landing.speed_spx_per_tick, later, brake)[-1]
            assert stopped.grounded and stopped.vx == 0
            assert not all(s.grounded for s in landed(motion, width - 1, landing.speed_spx_per_tick, later, brake))
        q = landing.speed_spx_per_tick // max(motion.reverse, motion.coast)
        rate = max(motion.reverse, motion.coast)
        # motion model, section 6
        assert landing.braking_spx == q * landing.speed_spx_per_tick - rate * q * (q + 1) // 2


def presses_that_work(motion: Motion, width: int, speed: int) -> int:
    """How many ticks there are, one after another, of which a press in any makes the body jump again."""
    terrain, left = perch(width)
    early = motion.buffer_ticks + 2
    count = 0
    for press in range(30):
        # the body comes down from higher up, so that there is time to press before the landing
        fall = np.arange(1, early + 2)
        drop = int(motion.jump_gravity[0] * fall.sum()) - 1
        x = left - motion.body_w + 1 - (early + 1) * speed
        start = State(x, 2 * width - motion.body_h - drop, speed, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)
        inputs = held(40, 1, run=int(speed > motion.walk_cap))
        inputs[: early + 1, 0] = 0
        inputs[press:, 3] = 1
        states = [State(*row) for row in run_script(start, inputs, motion, terrain).tolist()]
        assert [s.grounded for s in states[: early + 2]] == [0] * (early + 1) + [1]
        count += any(s.held for s in states)
    return count


@pytest.mark.parametrize(("coyote", "buffer"), [(0, 0), (2, 0), (0, 2), (1, 1)])
def test_the_narrowest_foothold_to_jump_on_from_takes_presses_in_all_ticks(coyote, buffer):
    motion = MOTION._replace(coyote_ticks=coyote, buffer_ticks=buffer, drag=0, air_cap=np.array([150000]))
    for ticks in (3, 6):
        for landing in measure_landings(motion, ticks):
            wide = landing.jump_in_window_spx
            # any foothold is enough: a map of subpixels would be too large, and so few more make no difference
            assert presses_that_work(motion, max(wide, 2000), landing.speed_spx_per_tick) >= ticks
            if wide > 1:
                assert presses_that_work(motion, wide - 1, landing.speed_spx_per_tick) < ticks
            assert landing.jump_spx == 1


def test_each_speed_is_told_once():
    names = [landing.name for landing in measure_landings(make_motion(walk_cap=100000, air_cap=100000), 4)]
    assert names == ["walk's top speed"]
    names = [landing.name for landing in measure_landings(MOTION._replace(air_cap=np.array([160000])), 4)]
    assert names == ["walk's top speed", "run's top speed", "top speed in the air"]
    out_of_reach = MOTION._replace(air_cap_from=np.array([0, 150001]), air_cap=np.array([90000, 999999]))
    assert [landing.speed_spx_per_tick for landing in measure_landings(out_of_reach, 4)] == [90000, 150000]


def test_what_never_stops_has_no_figure():
    (landing,) = measure_landings(make_motion(walk_cap=100000, coast=1, reverse=1, air_cap=100000), 4)
    assert landing.braking_spx is None and landing.stop_spx is None and landing.stop_in_window_spx is None


def test_a_fast_landing_of_the_weighty_sample_slides_off_where_a_jump_at_once_does_not():
    """Common practice of the trade for a weighty body."""
    motion = load_movement(ROOT / "sample_levels/movement/lamplighter.json").motion
    fast = measure_landings(motion, 4)[-1]
    assert fast.speed_spx_per_tick == motion.run_cap
    assert fast.jump_in_window_spx < fast.stop_spx
