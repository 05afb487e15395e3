"""What explains a recording: every single change is found again from what it does, and nothing else is called clear."""

from dataclasses import replace

import numpy as np
import pytest

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.level import compile_terrain, level_from_dict
from reach.movement import load_movement
from reach.script import load_script
from reach.simulator import start_state
from reach.workshop.changed_numbers import counts, quantities
from reach.workshop.explanations import RULES, Explanation, explain_difference
from reach.workshop.flat_ground import at_rest, flat_ground
from reach.workshop.parity import compare_recording, reference_path
from reach.workshop.recording import load_recording
from reach.workshop.variants import Player, Variant
from tests.builders import PX, inputs, make_motion
from tests.checkout import ROOT
from tests.workshop.recorded import EVERYTHING, recorded

LAMPLIGHTER, COURIER = (
    load_movement(ROOT / "sample_levels" / "movement" / f"{name}.json") for name in ("lamplighter", "courier")
)
NEEDS_A_TOUCH = {"lands-on-touch"}
"""Rules that show only when a fall ends at exactly the ground, which these profiles' jumps do not."""


def explained(tmp_path, movement, play, rounding_spx=1, script=EVERYTHING):
    path = play(at_rest(movement.motion), script)
    compared = compare_recording(movement, recorded(tmp_path, path, script, rounding_spx))
    assert not compared.agrees
    return explain_difference(compared)


FOUND = [rule for rule in RULES if rule.id not in NEEDS_A_TOUCH]


@pytest.mark.parametrize("rule", FOUND, ids=lambda rule: rule.id)
def test_a_rule_is_found_again_among_all_that_need_no_fit(tmp_path, rule, monkeypatch):
    monkeypatch.setattr("reach.workshop.explanations.quantities", lambda movement: ())
    found = explained(tmp_path, LAMPLIGHTER, Player(LAMPLIGHTER.motion, flat_ground(), rule.variant).play)
    assert [each.id for each in found.clear] == [rule.id]
    assert found.clear[0].ticks == found.of_ticks
    assert found.clear[0].off_px < 0.001 or rule.id == "positions-rounded-3"


@pytest.mark.long
@pytest.mark.parametrize("rule", FOUND, ids=lambda rule: rule.id)
def test_a_rule_is_found_again(tmp_path, rule):
    play = Player(LAMPLIGHTER.motion, flat_ground(), rule.variant).play
    found = explained(tmp_path, LAMPLIGHTER, play)
    assert found.clear[0].id == rule.id
    assert found.clear[0].ticks == found.of_ticks
    assert found.unchanged.ticks < found.of_ticks
    assert all(each.is_fitted for each in found.clear[1:])


@pytest.mark.parametrize("name", ["launch-tick-gravity", "run-memory-2", "run-memory-0", "one-jump-band"])
def test_a_count_is_found_again(tmp_path, name):
    (changed,) = (motion for each, _, motion in counts(LAMPLIGHTER.motion) if each == name)
    found = explained(tmp_path, LAMPLIGHTER, reference_path(changed, flat_ground()))
    assert name in [each.id for each in found.clear]


def test_a_jump_buffer_is_found_where_it_matters(tmp_path):
    # A tap of this profile lands in the 13th tick after it began; the press comes 8 ticks before a jump can begin.
    script = inputs((5, ""), (1, "j"), (4, ""), (1, "j"), (40, ""))
    (changed,) = (motion for each, _, motion in counts(COURIER.motion) if each == "buffer-9")
    found = explained(tmp_path, COURIER, reference_path(changed, flat_ground()), script=script)
    assert {each.id for each in found.clear} == {f"buffer-{ticks}" for ticks in range(8, 13)}


def test_a_touch_that_lands_is_found_where_a_fall_ends_exactly_on_the_ground(tmp_path):
    # q launches of gravity g rise g q(q+1)/2, and one gravity brings the body down to exactly the ground.
    motion = make_motion(jump_launch=20 * 9000, jump_gravity_held=9000, jump_gravity=9000, terminal=10**7)
    movement = replace(COURIER, motion=motion)
    play = Player(motion, flat_ground(), Variant(lands_on_touch=True)).play
    found = explained(tmp_path, movement, play, script=inputs((5, ""), (41, "rj"), (40, "")))
    assert "lands-on-touch" in [each.id for each in found.clear]


