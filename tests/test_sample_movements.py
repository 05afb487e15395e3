"""What the trade knows of a weighty movement, asked of our weighty sample profile.

The properties are common practice: they are what people who make such games say of how a heavy body should move. Where
the sample was tuned otherwise on purpose, a profile made from it for the test has the property.
"""

import json

import numpy as np
import pytest

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.movement import load_movement, movement_from_dict
from reach.workshop.flat_ground import SIDE_SPX, at_rest, play_flat
from tests.builders import PX, TILE, inputs, make_state, make_terrain
from tests.checkout import ROOT

FILE = ROOT / "sample_levels" / "movement" / "lamplighter.json"
LAMPLIGHTER = load_movement(FILE)
MOTION = LAMPLIGHTER.motion
X, Y, VX, VY, GROUNDED, TAKEOFF = (State._fields.index(name) for name in ("x", "y", "vx", "vy", "grounded", "takeoff"))


def tuned(**ground):
    """The sample with other numbers on the ground."""
    data = json.loads(FILE.read_text(encoding="utf-8"))
    memory = ground.pop("memory_ticks", None)
    data["ground"] |= ground
    if memory is not None:
        data["ground"]["run"]["memory_ticks"] = memory
    return movement_from_dict(data).motion


def ticks_until(states, column, value):
    return int(np.flatnonzero(states[:, column] == value)[0])


def at_top_speed(motion, run):
    """The body at the top speed of its walk or run."""
    states = play_flat(motion, inputs((120, "rR" if run else "r")))
    assert states[-1, VX] == (motion.run_cap if run else motion.walk_cap)
    return State(*states[-1].tolist())


def jump_from(motion, start, *steps):
    """States of a jump, up to its landing."""
    states = play_flat(motion, inputs(*steps), start)
    return states[: ticks_until(states[1:], GROUNDED, 1) + 2]


def height(states):
    return int((states[0, Y] - states[:, Y]).max())


def test_attack_and_release_of_a_walk_can_be_equal():
    """Common practice: speeding up and slowing down take equally long. The sample releases sooner."""
    data = json.loads(FILE.read_text(encoding="utf-8"))
    for motion, equal in ((tuned(coast_deceleration=data["ground"]["walk"]["acceleration"]), True), (MOTION, False)):
        attack = play_flat(motion, inputs((60, "r")))
        release = play_flat(motion, inputs((60, "")), at_top_speed(motion, run=False))
        took = ticks_until(attack, VX, motion.walk_cap), ticks_until(release, VX, 0)
        assert (took[0] == took[1]) == equal
        if equal:
            # tick by tick, what the attack lacks to the top speed is what the release has left
            assert (motion.walk_cap - attack[:, VX]).tolist() == release[:, VX].tolist()
        else:
            assert took == (23, 18)


@pytest.mark.parametrize("run", [False, True])
def test_reversing_brakes_faster_than_coasting(run):
    """Common practice: pressing against the motion is asked for and must be answered sooner than letting go."""
    start = at_top_speed(MOTION, run)
    coasting, reversing = (play_flat(MOTION, inputs((120, held)), start) for held in ("", "l"))
    stop, turn = ticks_until(coasting, VX, 0), ticks_until(reversing, VX, 0)
    assert turn * 3 < stop * 2
    assert reversing[turn, X] - start.x < coasting[stop, X] - start.x


@pytest.mark.parametrize("memory", [7, 8, 10])
def test_a_run_keeps_its_top_speed_for_its_memory(memory):
    """Common practice: the run button is also needed for something else, and letting it go must not spoil a jump."""
    motion = MOTION if memory == 8 else tuned(memory_ticks=memory)
    assert motion.run_memory == memory
    let_go = play_flat(motion, inputs((60, "r")), at_top_speed(motion, run=True))
    kept = int(np.flatnonzero(let_go[:, VX] < motion.run_cap)[0]) - 1
    assert kept == memory
    for late in range(memory + 3):
        states = play_flat(motion, inputs((late, "r"), (20, "rj"), (10, "r")), at_top_speed(motion, run=True))
        flying = states[late + 1 :]
        still = late < memory
        assert (flying[0, TAKEOFF] == motion.run_cap) == still
        assert (flying[:, VX] == motion.run_cap).all() == still


