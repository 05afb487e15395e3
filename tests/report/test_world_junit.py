"""JUnit XML, for which there is no standard, against the two schemas in use, and as junitparser reads it.

The loose one is junit-10.xsd, kept beside this file with its licence. The strict one, of the Ant tasks (JUnit.xsd of
Windy Road Technology), is restated here: what must be there, of which type and in which order.
"""

import io
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
import xmlschema
from junitparser import Error, Failure, JUnitXml, Skipped

from reach.cli.rule_pages import rule_pages
from reach.findings import Severity
from reach.report.world_junit import dump
from reach.world.result import Job
from reach.world.world_file import WorldAccept
from tests.made_reports import MEANT, SOFTLOCK, TIGHT_LANDING, UNUSED
from tests.made_worlds import NO, judged, judged_part, made_world

LEVEL_RULES = [page.id for page in rule_pages() if not page.of_world]
WORLD_RULES = [page.id for page in rule_pages() if page.of_world]
ROOMS = {"hall": {"a": "exit", "b": "exit"}, "den": {"lamp": "goal"}, "attic": {}, "lost": None}
LINKS = {"hall/a": "den/in", "hall/b": "lost/gate"}
FOUND = {Job("hall", "in"): (SOFTLOCK, replace(SOFTLOCK, at=(5, 5)), TIGHT_LANDING, UNUSED, MEANT)}

STRICT = """
<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema">
  <xs:simpleType name="filled"><xs:restriction base="xs:token">
    <xs:minLength value="1"/>
  </xs:restriction></xs:simpleType>
  <xs:simpleType name="local"><xs:restriction base="xs:dateTime">
    <xs:pattern value="[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}"/>
  </xs:restriction></xs:simpleType>
  <xs:complexType name="bad"><xs:simpleContent><xs:extension base="xs:string">
    <xs:attribute name="message" type="xs:string"/>
    <xs:attribute name="type" type="xs:string" use="required"/>
  </xs:extension></xs:simpleContent></xs:complexType>
  <xs:complexType name="empty"/>
  <xs:complexType name="property">
    <xs:attribute name="name" type="filled" use="required"/>
    <xs:attribute name="value" type="xs:string" use="required"/>
  </xs:complexType>
  <xs:complexType name="properties"><xs:sequence>
    <xs:element name="property" type="property" minOccurs="0" maxOccurs="unbounded"/>
  </xs:sequence></xs:complexType>
  <xs:complexType name="testcase">
    <xs:choice minOccurs="0">
      <xs:element name="skipped" type="empty"/>
      <xs:element name="error" type="bad"/>
      <xs:element name="failure" type="bad"/>
    </xs:choice>
    <xs:attribute name="name" type="xs:token" use="required"/>
    <xs:attribute name="classname" type="xs:token" use="required"/>
    <xs:attribute name="time" type="xs:decimal" use="required"/>
  </xs:complexType>
  <xs:complexType name="testsuite">
    <xs:sequence>
      <xs:element name="properties" type="properties"/>
      <xs:element name="testcase" type="testcase" minOccurs="0" maxOccurs="unbounded"/>
      <xs:element name="system-out" type="xs:string"/>
      <xs:element name="system-err" type="xs:string"/>
    </xs:sequence>
    <xs:attribute name="package" type="xs:token" use="required"/>
    <xs:attribute name="id" type="xs:int" use="required"/>
    <xs:attribute name="name" type="filled" use="required"/>
    <xs:attribute name="timestamp" type="local" use="required"/>
    <xs:attribute name="hostname" type="filled" use="required"/>
    <xs:attribute name="tests" type="xs:int" use="required"/>
    <xs:attribute name="failures" type="xs:int" use="required"/>
    <xs:attribute name="errors" type="xs:int" use="required"/>
    <xs:attribute name="skipped" type="xs:int"/>
    <xs:attribute name="time" type="xs:decimal" use="required"/>
  </xs:complexType>
  <xs:element name="testsuites"><xs:complexType><xs:sequence>
    <xs:element name="testsuite" type="testsuite" minOccurs="0" maxOccurs="unbounded"/>
  </xs:sequence></xs:complexType></xs:element>
</xs:schema>
"""


@pytest.fixture(scope="module", params=["strict", "loose"])
def schema(request):
    loose = (Path(__file__).parent / "junit-10.xsd").read_text(encoding="utf-8")
    return xmlschema.XMLSchema(STRICT if request.param == "strict" else loose)


