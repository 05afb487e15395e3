"""Fits of simulated recordings: every exercised value must come back, and nothing that was not exercised."""

import random
import re
from fractions import Fraction
from functools import cache

import pytest

from reach.errors import InputError
from reach.movement import load_movement, movement_from_dict
from reach.workshop.fit.completion import complete
from reach.workshop.fit.fitting import fit_recording
from reach.workshop.recording import load_recording
from tests.checkout import ROOT
from tests.made_recordings import SHARES, Player, csv_of, random_profile, systematic_takes

SEEDS = range(50)
ROUNDED_SEEDS = range(60, 72)
LONG_SEEDS = range(100, 160)
# A slow walk that reaches its top speed within 3 px says next to nothing of its rates where positions are whole px.
ALWAYS_TOLD = {"jump.bands.launch_speed", "jump.bands.gravity_held", "jump.bands.gravity", "fall.terminal_speed"}


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


def real_value(path, truth, found):
    """The true value; of a launch, what can be told of it."""
    if path.endswith("launch_speed") and truth["jump.launch_tick_gravity"] and "jump.launch_tick_gravity" not in found:
        # Nothing tells gravity in the tick of the takeoff from a slower launch without it.
        return truth[path] - truth[path.replace("launch_speed", "gravity_held")]
    return truth[path]


def assert_exact(fit, movement, complete_too=True):
    """All that was found is true to the compiled integer; with `complete_too` all was found."""
    truth = truth_of(movement)
    found = fit.found.estimates
    for path, estimate in found.items():
        real = real_value(path, truth, found)
        assert estimate.low <= real <= estimate.high, path
        # A jump in the first tick after an edge tells only where ground and air change the speed differently.
        late_by_one = path == "help.coyote_ticks" and real == 1
        assert estimate.exact or estimate.threshold or late_by_one or not complete_too, path
    if complete_too:
        not_told = {path for path in truth if path not in found and "from_" not in path}
        assert not_told <= {"jump.launch_tick_gravity"}
        assert fit.replayed.residuals == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_every_exercised_value_comes_back_exactly(load, seed):
    movement = random_profile(seed)
    recording = load(csv_of(systematic_takes(movement.motion)))
    assert recording.exact
    assert_exact(fit_recording(recording, tick_rate_hz=movement.tick_rate_hz), movement)


def spread_of(path, truth):
    """The least and the greatest value of the bands of the list that a path is in."""
    values = [truth[each] for each in truth if re.fullmatch(re.sub(r"\d+", r"\\d+", re.escape(path)), each)]
    return min(values), max(values)


def holds(estimate, truth, found):
    """Whether what is said of a value is true, and whether it is said of bands that are there but were not seen."""
    path = estimate.path
    if path not in truth:
        return False, False
    low, high = estimate.low - 0.5, estimate.high + 0.5
    if estimate.note and path.replace("[0]", "[1]") in truth:
        least, most = spread_of(path, truth)
        return low <= most and least <= high, True
    return low <= real_value(path, truth, found) <= high, False


@cache
def rounded_text(seed, shares):
    """The takes of a profile, rounded to whole px; whether the bands are known or not, they are the same."""
    return csv_of(systematic_takes(random_profile(seed).motion, shares), Fraction(1))


def intervals_of(load, seeds, knows_bands, shares=SHARES):
    """What positions rounded to whole px tell: (seed, path), whether it holds, and whether it is a mean of bands."""
    said = []
    for seed in seeds:
        movement = random_profile(seed)
        truth = truth_of(movement)
        recording = load(rounded_text(seed, shares))
        assert recording.rounding_px == 1
        found = fit_recording(recording, movement if knows_bands else None, movement.tick_rate_hz).found.estimates
        assert {re.sub(r"\[\d+\]", "", path) for path in found} >= ALWAYS_TOLD, seed
        known = truth if knows_bands else found
        said += [(seed, path, *holds(estimate, truth, known)) for path, estimate in found.items()]
    assert len(said) >= 15 * len(seeds)
    return said


