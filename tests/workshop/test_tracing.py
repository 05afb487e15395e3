"""Traces: the simulator's positions, and valid recordings."""

import numpy as np
import pytest

from reach.level import level_from_dict
from reach.movement import load_movement
from reach.report.trace_table import to_csv
from reach.script import Script, Step
from reach.simulator import replay
from reach.workshop.recording import load_recording
from reach.workshop.tracing import trace_script
from tests.builders import random_inputs
from tests.checkout import ROOT

LAMPLIGHTER = load_movement(ROOT / "sample_levels" / "movement" / "lamplighter.json")
LEVEL = level_from_dict(
    {
        "format": "reach-level/1",
        "name": "Quay",
        "tile_px": 16,
        "rows": ["............", "............", "............", ".@.......!..", "#####..#####", "....#..#...."],
    }
)


def script_of(*steps, level="Quay", movement="lamplighter"):
    return Script(level, movement, "start", tuple(Step(ticks, buttons) for ticks, buttons in steps))


def test_flat_ground_begins_at_nought_and_follows_the_model():
    trace = trace_script(LAMPLIGHTER, script_of((3, ("right",)), (1, ("right", "jump")), level="anywhere"))
    accel = LAMPLIGHTER.motion.walk_accel
    assert trace.x_spx.tolist() == [0, accel, 3 * accel, 6 * accel, 10 * accel]
    assert trace.y_spx.tolist() == [0, 0, 0, 0, -int(LAMPLIGHTER.motion.jump_launch[0])]
    assert trace.inputs.tolist() == [[0, 0, 0, 0], *[[1, 0, 0, 0]] * 3, [1, 0, 0, 1]]
    assert trace.warnings == ()


def test_a_level_gives_what_a_replay_gives():
    script = script_of((30, ("right", "run")), (20, ("right", "run", "jump")))
    trace = trace_script(LAMPLIGHTER, script, LEVEL)
    rows = replay(LEVEL, LAMPLIGHTER, script).rows
    assert trace.x_spx.tolist() == [row.x_spx for row in rows]
    assert trace.y_spx.tolist() == [row.y_spx for row in rows]


def test_a_trace_ends_where_the_body_is_lost_or_the_level_ends():
    lost = trace_script(LAMPLIGHTER, script_of((200, ("right",))), LEVEL)
    assert "lost in tick" in lost.warnings[0]
    assert len(lost.x_spx) == len(lost.inputs) < 201
    over = (38, ("right", "run")), (1, ("right", "run", "jump")), (60, ("right", "run"))
    ended = trace_script(LAMPLIGHTER, script_of(*over), LEVEL)
    assert "the level ends in tick" in ended.warnings[0]


def test_names_that_differ_are_told():
    assert len(trace_script(LAMPLIGHTER, script_of((3, ()), level="A", movement="B"), LEVEL).warnings) == 2
    assert len(trace_script(LAMPLIGHTER, script_of((3, ()), level="A", movement="B")).warnings) == 1


@pytest.mark.parametrize("seed", range(3))
def test_a_trace_is_a_recording_to_the_subpixel(tmp_path, seed):
    inputs = random_inputs(np.random.default_rng(seed), 200)
    trace = trace_script(LAMPLIGHTER, Script.from_inputs(inputs, "Quay", "lamplighter"))
    (tmp_path / "trace.csv").write_text(to_csv(trace), encoding="utf-8")
    recording = load_recording(tmp_path / "trace.csv")
    (take,) = recording.takes
    assert recording.exact
    assert np.array_equal(take.ticks, np.arange(201))
    assert np.array_equal(take.x_spx, trace.x_spx)
    assert np.array_equal(take.y_spx, trace.y_spx)
    assert np.array_equal(take.inputs[1:], inputs)
