import pytest

from reach.checker import check
from reach.findings import MarkShape, Severity, Verdict
from reach.movement import movement_from_dict
from reach.options import CheckOptions
from reach.rules.forced_loss import find
from reach.script import script_to_dict
from tests.checked import MOVEMENT, checked, found, level
from tests.made_evidence import evidence, goal, outlook, over, script


def test_a_foothold_without_way_out_is_found_with_the_way_in():
    (finding,) = find(evidence([goal()], outlooks=(outlook(1, "forced-loss", script(30)),)))
    assert (finding.rule, finding.severity, finding.at) == ("forced-loss", Severity.WARNING, (6, 2))
    assert "row 2, columns 5 to 7" in finding.message and "30 ticks" in finding.message
    assert finding.details == {
        "footholds": [{"row": 2, "columns": [5, 7], "spring": False}],
        "way_in": script_to_dict(script(30)),
    }
    assert [(mark.shape, mark.tiles) for mark in finding.marks] == [(MarkShape.FOOTHOLD, ((5, 2), (6, 2), (7, 2)))]


def test_the_missing_way_out_is_claimed_and_the_loss_is_not():
    """The loss is read from the superset, which may lose a body where no input does."""
    (finding,) = find(evidence([goal()], outlooks=(outlook(1, "forced-loss", script(30)),)))
    assert "comes to rest on" in finding.message and "no input reaches an ending any more" in finding.message
    assert "may be lost" in finding.message
    assert "can be lost" not in finding.message and "proved" not in finding.message.lower()


@pytest.mark.parametrize("other", ["free", "undecided", "softlock"])
def test_other_outlooks_are_not_found(other):
    assert find(evidence([goal()], outlooks=(outlook(1, other, script()),))) == []


def test_footholds_that_lead_to_each_other_are_one_pit_with_the_shortest_way_in():
    answers = (outlook(1, "forced-loss", script(30)), outlook(2, "forced-loss", script(20)))
    (finding,) = find(evidence([goal()], over_moves=[over(1, 2), over(2, 1)], outlooks=answers))
    assert len(finding.details["footholds"]) == 2
    assert finding.details["way_in"] == script_to_dict(script(20))
    assert "1 foothold of the same pit" in finding.message


def test_footholds_of_which_only_one_leads_to_the_other_are_two_pits():
    answers = (outlook(1, "forced-loss", script()), outlook(2, "forced-loss", script()))
    assert len(find(evidence([goal()], over_moves=[over(1, 2)], outlooks=answers))) == 2


def test_footholds_that_meet_only_outside_are_two_pits():
    answers = (outlook(1, "forced-loss", script()), outlook(0, "free"), outlook(2, "forced-loss", script()))
    moves = [over(1, 0), over(0, 2), over(2, 0), over(0, 1)]
    assert len(find(evidence([goal()], over_moves=moves, outlooks=answers))) == 2


def pit(bottom):
    """A pit too deep to leave; `bottom` is its lowest row, above the floor."""
    return [*["............"] * 3, "@.........!.", *["####....####"] * 3, bottom, "############"]


def test_a_pit_with_a_hazard_is_a_forced_loss_and_without_it_a_softlock():
    report = checked(pit("####^..^####"))
    (finding,) = found(report, "forced-loss")
    assert (finding.severity, finding.at) == (Severity.WARNING, (5, 8))
    assert found(report, "softlock") == []
    assert found(checked(pit("####....####")), "forced-loss") == []


def ice():
    """Speeding up and slowing down by 72 px/s2: stopping from the 220 px/s that cross ten tiles takes 336 px."""
    ground = {"walk": {"acceleration": 72, "top_speed": 240}, "coast_deceleration": 72, "reverse_deceleration": 72}
    air = {"acceleration": 30, "reverse_deceleration": 30, "top_speed": 240}
    return movement_from_dict(MOVEMENT | {"ground": ground, "air": air})


@pytest.mark.parametrize("wall", [True, False])
def test_ice_that_ends_at_a_wall_is_a_forced_loss_and_with_an_open_end_nobody_rests_there(wall):
    """Ten tiles of nothing, and six of ice beyond them: too few for the run-up of the jump back."""
    end = "##" if wall else ".."
    rows = [*["." * 40 + end] * 4, "!@" + "." * 38 + end, "#" * 24 + "." * 10 + "#" * 6 + end]
    losses = found(check(level(rows), ice(), CheckOptions()), "forced-loss")
    assert [one.details["footholds"] for one in losses] == (
        [[{"row": 5, "columns": [34, 39], "spring": False}]] if wall else []
    )


def test_a_pit_that_can_be_left_is_none_whatever_kills_in_it():
    shallow = [*pit("####^..^####")[:4], "####....####", "####^..^####", "############"]
    assert found(checked(shallow), "forced-loss") == []


def test_where_an_error_tells_that_no_ending_can_be_reached_it_is_a_note_that_follows():
    answers = (outlook(1, "forced-loss", script()),)
    (finding,) = find(evidence([goal(verdict=Verdict.UNREACHABLE)], outlooks=answers))
    assert finding.severity is Severity.NOTE
    assert "No ending can be reached at all: see unreachable-goal. A script" in finding.message
    assert "ending reachable first" in finding.advice


@pytest.mark.parametrize("values", [{"required": False}, {"must_be": "unreachable"}])
def test_where_no_error_tells_that_no_ending_can_be_reached_it_keeps_its_severity(values):
    answers = (outlook(1, "forced-loss", script()),)
    (finding,) = find(evidence([goal(verdict=Verdict.UNREACHABLE, **values)], outlooks=answers))
    assert finding.severity is Severity.WARNING and "No ending can be reached at all" in finding.message


@pytest.mark.parametrize("verdict", [Verdict.REACHABLE, Verdict.UNDECIDED])
def test_where_an_ending_is_not_proved_unreachable_nothing_is_said_of_it(verdict):
    (finding,) = find(evidence([goal(verdict=verdict)], outlooks=(outlook(1, "forced-loss", script()),)))
    assert finding.severity is Severity.WARNING and "No ending" not in finding.message
