import pytest

from reach.findings import Severity, Verdict
from reach.rules.broken_promise import find
from reach.script import script_to_dict
from tests.made_evidence import evidence, place, script


def test_a_reached_place_that_must_be_unreachable_is_an_error_with_the_script():
    (finding,) = find(evidence([place(must_be="unreachable")]))
    assert (finding.rule, finding.severity, finding.at) == ("broken-promise", Severity.ERROR, (3, 1))
    assert finding.details["script"] == script_to_dict(script())
    assert "12 ticks" in finding.message


def test_an_unreachable_place_that_must_be_reachable_is_an_error():
    (finding,) = find(evidence([place(must_be="reachable", verdict=Verdict.UNREACHABLE)]))
    assert finding.severity is Severity.ERROR and finding.details["script"] is None


@pytest.mark.parametrize(
    ("must_be", "verdict"),
    [
        ("reachable", Verdict.REACHABLE),
        ("unreachable", Verdict.UNREACHABLE),
        ("reachable", Verdict.UNDECIDED),
        ("unreachable", Verdict.UNDECIDED),
        (None, Verdict.UNREACHABLE),
        (None, Verdict.REACHABLE),
    ],
)
def test_a_promise_that_is_kept_open_or_not_made_is_not_broken(must_be, verdict):
    assert find(evidence([place(must_be=must_be, verdict=verdict)])) == []