def made(start="hall/in", rooms=ROOMS, links=LINKS, found=FOUND, must_reach=("den/lamp",), table=None, **values):
    world = made_world(rooms, links, start, must_reach if start else ())
    return judged(replace(world, **values), table or {"den/in": {"lamp": NO}}, findings=found)


def good(**values):
    return made("hall/in", {"hall": {"a": "exit"}}, {"hall/a": "hall/in"}, {}, (), **values)


def late():
    report = good()
    (level,) = report.levels
    (outcome,) = level.outcomes
    outcome = replace(outcome, report=replace(outcome.report, complete=False, incomplete_why="a limit was reached"))
    return replace(report, levels=(replace(level, outcomes=(outcome,)),))


def text_of(report, fail_on=Severity.ERROR):
    return dump(report, LEVEL_RULES, WORLD_RULES, fail_on)


def suites(report, fail_on=Severity.ERROR):
    """By a suite's name, what became of its tests, as junitparser reads it."""
    return {
        suite.name: {case.name: case.result[0] if case.result else None for case in suite}
        for suite in JUnitXml.fromroot(ElementTree.fromstring(text_of(report, fail_on)))
    }


@pytest.mark.parametrize(
    "report", [made(), made(None, links={}), good(), late()], ids=["world", "folder", "good", "late"]
)
def test_keeps_to_both_schemas(schema, report):
    assert [str(error) for error in schema.iter_errors(io.StringIO(text_of(report)))] == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (' timestamp="1970-01-01T00:00:00"', ' timestamp="1970-01-01T00:00:00Z"'),
        (' hostname="localhost"', ""),
        ("<system-err />", ""),
    ],
)
def test_the_strict_schema_refuses_what_is_none(old, new):
    assert not xmlschema.XMLSchema(STRICT).is_valid(text_of(made()).replace(old, new))


def test_a_suite_for_the_world_and_for_each_level_with_a_test_for_each_check_and_rule():
    read = suites(made())
    assert list(read) == ["made", "hall", "den", "attic", "lost"]
    assert list(read["made"]) == WORLD_RULES
    assert list(read["hall"]) == ["check from in", *LEVEL_RULES]
    assert list(read["attic"]) == LEVEL_RULES
    assert list(suites(made(None, links={}))) == ["hall", "den", "attic", "lost"]


def test_what_was_found_fails_its_test():
    read = suites(made())
    softlock = read["hall"]["softlock"]
    assert isinstance(softlock, Failure)
    assert (softlock.type, softlock.message) == ("softlock", "From the cistern no input leads to a goal. (and 1 more)")
    assert softlock.text.splitlines() == [
        "softlock on tile 4,5, from in: From the cistern no input leads to a goal. To do: Add a way out.",
        "softlock on tile 5,5, from in: From the cistern no input leads to a goal. To do: Add a way out.",
    ]
    goal = read["made"]["goal-out-of-reach"]
    assert isinstance(goal, Failure) and goal.text.startswith("goal-out-of-reach of den/lamp: The goal 'den/lamp' must")
    assert {name for name, result in read["hall"].items() if result} == {"softlock"}


@pytest.mark.parametrize(
    ("fail_on", "failing"),
    [
        (Severity.ERROR, {"softlock"}),
        (Severity.WARNING, {"softlock", "tight-landing"}),
        (Severity.NOTE, {"softlock", "tight-landing", "unused-ground"}),
    ],
)
def test_a_test_fails_for_what_fails_the_command_and_the_rest_is_told(fail_on, failing):
    read = suites(made(), fail_on)["hall"]
    assert {name for name, result in read.items() if isinstance(result, Failure)} == failing
    out = ElementTree.fromstring(text_of(made(), fail_on)).findtext("testsuite[@name='hall']/system-out") or ""
    for start, rule in (
        ("warning: tight-landing on tile 6,1, from in: The", "tight-landing"),
        ("note: unused-", "unused-ground"),
    ):
        assert (start in out) == (rule not in failing)
    assert out.splitlines()[-2:].count("accepted: no-return on tile 4,2, from in: The tide has come in.") == 1


