"""Curves: what the simulator gives for stated buttons, and an envelope that holds every flight and no wider."""

from dataclasses import replace

import numpy as np
import pytest

from reach.kernels.params import EMPTY, State
from reach.kernels.step import run_script
from reach.movement import Movement, load_movement, movement_from_dict
from reach.workshop.curves import BELOW_TILES, RUN_PHASES, VX, Steer, Takeoff, X, Y, measure_curves
from reach.workshop.flat_ground import SIDE_SPX, at_rest, one_column, play_flat
from tests.builders import PX, inputs, make_motion, random_inputs, random_motion
from tests.checkout import ROOT

LAMPLIGHTER = load_movement(ROOT / "sample_levels" / "movement" / "lamplighter.json")
COURIER = load_movement(ROOT / "sample_levels" / "movement" / "courier.json")


def of_motion(motion, tick_rate_hz=60) -> Movement:
    """A profile that is this motion, for what only looks at the motion."""
    return replace(COURIER, motion=motion, tick_rate_hz=tick_rate_hz)


def test_a_phase_lasts_until_its_speed_is_reached_and_a_fifth_of_a_second_more():
    motion = make_motion(walk_accel=2000, walk_cap=9000, coast=3000, reverse=4500, run_accel=1000, run_cap=12000)
    motion = motion._replace(run_memory=4)
    (curves,) = measure_curves([of_motion(motion)], 16)
    # walk 9000/2000; coast 9000/3000; walk; reverse 2 to stand, then 5; coast; run 12000/1000; run let go: 4 ticks of
    # memory, then 3000/3000; coast
    assert curves.phase_ticks == (5, 3, 5, 7, 3, 12, 5, 3)
    ends = [phase.end_s * 60 for phase in curves.phases]
    assert ends == np.cumsum([ticks + 12 for ticks in curves.phase_ticks]).tolist()
    targets = [curves.speed.vx_spx[int(end)] for end in ends]
    assert targets == [9000, 0, 9000, -9000, 0, 12000, 9000, 0]
    assert curves.remarks == ()


def test_the_speed_curve_is_the_simulator_s():
    (curves,) = measure_curves([LAMPLIGHTER], 16)
    assert np.array_equal(curves.speed.vx_spx, play_flat(LAMPLIGHTER.motion, curves.speed.inputs)[:, VX])


def test_profiles_compared_share_the_buttons_and_the_time():
    slow = replace(COURIER, tick_rate_hz=30)
    one, other = measure_curves([LAMPLIGHTER, slow], 16)
    assert one.phases == other.phases
    assert len(one.speed.vx_spx) - 1 == int(one.phases[-1].end_s * 60)
    assert len(other.speed.vx_spx) - 1 == int(one.phases[-1].end_s * 30)
    assert {flight.takeoff for flight in other.arcs} == {Takeoff.STANDING, Takeoff.WALKING}


def test_a_profile_without_a_run_has_no_figures_for_one():
    curves = measure_curves([LAMPLIGHTER, COURIER], 16)
    names = [phase.name for phase in curves[1].phases]
    assert [name for name, ticks in zip(names, curves[1].phase_ticks, strict=True) if ticks is None] == list(RUN_PHASES)
    assert None not in curves[0].phase_ticks


def test_without_any_run_there_is_none_to_see():
    (curves,) = measure_curves([COURIER], 16)
    assert [phase.name for phase in curves.phases] == ["walk", "coast", "walk", "reverse", "coast"]


def test_flights_go_from_the_takeoff_to_the_landing():
    (curves,) = measure_curves([LAMPLIGHTER], 16)
    motion = LAMPLIGHTER.motion
    for flight in (*curves.air, *curves.arcs):
        top = {Takeoff.STANDING: 0, Takeoff.WALKING: motion.walk_cap, Takeoff.RUNNING: motion.run_cap}[flight.takeoff]
        assert flight.takeoff_spx == top
        assert flight.lands
        assert flight.height_spx[0] == flight.height_spx[-1] == 0
        assert (flight.height_spx[1:-1] > 0).all()
        assert flight.vx_spx[1] == top
    run = play_flat(motion, inputs((60, "rR"), (5, "rRj"), (60, "rR")))
    held = next(each for each in measure_curves([LAMPLIGHTER], 16)[0].arcs if each.takeoff is Takeoff.RUNNING)
    assert held.held_ticks == 1
    assert held.height_spx.max() < (at_rest(motion).y - run[:, Y]).max()