def assert_shares(said, least_share, capsys):
    """Print the counts that README tells, and hold them against a share."""
    wrong = [(seed, path) for seed, path, right, _ in said if not right]
    alone = sum(not mean for *_, mean in said)
    right = sum(right for *_, right, mean in said if not mean)
    means, right_means = len(said) - alone, sum(right for *_, right, mean in said if mean)
    with capsys.disabled():
        print(f"\n{right} of {alone} values in their intervals, {right_means} of {means} means of bands; not: {wrong}")
    assert len(wrong) <= (1 - least_share) * len(said)
    assert right >= least_share * alone


@pytest.mark.parametrize("knows_bands", [True, False])
def test_rounded_positions_give_intervals_that_hold_the_truth(load, knows_bands, capsys):
    assert_shares(intervals_of(load, ROUNDED_SEEDS, knows_bands, SHARES[::2]), 0.97, capsys)


@pytest.mark.long
@pytest.mark.parametrize("knows_bands", [True, False])
def test_rounded_positions_of_many_profiles(load, knows_bands, capsys):
    assert_shares(intervals_of(load, LONG_SEEDS, knows_bands), 0.99 if knows_bands else 0.97, capsys)


def test_rounded_positions_bound_what_they_can_narrowly(load):
    movement = load_movement(ROOT / "sample_levels/movement/lamplighter.json")
    recording = load_recording(ROOT / "sample_levels/recordings/lamplighter_walk.csv")
    found = fit_recording(recording, movement).found
    truth = truth_of(movement)
    for path, share in (
        ("ground.walk.top_speed", 0.01),
        ("ground.run.acceleration", 0.01),
        ("ground.coast_deceleration", 0.02),
        ("jump.bands[0].launch_speed", 0.05),
        ("jump.bands[2].gravity", 0.02),
        ("fall.terminal_speed", 0.001),
    ):
        estimate = found.estimates[path]
        assert estimate.low <= truth[path] <= estimate.high
        assert estimate.high - estimate.low <= share * truth[path], path


def test_ticks_may_be_missing(load):
    movement = random_profile(0)
    takes = systematic_takes(movement.motion)
    recording = load(csv_of(takes, leave_out=lambda name, tick: (tick * 7 + len(name)) % 41 == 3))
    fit = fit_recording(recording)
    assert fit.unused_rows == 0
    assert_exact(fit, movement, complete_too=False)
    assert {"ground.walk.acceleration", "jump.bands[0].gravity", "air.acceleration[0].value"} <= set(
        fit.found.estimates
    )
    assert fit.replayed.residuals == ()


def test_y_may_grow_upward(load):
    movement = random_profile(3)
    assert_exact(fit_recording(load(csv_of(systematic_takes(movement.motion), y_up=True), y_up=True)), movement)


@pytest.mark.parametrize("rounded_px", [None, Fraction(1)])
def test_wrong_rows_are_named_and_change_nothing(load, rounded_px):
    movement = random_profile(4)
    takes = systematic_takes(movement.motion)
    wrong = {("ground", 40), ("ground", 300), ("jumps0", 60), ("jumps3", 17), ("jumps3", 150)}
    wrong |= {("ground", 410), ("ground", 411), ("jumps1", 70), ("jumps1", 71)}  # two on end
    moved = csv_of(takes, rounded_px, shift_px=lambda name, tick: (9, -14) if (name, tick) in wrong else (0, 0))
    recording = load(moved)
    fit = fit_recording(recording, movement)
    named = {(recording.takes[each.ref.take].name, each.ref.tick) for each in fit.replayed.residuals}
    assert wrong <= named
    lines = moved.splitlines()
    assert all(lines[each.line - 1].split(",")[1] == str(each.ref.tick) for each in fit.replayed.residuals)
    if rounded_px is None:
        assert_exact(fit, movement, complete_too=False)
        assert fit.found.estimates["ground.walk.acceleration"].exact
    else:
        truth = truth_of(movement)
        assert all(each.low - 1 <= truth[path] <= each.high + 1 for path, each in fit.found.estimates.items())