def test_a_faster_takeoff_jumps_higher_and_stays_up_longer():
    """Common practice: speed that had to be built up pays."""
    starts = at_rest(MOTION), at_top_speed(MOTION, run=False), at_top_speed(MOTION, run=True)
    for hold in (1, 10, 90):
        jumps = [jump_from(MOTION, start, (hold, "rRj"), (90, "rR")) for start in starts]
        assert np.all(np.diff([height(states) for states in jumps]) > 0)
        assert np.all(np.diff([len(states) for states in jumps]) > 0)


@pytest.mark.parametrize("hold", [1, 4, 12])
def test_letting_go_does_not_stop_a_rise_but_raises_gravity(hold):
    """Common practice: a rise that is cut off at once looks broken; a stronger pull ends it soon, yet smoothly."""
    states = jump_from(MOTION, at_rest(MOTION), (hold, "j"), (90, ""))
    pulls = np.diff(states[1:, VY])
    assert set(pulls[: hold - 1].tolist()) <= {int(MOTION.jump_gravity_held[0])}
    assert pulls[hold - 1] == MOTION.jump_gravity[0] > MOTION.jump_gravity_held[0]
    rising = int((states[hold + 1 :, VY] < 0).sum())
    assert rising >= 3
    held = jump_from(MOTION, at_rest(MOTION), (90, "j"))
    assert height(states) < height(held)


def test_the_apex_raises_gravity_too():
    """Common practice: a fall is faster than the rise before it."""
    states = jump_from(MOTION, at_rest(MOTION), (90, "j"))
    pulls = np.diff(states[1:, VY])
    apex = ticks_until(states[1:], VY, 0)
    assert set(pulls[:apex].tolist()) == {int(MOTION.jump_gravity_held[0])}
    assert set(pulls[apex : apex + 5].tolist()) == {int(MOTION.jump_gravity[0])}
    top = int(np.argmax(states[0, Y] - states[:, Y]))
    assert len(states) - 1 - top < top


def test_the_terminal_speed_is_reached_soon_and_then_holds():
    """Common practice: long falls are even, so that they can be steered and foreseen."""
    high = at_rest(MOTION)._replace(y=SIDE_SPX // 2, grounded=0)
    falling = play_flat(MOTION, inputs((600, "")), high)
    reached = ticks_until(falling, VY, MOTION.terminal)
    assert reached < LAMPLIGHTER.tick_rate_hz // 4
    assert falling[reached, Y] - high.y < height(jump_from(MOTION, at_rest(MOTION), (90, "j")))
    assert (falling[reached:, VY] == MOTION.terminal).all()


def test_a_fast_landing_slides_off_a_narrow_foothold_unless_it_jumps_again_at_once():
    """Common practice: a foothold of one tile is for a body that keeps moving."""
    terrain = make_terrain(["." * 30] * 6 + ["." * 12 + "#" + "." * 17] + ["." * 30] * 20 + ["#" * 30])
    top = 6 * TILE - MOTION.body_h
    middle = 12 * TILE + (TILE - MOTION.body_w) // 2
    start = make_state(
        middle - MOTION.run_cap, top - PX, vx=MOTION.run_cap, vy=4 * PX, takeoff=MOTION.run_cap, run_memory=8
    )
    for steps in ((60, "l"), (60, ""), (60, "r"), (60, "rR")):
        states = run_script(start, inputs((1, "rR"), steps), MOTION, terrain)
        assert states[1, GROUNDED]
        assert states[1, X] == middle
        assert states[-1, Y] > top + TILE
    again = run_script(start, inputs((1, "rR"), (40, "rRj"), (20, "r")), MOTION, terrain)
    assert again[1, GROUNDED]
    assert again[2, VY] < 0
    assert again[2, VX] == MOTION.run_cap
    assert (top - again[:, Y]).max() == MOTION.jump_gravity_held[-1] * 28 * 29 // 2
    # a slow landing on the same spot stays
    slow = start._replace(vx=0, x=middle, takeoff=0)
    assert run_script(slow, inputs((60, "")), MOTION, terrain)[-1, Y] == top
