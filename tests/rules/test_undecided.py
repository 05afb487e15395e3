import pytest

from reach.findings import Severity, Verdict
from reach.options import CheckOptions
from reach.rules.undecided import find
from tests.checked import checked, found
from tests.made_evidence import evidence, goal, outlook, place

OPEN = Verdict.UNDECIDED


@pytest.mark.parametrize(
    ("one", "severity"),
    [
        (goal(verdict=OPEN), Severity.ERROR),
        (place(verdict=OPEN), Severity.WARNING),
        (place(verdict=OPEN, required=True), Severity.ERROR),
        (place(verdict=OPEN, must_be="unreachable"), Severity.ERROR),
    ],
)
def test_an_undecided_place_is_an_error_where_something_depends_on_it(one, severity):
    (finding,) = find(evidence([one]))
    assert (finding.rule, finding.severity, finding.at) == ("undecided", severity, one.at)


def test_it_is_said_why_the_search_for_scripts_ended():
    made = evidence([goal(verdict=OPEN)], undecided=[(5, 2)], search_end="the search for scripts ran out of room")
    found = find(made)
    assert len(found) == 2
    assert all("No script was found: the search for scripts ran out of room." in one.message for one in found)
    assert {one.details["why"] for one in found} == {"the search for scripts ran out of room"}


def test_what_is_decided_is_not_found():
    assert find(evidence([goal(), place(verdict=Verdict.UNREACHABLE)], unreachable=[(5, 2)])) == []


def test_undecided_tiles_are_one_warning_an_area():
    found = find(evidence(undecided=[(5, 2), (6, 2), (0, 4)]))
    assert [(one.severity, one.at) for one in found] == [(Severity.WARNING, (5, 2)), (Severity.WARNING, (0, 4))]


def test_a_foothold_without_answer_is_a_warning_with_the_reason():
    found = find(evidence([goal()], outlooks=(outlook(0, "free"), outlook(1, "undecided", why="the search gave up"))))
    assert [(one.severity, one.at) for one in found] == [(Severity.WARNING, (6, 2))]
    assert "the search gave up" in found[0].message


def test_footholds_open_for_one_reason_are_one_warning():
    answers = (outlook(0, "undecided", why="a"), outlook(1, "undecided", why="b"), outlook(2, "undecided", why="a"))
    first, second = find(evidence([goal()], outlooks=answers))
    assert "1 other foothold" in first.message and len(first.marks) == 2
    assert second.details == {"verdict": "undecided", "footholds": [{"row": 2, "columns": [5, 7]}], "why": "b"}


def test_a_limit_is_a_warning_about_the_whole_level():
    (finding,) = find(evidence([goal()], limit="the time limit of 3 s was reached"))
    assert (finding.severity, finding.at) == (Severity.WARNING, None)
    assert "the time limit of 3 s was reached" in finding.message


WAY = ["......", "......", "@...!.", "######"]


def test_a_check_without_time_decides_nothing_and_one_with_time_everything():
    late = found(checked(WAY, CheckOptions(time_limit_s=1e-9)), "undecided")
    assert [one.at for one in late if one.severity is Severity.ERROR] == [(4, 2)]
    assert [one for one in late if one.at is None]
    assert found(checked(WAY), "undecided") == []
