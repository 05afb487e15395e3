from dataclasses import replace

import pytest

from reach.findings import MarkShape, Severity, Verdict
from reach.rules.softlock import find
from reach.script import script_from_dict, script_to_dict
from reach.simulator import replay
from tests.checked import checked, found, level, movement
from tests.made_evidence import evidence, goal, outlook, over, script


def test_a_foothold_without_way_out_is_found_with_the_way_in():
    (finding,) = find(evidence([goal()], outlooks=(outlook(1, "softlock", script(30)),)))
    assert (finding.rule, finding.severity, finding.at) == ("softlock", Severity.ERROR, (6, 2))
    assert "row 2, columns 5 to 7" in finding.message and "30 ticks" in finding.message
    assert finding.details == {
        "footholds": [{"row": 2, "columns": [5, 7], "spring": False}],
        "way_in": script_to_dict(script(30)),
    }
    assert [(mark.shape, mark.tiles) for mark in finding.marks] == [(MarkShape.FOOTHOLD, ((5, 2), (6, 2), (7, 2)))]


def test_what_is_claimed_holds_from_rest_on_ground_and_from_bounces_on_a_spring():
    """A crossing with speed, or the one press that a start on a spring allows, may still get on."""
    (finding,) = find(evidence([goal()], outlooks=(outlook(1, "softlock", script()),)))
    assert finding.message.startswith("A player who comes to rest on the foothold on row 2")
    made = evidence([goal()], outlooks=(outlook(1, "softlock", script()),))
    springs = tuple(replace(one, is_spring=one.index == 1) for one in made.exploration.footholds)
    (finding,) = find(replace(made, exploration=replace(made.exploration, footholds=springs)))
    assert finding.message.startswith("A player who bounces on the spring on row 2")


@pytest.mark.parametrize("other", ["free", "undecided", "forced-loss"])
def test_other_outlooks_are_not_found(other):
    assert find(evidence([goal()], outlooks=(outlook(1, other, script()),))) == []


def test_footholds_that_lead_to_each_other_are_one_pit_with_the_shortest_way_in():
    answers = (outlook(1, "softlock", script(30)), outlook(2, "softlock", script(20)))
    (finding,) = find(evidence([goal()], over_moves=[over(1, 2), over(2, 1)], outlooks=answers))
    assert len(finding.details["footholds"]) == 2
    assert finding.details["way_in"] == script_to_dict(script(20))
    assert "1 foothold of the same pit" in finding.message


def test_footholds_of_which_only_one_leads_to_the_other_are_two_pits():
    answers = (outlook(1, "softlock", script()), outlook(2, "softlock", script()))
    assert len(find(evidence([goal()], over_moves=[over(1, 2)], outlooks=answers))) == 2


def test_footholds_that_meet_only_outside_are_two_pits():
    answers = (outlook(1, "softlock", script()), outlook(0, "free"), outlook(2, "softlock", script()))
    moves = [over(1, 0), over(0, 2), over(2, 0), over(0, 1)]
    assert len(find(evidence([goal()], over_moves=moves, outlooks=answers))) == 2


def pit(depth):
    """A pit so many tiles deep on the way to the goal; the jump rises two and a half."""
    return [*["............"] * 3, "@.........!.", *["####....####"] * depth, "############"]


def test_a_pit_deeper_than_the_jump_is_a_softlock_and_a_shallow_one_is_not():
    report = checked(pit(4))
    (finding,) = found(report, "softlock")
    assert (finding.severity, finding.at) == (Severity.ERROR, (5, 8))
    script = script_from_dict(finding.details["way_in"])
    last = replay(level(pit(4)), movement(), script).rows[-1]
    assert last.grounded and last.vx_spx == 0 and last.y_spx == (8 * 16 - 20) * 65536
    assert found(report, "forced-loss") == []
    assert found(checked(pit(2)), "softlock") == []


def test_a_pit_of_springs_too_weak_to_leave_is_a_softlock():
    rows = [*pit(4)[:-1], "####SSSS####"]
    weak = checked(rows, symbols={"S": {"material": "spring", "launch_px_per_s": 200}})
    assert found(weak, "softlock")[0].details["footholds"] == [{"row": 8, "columns": [4, 7], "spring": True}]
    strong = checked(rows, symbols={"S": {"material": "spring", "launch_px_per_s": 520}})
    assert found(strong, "softlock") == []


def test_a_level_without_an_ending_has_no_softlock():
    assert found(checked([row.replace("!", "+") for row in pit(4)]), "softlock") == []


def test_where_an_error_tells_that_no_ending_can_be_reached_it_is_a_note_that_follows():
    answers = (outlook(1, "softlock", script()),)
    (finding,) = find(evidence([goal(verdict=Verdict.UNREACHABLE)], outlooks=answers))
    assert finding.severity is Severity.NOTE
    assert "No ending can be reached at all: see unreachable-goal. A script" in finding.message
    assert "ending reachable first" in finding.advice


@pytest.mark.parametrize("values", [{"required": False}, {"must_be": "unreachable"}])
def test_where_no_error_tells_that_no_ending_can_be_reached_it_keeps_its_severity(values):
    answers = (outlook(1, "softlock", script()),)
    (finding,) = find(evidence([goal(verdict=Verdict.UNREACHABLE, **values)], outlooks=answers))
    assert finding.severity is Severity.ERROR and "No ending can be reached at all" in finding.message


@pytest.mark.parametrize("verdict", [Verdict.REACHABLE, Verdict.UNDECIDED])
def test_where_an_ending_is_not_proved_unreachable_nothing_is_said_of_it(verdict):
    (finding,) = find(evidence([goal(verdict=verdict)], outlooks=(outlook(1, "softlock", script()),)))
    assert finding.severity is Severity.ERROR and "No ending" not in finding.message


def test_a_level_without_a_way_to_the_goal_has_one_error_and_the_rest_follows_from_it():
    report = checked(["............"] * 3 + ["..........!.", *[".......#####"] * 3, "@......#####", "############"])
    assert [one.rule for one in report.findings if one.severity is Severity.ERROR] == ["unreachable-goal"]
    (finding,) = found(report, "softlock")
    assert finding.severity is Severity.NOTE and "It is where the player begins." in finding.message
