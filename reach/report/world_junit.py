"""The report on a world as JUnit XML, which CI services show as a table of tests.

A suite is the world, or a level; a test is a check of the level from one entrance, or a rule that could find something
there. So the names are the same in every run, and a rule that begins to find something is a test that begins to fail.
It fails for what would make the command end with 1. It is skipped where a check that failed or was not finished leaves
open whether there is more to find, and where a level was not checked since it has not changed.

There is no standard. The document keeps to the strictest schema in use, that of the Ant tasks in its form that knows
skipped tests. It wants times and a host: output is the same in every run, so these are always the same too, and mean
nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from reach.findings import Severity
from reach.report.text_report import NO_ENDING, TIMING_NOTE
from reach.report.world_findings import world_title
from reach.report.world_table import where_words

if TYPE_CHECKING:
    from reach.world.result import LevelResult, WorldReport

TIMESTAMP = "1970-01-01T00:00:00"
HOSTNAME = "localhost"
TIME_S = "0"

_NO_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What no XML 1.0 document may hold (Extensible Markup Language 1.0, 2.2, Char)."""


@dataclass(frozen=True)
class _Told:
    """A finding that no file accepts, in words."""

    rule: str
    severity: Severity
    message: str
    line: str
    timed: bool = False


@dataclass(frozen=True)
class _Case:
    """One test: `error` or `failure` as (type, message, text)."""

    name: str
    error: tuple[str, str, str] | None = None
    failure: tuple[str, str, str] | None = None
    skipped: bool = False


@dataclass(frozen=True)
class _Suite:
    """One suite; `out` is what it tells beside its tests."""

    name: str
    classname: str
    properties: Mapping[str, str]
    cases: Sequence[_Case]
    out: Sequence[str] = field(default=())


def dump(report: WorldReport, level_rules: Iterable[str], world_rules: Iterable[str], fail_on: Severity) -> str:
    """Return the report as XML text.

    Parameters
    ----------
    report : WorldReport
    level_rules, world_rules : iterable of str
        The ids of all rules that find something in a level, and in a world.
    fail_on : Severity
        What is found fails its test from this severity on; what weighs less is told in the suite's output.
    """
    world = " ".join(report.name.split()) or "world"
    suites = [_of_world(report, world, sorted(world_rules), fail_on)] if report.linked else []
    suites += [_of_level(report, world, level, sorted(level_rules), fail_on) for level in report.levels]
    root = ElementTree.Element("testsuites")
    for number, suite in enumerate(suites):
        _add(root, suite, number, world)
    ElementTree.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ElementTree.tostring(root, encoding="unicode")}\n'


def _of_world(report: WorldReport, name: str, rules: Sequence[str], fail_on: Severity) -> _Suite:
    told = []
    for found in report.findings:
        if found.accepted is None:
            line = _line(world_title(found), found.message, found.advice)
            told.append(_Told(found.rule, found.severity, found.message, line, "window_ticks" in found.details))
    properties = {"product": report.product, "start": "/".join(report.start or ()), **_part(report)}
    out = _out(told, fail_on)
    for found in report.findings:
        if found.accepted is not None:
            out.append(_meant(world_title(found), found.accepted))
    return _Suite(name, name, properties, _rule_cases(rules, told, report.complete, fail_on), out)


def _of_level(report: WorldReport, world: str, level: LevelResult, rules: Sequence[str], fail_on: Severity) -> _Suite:
    told = []
    for entry in level.findings:
        found = entry.finding
        if found.accepted is None:
            what = f"{found.rule}{where_words(found)}, from {', '.join(entry.entrances)}"
            line = _line(what, found.message, found.advice)
            told.append(_Told(found.rule, found.severity, found.message, line, "window_ticks" in found.details))
    known = bool(level.outcomes) and level.complete
    cases = [*_check_cases(level), *_rule_cases(rules, told, known, fail_on)]
    properties = {
        "product": report.product,
        "file": level.file,
        "name": level.level_name,
        "movement": level.movement_name,
        "entered": level.verdict.value,
        **_part(report),
    }
    out = _out(told, fail_on)
    for entry in level.findings:
        if entry.finding.accepted is not None:
            what = f"{entry.finding.rule}{where_words(entry.finding)}, from {', '.join(entry.entrances)}"
            out.append(_meant(what, entry.finding.accepted))
    if level.left_out:
        out.append(f"Not checked: nothing that it follows from has changed since {report.changed_since}.")
    if any(one.report is not None and not one.report.has_ending for one in level.outcomes):
        out.append(NO_ENDING)
    return _Suite(level.id, f"{world}.{level.id}", properties, cases, out)


