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


def test_the_nearest_miss_is_told_and_drawn():
    miss = NearestMiss(0, (122.5, 42.0), (128.0, 32.0))
    (finding,) = find(evidence([goal(verdict=OUT)], misses={0: miss}))
    assert "5.5 px across and 10 px up" in finding.message and "row 2, columns 0 to 3" in finding.message
    assert finding.details["nearest_miss"] == {"across_px": 5.5, "up_px": 10.0, "from_row": 2, "from_columns": [0, 3]}
    place, gap = finding.marks
    assert (place.shape, gap.shape) == (MarkShape.TILE, MarkShape.GAP), "the takeoff ground is no error"
    assert gap.points_px == (miss.at_px, miss.to_px) and gap.label == "5.5 px across, 10 px up"


def test_a_miss_from_above_is_told_downwards():
    miss = NearestMiss(0, (122.5, 42.0), (117.0, 45.0))
    (finding,) = find(evidence([goal(verdict=OUT)], misses={0: miss}))
    assert "5.5 px across and 3 px down" in finding.message and finding.details["nearest_miss"]["up_px"] == -3


def test_a_miss_on_the_way_down_from_the_start_names_no_foothold():
    (finding,) = find(evidence([goal(verdict=OUT)], misses={0: NearestMiss(-1, (122.5, 42.0), (128.0, 32.0))}))
    assert "from the start" in finding.message
    assert finding.details["nearest_miss"] == {"across_px": 5.5, "up_px": 10.0, "from_row": None, "from_columns": None}
    assert [mark.shape for mark in finding.marks] == [MarkShape.TILE, MarkShape.GAP]


def ledge(height):
    """A goal on a ledge so many tiles up; the jump rises two and a half."""
    sky = ["............"] * (7 - height)
    wall = [".......#####"] * (height - 1)
    return [*sky, "..........!.", *wall, "@......#####", "############"]


def test_a_ledge_a_tile_higher_is_out_of_reach():
    """The ledge rises 48 px, the jump 40: what lacks is 8 px, whatever the goal's distance from the ledge's edge."""
    (finding,) = found(checked(ledge(3)), "unreachable-goal")
    assert (finding.severity, finding.at) == (Severity.ERROR, (10, 4))
    assert finding.details["nearest_miss"]["from_row"] == 8
    assert "0 px across and 8 px up" in finding.message
    assert found(checked(ledge(2)), "unreachable-goal") == []


BALCONY = [
    "....................",
    "....................",
    ".............!......",
    "..........########..",
    "..............#.....",
    "....................",
    "@...................",
    "########............",
    "########............",
    "####################",
]


def test_the_nearest_miss_is_by_the_way_up_not_through_the_ground_under_the_goal():
    """From the left the balcony is 24 px too high; below it the head comes nearer to the tile, but for nothing."""
    (finding,) = found(checked(BALCONY), "unreachable-goal")
    assert finding.details["nearest_miss"]["from_row"] == 7
    assert "24 px up" in finding.message


@pytest.mark.parametrize(("tiles", "missed"), [(1, True), (2, False)])
def test_the_goal_brought_nearer_by_the_nearest_miss_can_be_reached(tiles, missed):
    """The 24 px that lack are more than one tile and less than two."""
    lower = [*["." * 20] * tiles, *BALCONY[: 6 - tiles], *BALCONY[6:]]
    assert bool(found(checked(lower), "unreachable-goal")) == missed
