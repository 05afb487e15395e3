import json

import pytest

from tests.cli.conftest import MOVEMENT


@pytest.fixture
def profiles(tmp_path) -> list[str]:
    higher = {**MOVEMENT, "name": "climber", "body": {"width_px": 10, "height_px": 18}}
    (tmp_path / "stroller.json").write_text(json.dumps(MOVEMENT), encoding="utf-8")
    (tmp_path / "climber.json").write_text(json.dumps(higher), encoding="utf-8")
    return ["stroller.json", "climber.json"]


def test_differences_are_told_and_no_failure(run, profiles):
    ran = run("movement", "compare", *profiles)
    assert ran.code == 0
    assert ran.out.startswith("stroller -> climber")
    assert "corridor to walk through" in ran.out


def test_they_can_be_made_a_failure(run, profiles):
    assert run("movement", "compare", *profiles, "--fail-on-change").code == 1
    same = run("movement", "compare", profiles[0], profiles[0], "--fail-on-change")
    assert same.code == 0 and "No figure differs." in same.out


def test_json_to_standard_output_and_to_a_file(run, profiles, here):
    printed = run("movement", "compare", *profiles, "--format", "json")
    assert json.loads(printed.out)["format"] == "reach-movement-comparison/1"
    assert run("movement", "compare", *profiles, "-o", "changes.json").code == 0
    assert (here / "changes.json").read_text(encoding="utf-8") == printed.out
    assert run("movement", "compare", *profiles, "-o", "changes.txt").code == 0
    assert "corridor to walk through" in (here / "changes.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["stroller.json", "climber.json", "-o", "changes.png"], "its name must end in .txt or .json"),
        (["stroller.json", "climber.json", "-o", "climber.json"], "another file of this command has the same name"),
        (["-", "-"], "2 files to be read from it"),
        (["stroller.json", "none.json"], "none.json"),
        (["stroller.json", "climber.json", "--window-ms", "-1"], "--window-ms"),
    ],
)
def test_a_mistake_is_told(run, profiles, words, told):
    ran = run("movement", "compare", *words)
    assert ran.code == 2 and ran.out == ""
    assert told in ran.err