def test_coyote_time_is_found_in_a_level(tmp_path):
    rows = ["." * 30] * 6 + [".@" + "." * 28] + ["#" * 6 + "." * 24] + ["." * 30] * 4 + ["#" * 30]
    level = level_from_dict({"format": "reach-level/1", "name": "Quay", "tile_px": 16, "rows": rows})
    terrain, start = compile_terrain(level, LAMPLIGHTER), start_state(level, LAMPLIGHTER)
    (changed,) = (motion for name, _, motion in counts(LAMPLIGHTER.motion) if name == "coyote-5")
    walked = run_script(start, inputs((200, "r")), LAMPLIGHTER.motion, terrain)
    off = int(np.flatnonzero(walked[:, State._fields.index("grounded")] == 0)[0])
    script = inputs((off + 2, "r"), (60, "rj"))
    path = run_script(start, script, changed, terrain)[:, :2]
    compared = compare_recording(LAMPLIGHTER, recorded(tmp_path, path, script), level)
    assert compared.differences[0].after_ticks == off + 3
    clear = {each.id for each in explain_difference(compared).clear}
    # a press in the third tick after the edge needs at least three ticks, and more would do as well
    assert clear == {f"coyote-{ticks}" for ticks in range(3, 13)}


QUICK = {"gravity-released", "launch-speed", "walk-acceleration", "terminal-speed", "drag", "cut-speed", "lengths"}


@pytest.mark.parametrize(
    "quantity",
    [
        pytest.param(each, id=each.id, marks=() if each.id in QUICK else pytest.mark.long)
        for each in quantities(LAMPLIGHTER)
    ],
)
def test_a_number_is_fitted(tmp_path, quantity):
    at = quantity.most / 4 if quantity.is_value else 1.03
    found = explained(tmp_path, LAMPLIGHTER, reference_path(quantity.changed(at), flat_ground()))
    best = found.clear[0]
    assert (best.id, best.is_fitted) == (quantity.id, True)
    assert best.off_px < 0.001
    assert quantity.is_value or "% higher" in best.said


@pytest.mark.parametrize("name", ["coasting", "gravity-released"])
def test_a_number_is_fitted_from_whole_px(tmp_path, name):
    (quantity,) = (each for each in quantities(LAMPLIGHTER) if each.id == name)
    found = explained(tmp_path, LAMPLIGHTER, reference_path(quantity.changed(1.03), flat_ground()), PX)
    assert [each.id for each in found.clear] == [name]
    assert found.clear[0].ticks == found.of_ticks


def test_the_sample_recording_is_explained():
    """It was made by a character that reverses without a stop, in whole px."""
    recording = load_recording(ROOT / "sample_levels" / "recordings" / "quayside.csv")
    compared = compare_recording(LAMPLIGHTER, recording)
    assert compared.differences[0].buttons == ("left",)
    assert [each.id for each in explain_difference(compared).clear] == ["reverse-through-zero"]
    script = load_script(ROOT / "sample_levels" / "recordings" / "quayside.json")
    assert np.array_equal(script.inputs(), recording.takes[0].inputs[1:])


def test_drag_is_fitted(tmp_path):
    play = Player(LAMPLIGHTER.motion, flat_ground(), Variant(drag_share=900)).play
    best = explained(tmp_path, LAMPLIGHTER, play).clear[0]
    assert best.id == "air-drag"
    assert "1.37 %" in best.said


@pytest.mark.parametrize("name", ["reverse-through-zero", "held-after-apex"])
def test_a_rule_is_found_again_from_whole_px(tmp_path, name):
    (rule,) = (each for each in RULES if each.id == name)
    found = explained(tmp_path, LAMPLIGHTER, Player(LAMPLIGHTER.motion, flat_ground(), rule.variant).play, PX)
    assert name in [each.id for each in found.clear]
    assert found.clear[0].ticks == found.of_ticks


