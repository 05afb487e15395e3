"""`reach settings`, and commands for which settings hold."""

import json

import jsonschema
import pytest
import typer

from reach.cli.app import app
from reach.findings import Severity
from reach.schema import load_schema


@pytest.fixture
def project(here, quay):
    """The folder in which `reach` runs, which settings above it do not reach."""
    (here / ".git").mkdir()
    return here


def test_the_list_names_every_setting_its_value_and_where_it_comes_from(run, project):
    (project / "reach.toml").write_text('movement = "stroller.json"\nfail_on = "note"\n')
    told = run("settings").out.splitlines()
    assert told[0] == "settings of reach.toml"
    rows = {line.split()[0]: line.split() for line in told[2:]}
    assert set(rows) == {"setting", *load_schema("settings")["properties"]}
    assert rows["movement"][1:3] == ["stroller.json", "reach.toml"]
    assert rows["fail_on"][1:3] == ["note", "reach.toml"]
    assert rows["window_ms"][1:3] == ["60.0", "default"]
    assert rows["jobs"][1:3] == ["-", "default"]


def test_the_list_as_json_keeps_to_its_schema(run, project):
    data = json.loads(run("settings", "--format", "json").out)
    jsonschema.validate(data, load_schema("settings_list"))
    assert (data["file"], data["looked_in"]) == (None, ["."])
    values = {row["setting"]: (row["value"], row["from"]) for row in data["settings"]}
    assert values["fail_on"] == ("error", "default")
    assert run("settings").out.startswith("no settings: no reach.toml, and no [tool.reach] in a pyproject.toml, in .\n")


def test_commands_that_share_a_setting_share_its_default():
    commands = typer.main.get_command(app).commands.values()
    for key in load_schema("settings")["properties"]:
        defaults = {each.default for command in commands for each in command.params if each.name == key}
        assert len(defaults) == 1, key


def test_the_command_line_wins_over_settings_and_settings_over_defaults(run, project, checker):
    (project / "pyproject.toml").write_text(
        '[tool.reach]\nmovement = "stroller.json"\nwindow_ms = 42.5\ntime_limit = 9\nfail_on = "note"\n'
    )
    assert run("check", "quay.json", "--time-limit", "7").code == 0
    _, movement, options = checker.calls[-1]
    assert (movement.name, options.window_threshold_ms, options.time_limit_s) == ("stroller", 42.5, 7)
    assert options.timing_spread_ms == 25.0
    assert checker.report.count(Severity.ERROR) == 0


def test_a_file_that_is_set_and_missing_is_told_only_where_it_is_needed(run, project, checker):
    (project / "reach.toml").write_text('movement = "strolr.json"\n')
    ran = run("check", "quay.json")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith('reach: reach.toml: movement: found "strolr.json", where there is nothing')
    assert run("check", "quay.json", "-m", "stroller.json").code == 0
    assert run("explain").code == 0


def test_a_mistake_in_the_settings_stops_every_command_that_has_some(run, project):
    (project / "reach.toml").write_text('movement = "stroller.json"\nfail_om = "note"\n')
    for words in (["settings"], ["check", "quay.json"], ["world"]):
        ran = run(*words)
        assert (ran.code, ran.out) == (2, "")
        assert 'did you mean "fail_on"?' in ran.err and ran.err.count("\n") == 1
    assert run("explain").code == 0


def test_a_world_that_is_set_and_a_movement_for_what_names_none(run, project):
    world = {
        "format": "reach-world/1",
        "name": "House",
        "levels": [{"id": "quay", "file": "quay.json"}],
        "start": "quay",
    }
    (project / "house.world.json").write_text(json.dumps(world))
    (project / "reach.toml").write_text('world = "house.world.json"\nmovement = "stroller.json"\njobs = 1\n')
    assert run("world", "--no-cache").out.startswith("OK  House: 1 level")
    # A profile that the world file names is not replaced by one that is set for the project.
    (project / "house.world.json").write_text(json.dumps(world | {"movement": "none.json"}))
    ran = run("world", "--no-cache")
    assert ran.code == 2 and "none.json: found no such file" in ran.err
