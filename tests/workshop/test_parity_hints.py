"""Hints: given where a recording was read or placed wrongly, and not where it moves by other rules."""

from dataclasses import replace

import numpy as np

from reach.kernels.step import run_script
from reach.level import compile_terrain, level_from_dict
from reach.movement import load_movement
from reach.simulator import start_state
from reach.workshop.flat_ground import at_rest, flat_ground, play_flat
from reach.workshop.parity import compare_recording
from reach.workshop.parity_hints import find_hint
from reach.workshop.variants import Player, Variant
from tests.builders import PX, inputs
from tests.checkout import ROOT
from tests.workshop.recorded import EVERYTHING, recorded

LAMPLIGHTER = load_movement(ROOT / "sample_levels" / "movement" / "lamplighter.json")
ROWS = ["." * 12] * 3 + [".@" + "." * 10] + ["#" * 4 + "." * 8] + ["." * 12] * 3 + ["#" * 12]


def hint(tmp_path, path, script, level=None, rounding_spx=1):
    compared = compare_recording(LAMPLIGHTER, recorded(tmp_path, path, script, rounding_spx), level)
    assert any(compared.differences)
    return find_hint(compared)


def test_a_mirrored_recording(tmp_path):
    path = play_flat(LAMPLIGHTER.motion, EVERYTHING)[:, :2]
    path[:, 1] *= -1
    for rounding_spx in (1, PX):
        assert hint(tmp_path, path, EVERYTHING, rounding_spx=rounding_spx).id == "other-y-axis"


def test_a_walk_off_an_edge(tmp_path):
    level = level_from_dict({"format": "reach-level/1", "name": "Quay", "tile_px": 16, "rows": ROWS})
    script = inputs((3, ""), (120, "r"))
    path = run_script(start_state(level, LAMPLIGHTER), script, LAMPLIGHTER.motion, compile_terrain(level, LAMPLIGHTER))[
        :, :2
    ]
    found = hint(tmp_path, path, script)
    assert found.id == "no-level"
    assert "give the level with --level" in found.said
    assert compare_recording(LAMPLIGHTER, recorded(tmp_path, path, script), level).agrees
    path[60:, 0] += 5
    assert hint(tmp_path, path, script, level) is None


def test_other_rules_get_no_hint(tmp_path):
    for variant in (Variant(reverse_through_zero=True), Variant(held_after_apex=True), Variant(release_share=0)):
        path = Player(LAMPLIGHTER.motion, flat_ground(), variant).play(at_rest(LAMPLIGHTER.motion), EVERYTHING)
        assert hint(tmp_path, path, EVERYTHING) is None
    heavier = LAMPLIGHTER.motion._replace(jump_gravity=np.array(LAMPLIGHTER.motion.jump_gravity) + 900)
    path = play_flat(replace(LAMPLIGHTER, motion=heavier).motion, EVERYTHING)[:, :2]
    assert hint(tmp_path, path, EVERYTHING) is None