@pytest.mark.parametrize(("seed", "share"), [(20, 0.005), (24, 0.005)])
def test_rows_that_are_wrong_at_random_make_no_value_up(load, seed, share):
    """Each row is off with this chance, by anything up to 33 px along and up: also where a move begins or ends."""
    movement = random_profile(seed)
    truth = truth_of(movement)
    dice = random.Random(seed)

    def shift(name, tick):
        return (dice.randint(-33, 33), dice.randint(-33, 33)) if dice.random() < share else (0, 0)

    recording = load(csv_of(systematic_takes(movement.motion), None, shift_px=shift))
    found = fit_recording(recording, movement).found.estimates
    assert len(found) > 20
    for path, each in found.items():
        assert path in truth, f"a band that the profile has not: {path}"
        real = real_value(path, truth, truth)
        assert each.low - 0.5 <= real <= each.high + 0.5, path


def test_what_was_never_exercised_is_named_and_not_guessed(load):
    motion = random_profile(2).motion
    walk = Player(motion, "walk", 600).hold(10).hold(60, "r").rest().hold(60, "l").hold(60, "r").rest()
    fit = fit_recording(load(csv_of([walk])))
    assert all(path.startswith("ground.") for path in fit.found.estimates)
    gone = {each.path: each for each in fit.missing}
    assert {"jump.bands[0].launch_speed", "fall.terminal_speed", "air.drag", "help.coyote_ticks", "ground.run"} <= set(
        gone
    )
    assert all(each.take and each.why for each in fit.missing)


COURIER = ROOT / "sample_levels/movement/courier.json"


def taps(held):
    """Taps of the courier, who cuts a rise: held so many ticks each, from rest."""
    take = Player(load_movement(COURIER).motion, "taps", 600).hold(10)
    for ticks in held:
        take.rest().hold(1, "j").hold(ticks - 1, "j").land()
    return take.rest()


SLOW, FAST = 19, 3


@pytest.mark.parametrize(("held", "told"), [((FAST, SLOW), "doubt"), ((FAST, FAST, SLOW), "cut"), ((SLOW,), "none")])
def test_a_release_is_judged_by_both_rules(load, held, told):
    courier = load_movement(COURIER)
    cut = courier.motion.cut_speed
    take = taps(held)
    ups = [n for n in range(1, len(take.inputs)) if take.inputs[n - 1][3] and not take.inputs[n][3]]
    assert [take.states[n - 1].vy < -cut for n in ups] == [ticks == FAST for ticks in held]
    fit = fit_recording(load(csv_of([take])), courier)
    found, gone = fit.found.estimates, {each.path: each.why for each in fit.missing}
    assert ("jump.on_release.cut_speed" in found) == (told == "cut")
    assert ("jump.on_release" in found) == (told == "none")
    assert ("in doubt" in gone.get("jump.on_release", "")) == (told == "doubt")
    completed = complete(fit, courier, None)
    # What no release has ruled out stays as the start has it.
    assert movement_from_dict(completed.data).motion.cut_speed == cut
    assert ("jump.on_release.cut_speed" in completed.from_start) == (told != "cut")
    assert fit.replayed.residuals == () or told != "cut"


def test_a_profile_that_is_written_compiles_to_the_same_integers(load):
    for seed in (1, 2, 4, 12):
        movement = random_profile(seed)
        fit = fit_recording(load(csv_of(systematic_takes(movement.motion))), movement, movement.tick_rate_hz)
        written = movement_from_dict(complete(fit, movement, None).data)
        for name, value in movement.motion._asdict().items():
            same = getattr(written.motion, name)
            assert (same == value).all() if hasattr(value, "all") else same == value, name


def test_a_recording_that_says_nothing_is_told_so(load):
    still = "tick,x_px,y_px,right\n0,1,1,0\n1,1,1,0\n2,1,1,1\n"
    apart = "tick,x_px,y_px,right\n0,1,1,0\n2,2,1,0\n4,3,1,1\n6,5,1,1\n"
    for text, unused in ((still, 0), (apart, 4)):
        fit = fit_recording(load(text))
        assert fit.estimates == ()
        assert fit.unused_rows == unused
        assert len(fit.missing) > 15


def test_rounded_positions_that_are_called_exact_are_refused_or_contradicted(load):
    text = csv_of(systematic_takes(random_profile(5).motion), Fraction(1))
    try:
        fit = fit_recording(load(text, rounded_px=Fraction(0)))
    except InputError as error:
        assert "--rounded-px" in str(error)
    else:
        assert len(fit.replayed.residuals) > fit.replayed.judged / 20
