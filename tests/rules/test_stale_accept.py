from dataclasses import replace

from reach.findings import Finding, Severity
from reach.options import CheckOptions
from reach.rules.registry import judge
from reach.rules.stale_accept import find_among
from tests.checked import checked, found
from tests.made_evidence import evidence

FOUND = Finding("unused-ground", Severity.NOTE, (5, 2), "message")


def entry(rule="unused-ground", **values):
    return {"rule": rule, "reason": "it is scenery"} | values


def test_an_entry_without_its_finding_is_stale():
    (finding,) = find_among(evidence(accept=[entry()]), [])
    assert (finding.rule, finding.severity, finding.at) == ("stale-accept", Severity.NOTE, None)
    assert finding.details == {"index": 0, "rule": "unused-ground", "reason": "it is scenery"}


def test_an_entry_with_its_finding_is_not_stale():
    assert find_among(evidence(accept=[entry()]), [FOUND]) == []
    assert find_among(evidence(accept=[entry(at=[5, 2])]), [FOUND]) == []


def test_an_entry_for_another_tile_or_rule_is_stale():
    assert find_among(evidence(accept=[entry(at=[6, 2])]), [FOUND])[0].at == (6, 2)
    assert len(find_among(evidence(accept=[entry("softlock", at=[5, 2])]), [FOUND])) == 1


def test_nothing_is_stale_after_a_limit():
    given = evidence(accept=[entry()])
    cut_short = replace(given.exploration, complete=False, why="memory limit")
    assert find_among(replace(given, exploration=cut_short), []) == []
    assert find_among(replace(given, limit="the time limit of 3 s was reached"), []) == []


def test_judging_marks_what_is_accepted_and_reports_what_is_stale():
    found = judge(evidence(unreachable=[(5, 2), (9, 2)], accept=[entry(at=[5, 2]), entry("softlock")]))
    assert [(one.rule, one.at, one.accepted) for one in found] == [
        ("stale-accept", None, None),
        ("unused-ground", (5, 2), "it is scenery"),
        ("unused-ground", (9, 2), None),
    ]


PIT = [*["............"] * 3, "@.........!.", *["####....####"] * 4, "############"]


def test_an_accepted_softlock_is_stale_once_the_pit_is_shallow():
    accept = [entry("softlock", at=[5, 8])]
    report = checked(PIT, accept=accept)
    assert [one.accepted for one in found(report, "softlock")] == ["it is scenery"]
    assert found(report, "stale-accept") == [] and report.count(Severity.ERROR) == 0
    shallow = [*PIT[:6], "############", *PIT[7:]]
    assert len(found(checked(shallow, accept=accept), "stale-accept")) == 1


def test_a_check_without_time_asks_to_remove_no_entry():
    report = checked(PIT, CheckOptions(time_limit_s=1e-9), accept=[entry("softlock", at=[5, 8])])
    assert not report.complete and found(report, "stale-accept") == []
