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


def walk_and_jump():
    script = inputs((10, ""), (20, "r"), (20, ""), (1, "j"), (60, ""))
    return play_flat(LAMPLIGHTER.motion, script)[:, :2].copy(), script


def test_a_single_wrong_row_is_named(tmp_path):
    for tick in (4, 12, 40, 60, 108):
        for column, off in ((0, 655), (1, 20 * PX), (0, -1)):
            path, script = walk_and_jump()
            path[tick, column] += off
            found = hint(tmp_path, path, script)
            # the header is line 1 and the row of tick 0 line 2
            assert found.said == f"only line {tick + 2} is off: a stray row; the profile follows all others"
    path, script = walk_and_jump()
    path[30, 0] += 3 * PX
    assert hint(tmp_path, path, script, rounding_spx=PX).id == "stray-rows"


def test_several_rows_apart_are_named_and_a_lasting_difference_is_not_stray(tmp_path):
    path, script = walk_and_jump()
    path[[20, 40], 0] += 9
    assert hint(tmp_path, path, script).said.startswith("only lines 22 and 42 are off: stray rows;")
    for ticks in ([20, 22], [20, 21], [20, 40, 60, 80], [110], [109], range(30, 111)):
        path, script = walk_and_jump()
        path[list(ticks), 0] += 9
        assert hint(tmp_path, path, script) is None
