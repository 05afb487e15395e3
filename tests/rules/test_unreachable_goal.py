import pytest

from reach.findings import MarkShape, Severity, Verdict
from reach.reachability.result import NearestMiss
from reach.rules.unreachable_goal import find
from tests.checked import checked, found
from tests.made_evidence import evidence, goal, place

OUT = Verdict.UNREACHABLE


def test_an_unreachable_goal_is_an_error():
    (finding,) = find(evidence([goal(verdict=OUT)]))
    assert (finding.rule, finding.severity, finding.at) == ("unreachable-goal", Severity.ERROR, (8, 1))
    assert "goal-1" in finding.message and "tile 8,1" in finding.message


@pytest.mark.parametrize("verdict", [Verdict.REACHABLE, Verdict.UNDECIDED])
def test_only_what_is_proved_unreachable_is_found(verdict):
    assert find(evidence([goal(verdict=verdict)])) == []


def test_an_optional_pickup_is_a_warning_and_a_required_one_an_error():
    assert find(evidence([place(verdict=OUT)]))[0].severity is Severity.WARNING
    assert find(evidence([place(verdict=OUT, required=True)]))[0].severity is Severity.ERROR


@pytest.mark.parametrize("kind", ["exit", "checkpoint"])
def test_exits_and_checkpoints_are_found_too(kind):
    assert len(find(evidence([place(kind=kind, required=True, verdict=OUT)]))) == 1


@pytest.mark.parametrize("kind", ["start", "entrance"])
def test_ways_in_are_not_goals(kind):
    assert find(evidence([place(kind=kind, verdict=OUT)])) == []


def test_what_must_be_unreachable_is_meant():
    assert find(evidence([place(verdict=OUT, must_be="unreachable")])) == []
    assert len(find(evidence([place(verdict=OUT, must_be="reachable")]))) == 1


def test_the_nearest_miss_is_told_and_drawn_from_its_own_side():
    miss = NearestMiss(5.5, 10.0, 0)
    (finding,) = find(evidence([goal(verdict=OUT)], misses={0: miss}))
    assert "5.5 px across and 10 px up" in finding.message and "row 2, columns 0 to 3" in finding.message
    assert finding.details["nearest_miss"] == {"across_px": 5.5, "up_px": 10.0, "from_row": 2, "from_columns": [0, 3]}
    gap = next(mark for mark in finding.marks if mark.shape is MarkShape.GAP)
    assert gap.points_px == ((128.0, 32.0), (122.5, 42.0))
    (finding,) = find(evidence([goal(verdict=OUT)], misses={0: NearestMiss(5.5, 10.0, 2)}))
    gap = next(mark for mark in finding.marks if mark.shape is MarkShape.GAP)
    assert gap.points_px == ((144.0, 32.0), (149.5, 42.0))


def test_a_miss_on_the_way_down_from_the_start_names_no_foothold():
    (finding,) = find(evidence([goal(verdict=OUT)], misses={0: NearestMiss(5.5, 10.0, -1)}))
    assert "from the start" in finding.message
    assert finding.details["nearest_miss"] == {"across_px": 5.5, "up_px": 10.0, "from_row": None, "from_columns": None}


def ledge(height):
    """A goal on a ledge so many tiles up; the jump rises two and a half."""
    sky = ["............"] * (7 - height)
    wall = [".......#####"] * (height - 1)
    return [*sky, "..........!.", *wall, "@......#####", "############"]


def test_a_ledge_a_tile_higher_is_out_of_reach():
    (finding,) = found(checked(ledge(3)), "unreachable-goal")
    assert (finding.severity, finding.at) == (Severity.ERROR, (10, 4))
    assert finding.details["nearest_miss"]["from_row"] == 8
    assert found(checked(ledge(2)), "unreachable-goal") == []