def test_holding_longer_jumps_higher():
    (curves,) = measure_curves([LAMPLIGHTER], 16)
    for takeoff in Takeoff:
        arcs = [flight for flight in curves.arcs if flight.takeoff is takeoff]
        assert len(arcs) == 4
        assert np.all(np.diff([flight.held_ticks for flight in arcs]) > 0)
        assert np.all(np.diff([flight.height_spx.max() for flight in arcs]) > 0)
        # the last is held to the landing, and nothing above it can be reached
        assert arcs[-1].height_spx.max() // PX == max(e.height_px[0] for e in curves.envelopes if e.takeoff is takeoff)


def flown(motion, envelope, script):
    """Displacements and heights of one takeoff at this envelope's speed with other buttons after it."""
    first = np.array([[np.sign(envelope.takeoff_spx), 0, int(envelope.takeoff is Takeoff.RUNNING), 1]])
    start = State(
        SIDE_SPX // 2, 0, **(dict.fromkeys(State._fields[2:], 0) | {"vx": envelope.takeoff_spx, "grounded": 1})
    )
    states = run_script(start, np.concatenate([first, script]), motion, one_column(EMPTY, EMPTY))
    return states[1:, X] - start.x, start.y - states[1:, Y]


def holds(envelope, x, height):
    """Whether every position that is not too low for an envelope lies in its row."""
    for at, up in zip(x.tolist(), height.tolist(), strict=True):
        if up <= -BELOW_TILES * 16 * PX:
            continue
        row = np.flatnonzero(envelope.height_px == up // PX)
        if len(row) != 1 or not envelope.left_spx[row[0]] <= at <= envelope.right_spx[row[0]]:
            return False
    return True


@pytest.mark.parametrize("movement", [LAMPLIGHTER, COURIER], ids=lambda movement: movement.name)
def test_no_input_leaves_an_envelope(movement):
    (curves,) = measure_curves([movement], 16)
    rng = np.random.default_rng(5)
    assert curves.envelopes
    for envelope in curves.envelopes:
        for _ in range(60):
            assert holds(envelope, *flown(movement.motion, envelope, random_inputs(rng, 90)))
        x, height = flown(movement.motion, envelope, random_inputs(rng, 90))
        assert not holds(envelope, x + 400 * PX, height)


def test_the_ends_of_an_envelope_are_reached_where_nothing_is_rounded():
    motion = make_motion(jump_gravity_held=9000, jump_gravity=9000, air_cap=60000)
    (curves,) = measure_curves([of_motion(motion)], 16)
    envelope = next(each for each in curves.envelopes if each.takeoff is Takeoff.STANDING)
    x, height = flown(motion, envelope, np.tile([1, 0, 0, 1], (120, 1)))
    seen = height >= -BELOW_TILES * 16 * PX
    assert envelope.right_spx.max() == x[seen].max()
    assert envelope.left_spx.min() == -x[seen].max()
    assert envelope.height_px[0] == height.max() // PX


def test_random_profiles_have_curves_or_say_what_they_lack():
    rng = np.random.default_rng(11)
    for _ in range(12):
        movement = of_motion(random_motion(rng, 16 * PX))
        (curves,) = measure_curves([movement], 16)
        for envelope in curves.envelopes:
            assert np.all(np.diff(envelope.height_px) < 0)
            assert np.all(envelope.left_spx <= envelope.right_spx)
            script = random_inputs(rng, 40)
            assert holds(envelope, *flown(movement.motion, envelope, script))


def test_what_takes_too_long_is_shown_in_part_and_said():
    motion = make_motion(walk_accel=1, jump_gravity_held=1, jump_gravity=1)
    (curves,) = measure_curves([of_motion(motion)], 16)
    assert curves.phase_ticks[0] is None
    assert any("phase 'walk'" in remark for remark in curves.remarks)
    assert any("still in the air" in remark for remark in curves.remarks)
    assert any("envelope of a standing jump is left out" in remark for remark in curves.remarks)
    assert curves.envelopes == ()
    assert all(not flight.lands for flight in curves.arcs if flight.steer is Steer.FORWARD)


def test_a_profile_that_hardly_jumps_has_curves_all_the_same():
    movement = movement_from_dict(
        {
            "format": "reach-movement/1",
            "name": "barge",
            "units": "per_tick",
            "body": {"width_px": 10, "height_px": 10},
            "ground": {
                "walk": {"acceleration": 1, "top_speed": 1},
                "coast_deceleration": 1,
                "reverse_deceleration": 1,
            },
            "jump": {"bands": [{"from_takeoff_speed": 0, "launch_speed": 0, "gravity_held": 1, "gravity": 1}]},
            "fall": {"terminal_speed": 3},
            "air": {"acceleration": 1, "reverse_deceleration": 1, "top_speed": 1},
        }
    )
    (curves,) = measure_curves([movement], 16)
    assert all(flight.height_spx.max() == 0 for flight in curves.arcs)
