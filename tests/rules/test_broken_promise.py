import pytest

from reach.findings import Severity, Verdict
from reach.rules.broken_promise import find
from reach.script import script_from_dict, script_to_dict
from reach.simulator import replay
from tests.checked import checked, found, level, movement
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


def attic(height):
    """A pickup so many tiles up; the jump rises two and a half, the body is 20 px tall."""
    sky, below = ["............"] * (6 - height), ["............"] * (height - 1)
    return [*sky, "....*.......", *below, "@.........!.", "############"]


def test_an_attic_within_reach_breaks_its_promise():
    symbols = {"*": {"place": "pickup", "must_be": "unreachable"}}
    (finding,) = found(checked(attic(3), symbols=symbols), "broken-promise")
    assert finding.at == (4, 3)
    rows = replay(level(attic(3), symbols=symbols), movement(), script_from_dict(finding.details["script"])).rows
    assert "pickup-1" in rows[-1].places
    assert found(checked(attic(5), symbols=symbols), "broken-promise") == []


def test_the_same_attic_meant_to_be_reached_breaks_it_the_other_way():
    symbols = {"*": {"place": "pickup", "must_be": "reachable"}}
    assert found(checked(attic(3), symbols=symbols), "broken-promise") == []
    assert len(found(checked(attic(5), symbols=symbols), "broken-promise")) == 1
