import pkgutil
from dataclasses import replace
from itertools import pairwise

import pytest

import reach.rules
from reach.errors import InputError
from reach.findings import Severity, Verdict
from reach.rules import registry
from tests.made_evidence import evidence, goal, outlook, place

IDS = [
    "broken-promise",
    "forced-loss",
    "no-return",
    "softlock",
    "stale-accept",
    "tight-landing",
    "undecided",
    "unreachable-goal",
    "unused-ground",
]


def test_every_module_but_the_registry_is_a_rule():
    modules = {module.name for module in pkgutil.iter_modules(reach.rules.__path__)} - {"registry"}
    assert [each.id for each in registry.all_rules()] == sorted(name.replace("_", "-") for name in modules) == IDS


@pytest.mark.parametrize("each", registry.all_rules(), ids=lambda each: each.id)
def test_every_rule_has_a_manual_page_with_the_fixed_headings(each):
    lines = each.page.splitlines()
    headings = [above for above, below in pairwise(lines) if below and set(below) == {"-"}]
    assert tuple(headings) == registry.HEADINGS
    for heading, rule in pairwise(lines):
        if rule and set(rule) == {"-"}:
            assert len(heading) == len(rule)
    assert each.summary == lines[0] and each.summary.endswith(".")


@pytest.mark.parametrize("each", registry.all_rules(), ids=lambda each: each.id)
def test_every_rule_has_exactly_one_function(each):
    assert (each.find is None) != (each.find_among is None)


def test_an_unknown_rule_is_the_users_mistake():
    with pytest.raises(InputError, match=r"'soft-lock'.*softlock"):
        registry.rule("soft-lock")
    assert registry.rule("softlock").id == "softlock"


def test_findings_come_sorted_by_severity_then_rule_then_place():
    out = Verdict.UNREACHABLE
    places = [place(verdict=out), goal(verdict=out), place("pickup-2", at=(2, 1), verdict=out)]
    answers = (outlook(2, "softlock"), outlook(1, "softlock"))
    made = evidence(places, unreachable=[(5, 2)], outlooks=answers)
    found = [(one.severity, one.rule, one.at) for one in registry.judge(made)]
    assert found == [
        (Severity.ERROR, "softlock", (6, 2)),
        (Severity.ERROR, "softlock", (10, 2)),
        (Severity.ERROR, "unreachable-goal", (8, 1)),
        (Severity.WARNING, "unreachable-goal", (2, 1)),
        (Severity.WARNING, "unreachable-goal", (3, 1)),
        (Severity.NOTE, "unused-ground", (5, 2)),
    ]


def test_an_accepted_finding_keeps_its_severity_and_gets_the_reason():
    made = evidence([goal(verdict=Verdict.UNREACHABLE)], accept=[{"rule": "unreachable-goal", "reason": "a test map"}])
    (finding,) = registry.judge(made)
    assert (finding.accepted, finding.severity) == ("a test map", Severity.ERROR)
    assert registry.accepts(made.level.accept[0], finding)
    assert not registry.accepts(made.level.accept[0], replace(finding, rule="softlock"))
