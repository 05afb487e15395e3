"""The profile to write: the recording's values, and the start's where it has none."""

from reach.movement import load_movement, movement_from_dict
from reach.workshop.fit.completion import complete, start_estimates
from reach.workshop.fit.fitting import Fit
from reach.workshop.fit.outcome import Found, Quantity, Replayed
from reach.workshop.recording import Recording
from tests.checkout import ROOT

START = load_movement(ROOT / "sample_levels/movement/lamplighter.json")


def fit_of(found):
    recording = Recording("play.csv", (), 0, "exact", ("right",), None)
    return Fit(recording, 60, found, (), (), Replayed(0, 0, ()), 0)


def test_a_start_alone_comes_back():
    completed = complete(fit_of(Found()), START, None)
    motion = movement_from_dict(completed.data).motion
    for name, value in START.motion._asdict().items():
        assert str(getattr(motion, name)) == str(value), name
    assert "body" in completed.from_start
    assert completed.least == ()


def test_what_was_determined_goes_before_the_start_s():
    found = Found()
    found.add("ground.walk.top_speed", Quantity.SPEED, 99999, 99999, ())
    found.add("help.coyote_ticks", Quantity.TICKS, 3, 5, ())
    completed = complete(fit_of(found), START, {"width_px": 9, "height_px": 12})
    motion = movement_from_dict(completed.data).motion
    assert (motion.walk_cap, motion.coyote_ticks) == (99999, 3)
    assert completed.least == ("help.coyote_ticks",)
    assert not {"ground.walk.top_speed", "help.coyote_ticks", "body"} & set(completed.from_start)


def test_a_start_settles_what_is_only_bounded():
    found = Found(counts={"ground.run": 1})
    found.add("ground.run.memory_ticks", Quantity.TICKS, 5, 11, ())
    completed = complete(fit_of(found), START, None)
    assert movement_from_dict(completed.data).motion.run_memory == START.motion.run_memory == 8
    assert "ground.run.memory_ticks" in completed.from_start


def test_every_compiled_value_of_a_profile_has_a_path():
    made = start_estimates(START)
    assert made["jump.bands[2].gravity"].value == START.motion.jump_gravity[2]
    assert made["air.reverse_deceleration[1].from_takeoff_speed"].value == START.motion.air_reverse_from_takeoff[1]