def test_where_a_timing_is_told_it_is_said_to_be_no_promise():
    for fail_on in Severity:
        assert text_of(made(), fail_on).count("none of accessibility") == 1
    assert "accessibility" not in text_of(made(found={}))


def test_what_failed_is_an_error_and_leaves_its_rules_open():
    read = suites(made())["lost"]
    check = read.pop("check from gate")
    assert isinstance(check, Error)
    assert (check.type, check.message) == ("failed", "lost.json: found no such file; allowed: a file")
    assert {type(result) for result in read.values()} == {Skipped}
    broken = suites(made(links={"hall/a": "den/in"}))["lost"]
    assert isinstance(broken["check"], Error)


@pytest.mark.parametrize(
    ("report", "level"), [(made(), "attic"), (late(), "hall")], ids=["a level that nobody enters", "a limit"]
)
def test_what_was_not_looked_at_to_the_end_passes_nothing(report, level):
    assert {type(result) for result in suites(report)[level].values()} == {Skipped}


def test_a_rule_of_the_world_passes_only_where_all_was_checked():
    assert set(suites(good())["made"].values()) == {None}
    assert {type(result) for result in suites(late())["made"].values()} == {Skipped}
    assert set(suites(good())["hall"].values()) == {None}


def test_what_is_accepted_does_not_fail():
    accept = (WorldAccept("loose-exit", None, None, "A painted door."),)
    report = made("hall/in", {"hall": {"a": "exit"}}, {}, {}, (), accept=accept)
    assert set(suites(report, Severity.NOTE)["made"].values()) == {None}
    out = ElementTree.fromstring(text_of(report)).findtext("testsuite[@name='made']/system-out")
    assert out == "accepted: loose-exit of hall/a: A painted door."


def test_a_rule_that_looks_at_levels_too_has_its_test_in_the_world_when_it_finds_something_there():
    report = good(accept=(WorldAccept("loose-exit", None, None, "None."),))
    assert isinstance(suites(report, Severity.NOTE)["made"]["stale-accept"], Failure)


def test_the_counts_are_those_of_the_tests():
    counted = {
        "tests": "testcase",
        "failures": "testcase/failure",
        "errors": "testcase/error",
        "skipped": "testcase/skipped",
    }
    for number, suite in enumerate(ElementTree.fromstring(text_of(made()))):
        assert suite.get("id") == str(number)
        for name, path in counted.items():
            assert suite.get(name) == str(len(suite.findall(path))), name


def test_a_level_without_an_ending_says_what_was_not_asked():
    report = good()
    (level,) = report.levels
    (outcome,) = level.outcomes
    endless = replace(outcome, report=replace(outcome.report, has_ending=False))
    assert "No place ends this level" in text_of(replace(report, levels=(replace(level, outcomes=(endless,)),)))
    assert "No place ends this level" not in text_of(report)


def test_names_may_hold_anything(schema):
    odd = replace(SOFTLOCK, message='A <b> & "c" \x01\ufffe\n]]>', advice="")
    report = replace(made(found={Job("hall", "in"): (odd,)}), name="  ")
    assert schema.is_valid(io.StringIO(text_of(report)))
    result = suites(report)["hall"]["softlock"]
    assert result.message == 'A <b> & "c" \N{REPLACEMENT CHARACTER}\N{REPLACEMENT CHARACTER}\n]]>'


def test_the_time_and_the_host_are_always_the_same():
    heads = [
        (suite.get("timestamp"), suite.get("hostname"), suite.get("time"))
        for suite in ElementTree.fromstring(text_of(made()))
    ]
    assert set(heads) == {("1970-01-01T00:00:00", "localhost", "0")}


def test_a_level_that_was_not_checked_is_skipped_whole_and_so_are_rules_of_the_world():
    world = made_world({"hall": {"a": "exit"}, "den": {}}, {"hall/a": "den/in"}, "hall/in")
    text = dump(judged_part(world, ["hall"]), ["softlock"], ["loose-exit"], Severity.ERROR)
    suites = {suite.get("name"): suite for suite in ElementTree.fromstring(text)}
    counts = {name: (suite.get("tests"), suite.get("skipped")) for name, suite in suites.items()}
    assert counts == {"made": ("1", "1"), "hall": ("2", "0"), "den": ("2", "2")}
    assert suites["den"].find("system-out").text.startswith("Not checked: ")
    assert suites["made"].find("properties/property[@name='changed since']").get("value") == "main"
