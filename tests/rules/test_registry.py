import pkgutil
from dataclasses import replace
from itertools import pairwise

import pytest

import reach.rules
from reach.findings import Severity, Verdict
from reach.reachability.result import NearestMiss
from reach.rules import registry, unreachable_goal
from tests.made_evidence import GOAL, evidence, goal, move, outlook, over, place

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


def test_findings_come_sorted_by_severity_then_rule_then_place():
    out = Verdict.UNREACHABLE
    gate = place("gate", "checkpoint", (8, 1), required=True, verdict=out)
    places = [place(verdict=out), goal(), gate, place("pickup-2", at=(2, 1), verdict=out)]
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


def unfinished(verdict):
    """Evidence in which each rule that reads an exploration would claim something if it took this one for finished."""
    places = [goal(), place(verdict=verdict), place("pickup-2", at=(2, 1), verdict=verdict, must_be="reachable")]
    made = evidence(
        places,
        unreachable=[(10, 2)] if verdict is Verdict.UNREACHABLE else (),
        undecided=[(10, 2)] if verdict is Verdict.UNDECIDED else (),
        over_moves=[over(0, 1), over(1, 3)],
        touches=[(3, 0)],
        proved=[(0, 1, 0), (1, 3, 1), (3, GOAL, None)],
        moves=[move(window_ticks=2), move((5, 2), (6, 4))],
        route=[0, 1],
        misses=dict.fromkeys((1, 2), NearestMiss(0, (60.0, 35.0), (69.0, 32.0))),
        accept=[{"rule": "softlock", "reason": "a trap"}],
        outlooks=(outlook(2, "undecided", why="the memory limit was reached while exploring from there"),),
    )
    return replace(made, exploration=replace(made.exploration, complete=False, why="memory limit"))


CLAIMS = ("no input", "No input", "Every way", "cannot be", "Nobody", "can never", "is not found")


@pytest.mark.parametrize("each", registry.all_rules(), ids=lambda each: each.id)
def test_after_a_limit_no_rule_claims_that_something_cannot_be(each):
    """Finished, the same evidence makes the rules that read the exploration itself claim something."""
    made = unfinished(Verdict.UNDECIDED)
    found = each.find(made) if each.find else each.find_among(made, [])
    assert [one.message for one in found if any(claim in one.message for claim in CLAIMS)] == []
    finished = replace(made, exploration=replace(made.exploration, complete=True, why=""))
    found = each.find(finished) if each.find else each.find_among(finished, [])
    claims = [one for one in found if any(claim in one.message for claim in CLAIMS)]
    assert bool(claims) == (each.id in ("no-return", "stale-accept", "tight-landing"))


def test_what_a_visit_of_all_states_excludes_is_told_without_a_nearest_miss():
    """The verdict is then proved, but a body may come nearer than an exploration that was cut short has seen."""
    found = unreachable_goal.find(unfinished(Verdict.UNREACHABLE))
    assert len(found) == 2
    assert all(one.details["nearest_miss"] is None and "nearest" not in one.message for one in found)
