"""Fits of simulated recordings: every exercised value must come back, and nothing that was not exercised."""

import pytest

from reach.workshop.fit.fitting import fit_recording
from reach.workshop.recording import load_recording
from tests.made_recordings import csv_of, random_profile, systematic_takes

SEEDS = range(50)


@pytest.fixture
def load(tmp_path):
    def read(text, **options):
        file = tmp_path / "play.csv"
        file.write_text(text, encoding="utf-8")
        return load_recording(file, **options)

    return read


def truth_of(movement):
    """Every compiled value by its path, lists of bands with an index."""
    motion = movement.motion
    truth = {each.value: each.compiled for each in movement.roundings if not each.value.startswith("body")}
    for path in ("air.acceleration", "air.reverse_deceleration", "air.top_speed"):
        if path in truth:
            truth[f"{path}[0].value"] = truth.pop(path)
    truth["air.drag"] = motion.drag
    truth["help.coyote_ticks"], truth["help.buffer_ticks"] = motion.coyote_ticks, motion.buffer_ticks
    if motion.has_run:
        truth["ground.run.memory_ticks"] = motion.run_memory
    if motion.cut_speed < 0:
        truth["jump.on_release"] = 0
    truth["jump.launch_tick_gravity"] = motion.launch_tick_gravity
    return truth


@pytest.mark.parametrize("seed", SEEDS)
def test_every_exercised_value_comes_back_exactly(load, seed):
    movement = random_profile(seed)
    recording = load(csv_of(systematic_takes(movement.motion)))
    assert recording.exact
    fit = fit_recording(recording, tick_rate_hz=movement.tick_rate_hz)
    truth = truth_of(movement)
    found = fit.found.estimates
    gravity_unseen = "jump.launch_tick_gravity" not in found and movement.motion.launch_tick_gravity
    for path, estimate in found.items():
        real = truth[path]
        if gravity_unseen and path.endswith("launch_speed"):
            # Nothing tells gravity in the tick of the takeoff from a slower launch without it.
            real -= truth[path.replace("launch_speed", "gravity_held")]
        assert estimate.low <= real <= estimate.high, path
        # A jump in the first tick after an edge tells only where ground and air change the speed differently.
        late_by_one = path == "help.coyote_ticks" and real == 1
        assert estimate.exact or estimate.threshold or late_by_one, path
    not_told = {path for path in truth if path not in found and not (path.endswith("from_speed") or "from_" in path)}
    assert not_told <= {"jump.launch_tick_gravity"}
    assert fit.replayed.residuals == ()