def test_what_no_single_change_does_is_not_explained(tmp_path):
    """Noise of half a px, and a character that is thrown about."""
    dice = np.random.default_rng(3)

    def noisy(start, script):
        path = reference_path(LAMPLIGHTER.motion, flat_ground())(start, script).copy()
        path[10:] += dice.integers(-PX // 2, PX // 2, path[10:].shape)
        return path

    def thrown(start, script):
        path = reference_path(LAMPLIGHTER.motion, flat_ground())(start, script).copy()
        path[50:, 0] += np.cumsum(dice.integers(-5 * PX, 5 * PX, len(path) - 50))
        return path

    for play in (noisy, thrown):
        found = explained(tmp_path, LAMPLIGHTER, play)
        assert found.clear == ()
        assert isinstance(found.ranked[0], Explanation)


def test_too_few_ticks_after_the_difference_explain_nothing(tmp_path):
    play = Player(LAMPLIGHTER.motion, flat_ground(), Variant(landing_stops=True)).play
    whole = compare_recording(
        LAMPLIGHTER, recorded(tmp_path, play(at_rest(LAMPLIGHTER.motion), EVERYTHING), EVERYTHING)
    )
    tick = whole.differences[0].after_ticks
    found = explained(tmp_path, LAMPLIGHTER, play, script=EVERYTHING[: tick + 1])
    assert found.too_short
    assert found.clear == ()


WALK = inputs((10, ""), (20, "r"), (20, ""), (20, "l"), (20, ""))


def walked_with(**changes):
    motion = LAMPLIGHTER.motion
    return reference_path(
        motion._replace(**{name: getattr(motion, name) + more for name, more in changes.items()}), flat_ground()
    )


def test_what_a_recording_never_exercises_explains_nothing(tmp_path):
    """One row of a walk is 0.01 px off, which no rule of the air can do."""

    def glitch(start, script):
        path = reference_path(LAMPLIGHTER.motion, flat_ground())(start, script).copy()
        path[40, 0] += 655
        return path

    found = explained(tmp_path, LAMPLIGHTER, glitch, script=WALK)
    assert found.clear == ()
    assert all("air" not in each.said and "jump" not in each.said for each in found.ranked)
    assert not {each.id for each in found.ranked} & {"gravity", "launch-speed", "run-memory-2", "landing-stops"}


def test_what_changes_nothing_before_the_difference_is_not_tried(tmp_path):
    """The walk is another, and a jump comes later: the jump's rules have no part in the first difference."""
    script = inputs((5, ""), (30, "r"), (30, ""), (20, "j"), (60, ""))
    found = explained(tmp_path, LAMPLIGHTER, walked_with(walk_accel=90), script=script)
    assert [each.id for each in found.clear] == ["walk-acceleration"]
    assert not {each.id for each in found.ranked} & {"gravity", "launch-speed", "held-after-apex", "coasting"}


@pytest.mark.parametrize("rounding_spx", [1, PX])
def test_numbers_are_judged_with_the_tolerance_of_the_profile(tmp_path, rounding_spx):
    path = walked_with(walk_accel=120)(at_rest(LAMPLIGHTER.motion), WALK)
    compared = compare_recording(LAMPLIGHTER, recorded(tmp_path, path, WALK, rounding_spx), tolerance_px=0.0)
    found = explain_difference(compared)
    (walk,) = (each for each in found.clear if each.id == "walk-acceleration")
    told = float(walk.said.split("(")[1].split(" px/s^2")[0])
    motion = LAMPLIGHTER.motion._replace(walk_accel=round(told * PX / 3600))
    assert compare_recording(replace(LAMPLIGHTER, motion=motion), compared.recording, tolerance_px=0.0).agrees


def test_what_is_off_by_little_in_an_exact_recording_is_not_followed(tmp_path):
    """Every row is up to 0.04 px off: less than what is allowed in recordings that are not exact."""
    dice = np.random.default_rng(5)

    def noisy(start, script):
        path = reference_path(LAMPLIGHTER.motion, flat_ground())(start, script).copy()
        path[25:] += dice.integers(-2600, 2600, path[25:].shape)
        return path

    found = explained(tmp_path, LAMPLIGHTER, noisy, script=inputs((10, ""), (30, "r"), (20, "rj"), (60, "")))
    assert found.clear == ()
    assert max(each.ticks for each in found.ranked) < 30


@pytest.mark.parametrize("more", [-37, -1, 1, 5, 611])
@pytest.mark.parametrize("name", ["walk_accel", "coast"])
def test_a_number_is_found_to_the_subpixel(tmp_path, name, more):
    found = explained(tmp_path, LAMPLIGHTER, walked_with(**{name: more}), script=WALK)
    assert [each.id for each in found.clear] == [{"walk_accel": "walk-acceleration", "coast": "coasting"}[name]]
    assert found.clear[0].off_px == 0.0


def test_a_factor_is_found_though_each_number_is_rounded_by_itself(tmp_path):
    (quantity,) = (each for each in quantities(LAMPLIGHTER) if each.id == "lengths")
    changed = quantity.changed(1.03)
    nudged = changed._replace(coast=changed.coast + 1, jump_gravity=changed.jump_gravity + np.array([1, -1, 0]))
    found = explained(tmp_path, LAMPLIGHTER, reference_path(nudged, flat_ground()))
    assert [each.id for each in found.clear] == ["lengths"]
    assert found.clear[0].said.startswith("all lengths are 3 % higher")
    assert found.clear[0].off_px == 0.0


def test_two_changes_are_not_one(tmp_path):
    for walk, coast in ((5, 60), (-20, 40), (187, 97)):
        found = explained(tmp_path, LAMPLIGHTER, walked_with(walk_accel=walk, coast=coast), script=WALK)
        assert found.clear == ()
    # by as much as whole subpixels allow the same factor: the two are named, no more is claimed
    (both,) = explained(tmp_path, LAMPLIGHTER, walked_with(walk_accel=5, coast=6), script=WALK).clear
    assert "all lengths" not in both.said
    assert both.said.startswith("the walk's acceleration and the coasting deceleration are each about 0.1")
    assert both.off_px == 0.0


def test_candidates_have_names_of_their_own():
    for movement in (LAMPLIGHTER, COURIER):
        names = [rule.id for rule in RULES]
        names += [name for name, _, _ in counts(movement.motion)]
        names += [quantity.id for quantity in quantities(movement)]
        assert len(set(names)) == len(names)
