import json

import jsonschema
import pytest
from referencing import Registry, Resource

from reach.report import json_report
from reach.report.world_json import dump
from reach.schema import load_schema
from reach.world.result import Job
from tests.made_reports import MEANT, SOFTLOCK
from tests.made_worlds import NO, judged, judged_part, made_world

ROOMS = {"hall": {"a": "exit", "b": "exit"}, "den": {"lamp": "goal"}, "attic": {}, "lost": None}
LINKS = {"hall/a": "den/in", "hall/b": "lost/gate"}


def made(start="hall/in", links=LINKS):
    told = {Job("hall", "in"): (SOFTLOCK, MEANT)}
    return judged(
        made_world(ROOMS, links, start, ("den/lamp",) if start else ()), {"den/in": {"lamp": NO}}, findings=told
    )


@pytest.fixture(scope="module")
def validator():
    schemas = [load_schema(name) for name in ("report", "world_report")]
    registry = Registry().with_resources((each["$id"], Resource.from_contents(each)) for each in schemas)
    return jsonschema.Draft202012Validator(schemas[1], registry=registry)


@pytest.mark.parametrize("report", [made(), made(None, {})], ids=["world", "folder"])
def test_keeps_to_the_schema(validator, report):
    assert [error.message for error in validator.iter_errors(json.loads(dump(report)))] == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "reach-report/1"),
        (("levels", 0, "entered"), "yes"),
        (("levels", 0, "entrances", 0, "report", "places", 0, "verdict"), "likely"),
        (("links", 0, "verdict"), None),
        (("findings", 0, "severity"), "fatal"),
        (("summary", "failed"), -1),
    ],
)
def test_the_schema_refuses_what_is_no_report(validator, path, value):
    data = json.loads(dump(made()))
    target = data
    for key in path[:-1]:
        target = target[key]
    target[path[-1]] = value
    assert list(validator.iter_errors(data))


def test_says_what_the_report_holds():
    report = made()
    data = json.loads(dump(report))
    assert (data["format"], data["name"], data["start"], data["linked"]) == (
        "reach-world-report/1",
        "made",
        "hall/in",
        True,
    )
    assert data["must_reach"] == ["den/lamp"] and data["complete"] is False
    hall, den, attic, lost = data["levels"]
    assert (hall["id"], hall["file"], hall["name"], hall["movement"]) == ("hall", "hall.json", "hall", "tests")
    assert hall["entrances"][0]["report"] == json.loads(json_report.dump(report.levels[0].outcomes[0].report))
    assert [(each["rule"], each["accepted"], each["entrances"]) for each in hall["findings"]] == [
        ("softlock", None, ["in"]),
        ("no-return", "The tide has come in.", ["in"]),
    ]
    assert (den["entered"], attic["entered"], attic["entrances"]) == ("reachable", "unreachable", [])
    assert lost["why"] == "lost.json: found no such file; allowed: a file"
    assert (lost["entrances"][0]["state"], lost["entrances"][0]["report"]) == ("failed", None)
    assert data["links"][0] == {"from": "hall/a", "to": "den/in", "verdict": "reachable"}
    assert [(each["rule"], each["level"], each["place"]) for each in data["findings"]] == [
        ("goal-out-of-reach", "den", "lamp"),
        ("unentered-level", "attic", None),
    ]
    assert data["summary"] == {
        "findings": {"error": 3, "warning": 0, "note": 0},
        "levels": {"reachable": 3, "unreachable": 1, "undecided": 0},
        "links": {"reachable": 2, "unreachable": 0, "undecided": 0},
        "failed": 1,
    }


def test_a_folder_has_no_start():
    data = json.loads(dump(made(None, {})))
    assert (data["linked"], data["start"], data["links"], data["findings"]) == (False, None, [], [])


def test_one_line_holds_one_finding_one_link_and_one_place():
    lines = dump(made()).splitlines()
    assert sum('"rule": "unentered-level"' in line for line in lines) == 1
    assert '    {"from": "hall/a", "to": "den/in", "verdict": "reachable"},' in lines
    assert sum(line.strip().startswith('{"id": "a", "kind": "exit"') for line in lines) == 1


def test_a_line_separator_in_a_name_is_not_taken_for_a_line():
    world = made_world({"hall": {"a": "exit"}}, {}, "hall/in")
    from dataclasses import replace

    text = dump(replace(judged(world), name="Tidal\u2028Island"))
    assert json.loads(text)["name"] == "Tidal\u2028Island"


def test_a_report_on_a_part_says_which_levels_were_not_checked(validator):
    report = judged_part(made_world({"hall": {"a": "exit"}, "den": {}}, {"hall/a": "den/in"}, "hall/in"), ["hall"])
    data = json.loads(dump(report))
    validator.validate(data)
    assert (data["changed_since"], data["complete"], data["findings"]) == ("main", False, [])
    assert [(level["id"], level["left_out"], level["entered"]) for level in data["levels"]] == [
        ("hall", False, "undecided"),
        ("den", True, "undecided"),
    ]
    assert json.loads(dump(made()))["changed_since"] is None