def _part(report: WorldReport) -> dict[str, str]:
    return {"changed since": report.changed_since} if report.changed_since else {}


def _check_cases(level: LevelResult) -> list[_Case]:
    """The checks from each entrance; where nobody enters a level, what is wrong with its file if anything is."""
    if level.left_out:
        return [_Case("check", skipped=True)]
    cases = []
    for outcome in level.outcomes:
        name = f"check from {outcome.job.entrance}"
        if outcome.report is None:
            why = level.why or outcome.why
            cases.append(_Case(name, error=("failed", why, why)))
        else:
            cases.append(_Case(name, skipped=not outcome.report.complete))
    if level.why and not cases:
        cases.append(_Case("check", error=("failed", level.why, level.why)))
    return cases


def _rule_cases(rules: Iterable[str], told: Sequence[_Told], known: bool, fail_on: Severity) -> list[_Case]:
    """A test for each rule; `known` tells that everything there is to find was found."""
    cases = []
    for rule in sorted({*rules, *(one.rule for one in told)}):
        failing = [one for one in told if one.rule == rule and one.severity.rank >= fail_on.rank]
        if failing:
            first, *others = failing
            message = first.message + (f" (and {len(others)} more)" if others else "")
            lines = [one.line for one in failing] + _timing_note(failing)
            cases.append(_Case(rule, failure=(rule, message, "\n".join(lines))))
        else:
            cases.append(_Case(rule, skipped=not known))
    return cases


def _out(told: Sequence[_Told], fail_on: Severity) -> list[str]:
    rest = [one for one in told if one.severity.rank < fail_on.rank]
    return [f"{one.severity.value}: {one.line}" for one in rest] + _timing_note(rest)


def _meant(what: str, why: str) -> str:
    return f"accepted: {what}: {why}"


def _timing_note(told: Iterable[_Told]) -> list[str]:
    return [TIMING_NOTE] if any(one.timed for one in told) else []


def _line(what: str, message: str, advice: str) -> str:
    return f"{what}: {message}{f' To do: {advice}' if advice else ''}"


def _add(root: ElementTree.Element, suite: _Suite, number: int, package: str) -> None:
    element = ElementTree.SubElement(
        root,
        "testsuite",
        {
            "package": _legal(package),
            "id": str(number),
            "name": _legal(suite.name),
            "timestamp": TIMESTAMP,
            "hostname": HOSTNAME,
            "tests": str(len(suite.cases)),
            "failures": str(sum(case.failure is not None for case in suite.cases)),
            "errors": str(sum(case.error is not None for case in suite.cases)),
            "skipped": str(sum(case.skipped for case in suite.cases)),
            "time": TIME_S,
        },
    )
    properties = ElementTree.SubElement(element, "properties")
    for name, value in suite.properties.items():
        ElementTree.SubElement(properties, "property", {"name": name, "value": _legal(value)})
    for case in suite.cases:
        attributes = {"name": _legal(case.name), "classname": _legal(suite.classname), "time": TIME_S}
        test = ElementTree.SubElement(element, "testcase", attributes)
        for tag, told in (("error", case.error), ("failure", case.failure)):
            if told is not None:
                kind, message, text = map(_legal, told)
                ElementTree.SubElement(test, tag, {"type": kind, "message": message}).text = text
        if case.skipped:
            ElementTree.SubElement(test, "skipped")
    ElementTree.SubElement(element, "system-out").text = _legal("\n".join(suite.out))
    ElementTree.SubElement(element, "system-err")


def _legal(text: str) -> str:
    return _NO_XML.sub("\N{REPLACEMENT CHARACTER}", text)
