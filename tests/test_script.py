"""Scripts: from a file to one input a tick, and back."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reach.errors import InputError, OutputError
from reach.script import (
    BUTTONS,
    MAX_TICKS,
    Script,
    Step,
    load_script,
    save_script,
    script_from_dict,
    script_to_dict,
    script_to_text,
)
from tests.made_files import refused, script_data

INPUTS = st.lists(
    st.tuples(st.integers(-1, 1), st.integers(0, 1), st.integers(0, 1), st.integers(0, 1)), max_size=30
).map(lambda rows: np.array(rows, np.int64).reshape(-1, 4))


def test_one_input_a_tick():
    steps = (Step(2, ("right", "run")), Step(1, ("left", "down", "jump")), Step(1, ()), Step(1, ("left", "right")))
    script = Script("Quay", "lamplighter", "start", steps)
    assert script.ticks == 5
    assert script.inputs().dtype == np.int64
    assert script.inputs().tolist() == [[1, 0, 1, 0], [1, 0, 1, 0], [-1, 1, 0, 1], [0, 0, 0, 0], [0, 0, 0, 0]]


def test_a_script_without_steps():
    script = Script("Quay", "lamplighter", "start", ())
    assert script.ticks == 0
    assert script.inputs().shape == (0, 4)
    assert Script.from_inputs(np.zeros((0, 4), np.int64), "Quay", "lamplighter") == script
    assert json.loads(script_to_text(script))["steps"] == []


@given(INPUTS)
def test_inputs_become_the_shortest_script_and_come_back(inputs):
    script = Script.from_inputs(inputs, "Quay", "lamplighter", "lamp")
    assert (script.level, script.movement, script.from_place) == ("Quay", "lamplighter", "lamp")
    assert np.array_equal(script.inputs(), inputs)
    assert all(step.ticks >= 1 and type(step.ticks) is int for step in script.steps)
    assert all(one.buttons != two.buttons for one, two in zip(script.steps, script.steps[1:], strict=False))
    assert all(list(step.buttons) == [each for each in BUTTONS if each in step.buttons] for step in script.steps)


@given(INPUTS, st.text(st.characters(exclude_categories=["Cc", "Cs"]), min_size=1, max_size=200))
def test_what_is_written_is_read_back(inputs, name):
    script = Script.from_inputs(inputs, name, "lamplighter")
    assert script_from_dict(json.loads(script_to_text(script))) == script
    assert script_from_dict(script_to_dict(script)) == script


def test_a_file_has_a_step_a_line(tmp_path):
    script = script_from_dict(script_data(level="Küste"))
    save_script(script, tmp_path / "a.json")
    assert (tmp_path / "a.json").read_bytes().decode("utf-8") == (
        "{\n"
        '  "format": "reach-script/1",\n'
        '  "level": "Küste",\n'
        '  "movement": "lamplighter",\n'
        '  "from": "start",\n'
        '  "steps": [\n'
        '    {"ticks": 12, "buttons": ["right", "run"]},\n'
        '    {"ticks": 9, "buttons": ["right", "run", "jump"]}\n'
        "  ]\n"
        "}\n"
    )
    assert load_script(tmp_path / "a.json") == script
    with pytest.raises(OutputError):
        save_script(script, tmp_path)


STEP = Step(1, ("right",))


@pytest.mark.parametrize(
    ("script", "place"),
    [
        (Script("", "lamplighter", "start", ()), "$.level"),
        (Script("Quay", "lamp\nlighter", "start", ()), "$.movement"),
        (Script("Quay", "lamplighter", "../start", ()), "$.from"),
        (Script("Quay", "lamplighter", "start", (Step(0, ()),)), "$.steps[0].ticks"),
        (Script("Quay", "lamplighter", "start", (Step(1, ("up",)),)), "$.steps[0].buttons[0]"),
        (Script("Quay", "lamplighter", "start", (Step(1, ("run", "run")),)), "$.steps[0].buttons"),
        (Script("Quay", "lamplighter", "start", (Step(MAX_TICKS, ()), STEP)), "$.steps"),
        (Script("Quay", "lamplighter", "start", (STEP,) * 50_001), "$.steps"),
    ],
)
def test_what_could_not_be_read_back_is_not_written(script, place, tmp_path):
    with pytest.raises(InputError) as caught:
        save_script(script, tmp_path / "a.json")
    assert [problem.place for problem in caught.value.problems] == [place]
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("steps", [(Step(MAX_TICKS - 1, ()), STEP), (STEP,) * 50_000])
def test_the_longest_scripts_are_written(steps):
    text = script_to_text(Script("Quay", "lamplighter", "start", steps))
    assert len(json.loads(text)["steps"]) == len(steps)


def test_buttons_in_any_order_are_the_same_step():
    one = script_from_dict(script_data(steps=[{"ticks": 1, "buttons": ["jump", "left"]}]))
    assert one.steps == (Step(1, ("left", "jump")),)


@pytest.mark.parametrize(
    ("changes", "place", "found"),
    [
        ({"steps": [{"ticks": 0, "buttons": []}]}, "$.steps[0].ticks", "0"),
        ({"steps": [{"ticks": 1.5, "buttons": []}]}, "$.steps[0].ticks", "1.5"),
        ({"steps": [{"ticks": True, "buttons": []}]}, "$.steps[0].ticks", "true"),
        ({"steps": [{"ticks": MAX_TICKS + 1, "buttons": []}]}, "$.steps[0].ticks", "1000001"),
        ({"steps": [{"ticks": MAX_TICKS, "buttons": []}, {"ticks": 1, "buttons": []}]}, "$.steps", "1000001 ticks"),
        ({"steps": [{"ticks": 1}]}, "$.steps[0]", 'no key "buttons"'),
        ({"steps": [{"ticks": 1, "buttons": ["up"]}]}, "$.steps[0].buttons[0]", '"up"'),
        ({"steps": [{"ticks": 1, "buttons": ["run", "run"]}]}, "$.steps[0].buttons", "a list of 2"),
        ({"steps": [{"ticks": 1, "buttons": "run"}]}, "$.steps[0].buttons", '"run"'),
        ({"steps": [{"ticks": 1, "buttons": [], "tick": 1}]}, "$.steps[0].tick", 'the unknown key "tick"'),
        ({"steps": None}, "$", 'no key "steps"'),
        ({"from": "../start"}, "$.from", '"../start"'),
        ({"level": ""}, "$.level", '""'),
        ({"movement": 3}, "$.movement", "3"),
        ({"format": "reach-script/0"}, "$.format", '"reach-script/0"'),
    ],
)
def test_a_mistake_is_named_with_its_place(changes, place, found):
    assert [problem[:2] for problem in refused(script_from_dict, script_data(**changes))] == [(place, found)]


def test_a_script_cut_off_is_refused(tmp_path):
    text = script_to_text(script_from_dict(script_data()))
    for length in range(len(text) - 2):
        (tmp_path / "a.json").write_text(text[:length])
        with pytest.raises(InputError):
            load_script(tmp_path / "a.json")
