from dataclasses import replace

import pytest

from reach import checker
from reach.findings import MarkShape, Severity, Verdict
from reach.options import CheckOptions
from reach.reachability.barriers import Barrier
from reach.reachability.result import Foothold, NearestMiss
from reach.rules.unreachable_goal import barred_endings, find
from tests.checked import checked, found, level, movement
from tests.made_evidence import FOOTHOLDS, evidence, goal, place

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


DIRECT = NearestMiss(0, (60.0, 35.0), (128.0, 32.0))
NEARER = NearestMiss(0, (60.0, 37.0), (70.0, 32.0))


def test_of_ground_that_bars_the_way_the_miss_is_told_and_drawn_instead_of_the_places():
    bars = {0: Barrier(1, (5, 2), NEARER)}
    (finding,) = find(evidence([goal(verdict=OUT)], misses={0: DIRECT}, barriers=bars))
    assert (
        "leaves 10 px across and 5 px up to tile 5,2, from where it may be reached, coming from the foothold on row 2,"
        " columns 0 to 3." in finding.message
    )
    assert "68 px" not in finding.message and "that ground nearer" in finding.advice
    assert finding.details["nearest_miss"]["across_px"] == 68.0
    assert finding.details["first_barrier"] == {
        "tile": [5, 2],
        "row": 2,
        "columns": [5, 7],
        "spring": False,
        "across_px": 10.0,
        "up_px": 5.0,
        "from_row": 2,
        "from_columns": [0, 3],
    }
    assert finding.details["first_barrier_unknown"] is False
    (gap,) = (mark for mark in finding.marks if mark.shape is MarkShape.GAP)
    assert gap.points_px == (NEARER.at_px, NEARER.to_px) and gap.label == "10 px across, 5 px up"


def test_a_spring_that_bars_the_way_is_called_one():
    made = evidence([goal(verdict=OUT)], misses={0: DIRECT}, barriers={0: Barrier(1, (5, 2), NEARER)})
    spring = Foothold(1, 2, *(FOOTHOLDS[1].left_spx, FOOTHOLDS[1].right_spx), True, (5, 7))
    exploration = replace(made.exploration, footholds=(FOOTHOLDS[0], spring, *FOOTHOLDS[2:]))
    (finding,) = find(replace(made, exploration=exploration))
    assert "up to the spring on tile 5,2, from where" in finding.message
    assert finding.details["first_barrier"]["spring"] is True


def test_where_it_was_not_found_out_what_bars_the_way_this_is_said():
    late = evidence([goal(verdict=OUT)], misses={0: DIRECT}, barriers_unknown={0}, barriers_end="time is up")
    (finding,) = find(late)
    assert "68 px across" in finding.message and "not found out: time is up." in finding.message
    assert finding.details["first_barrier"] is None and finding.details["first_barrier_unknown"] is True


def test_endings_are_barred_only_where_every_one_is_proved_unreachable():
    assert barred_endings(evidence([place(verdict=OUT)])) is None
    assert barred_endings(evidence([goal(verdict=OUT), place("gate", "exit", required=True)])) is None
    assert barred_endings(evidence([goal(verdict=Verdict.UNDECIDED)])) is None


@pytest.mark.parametrize(
    ("values", "accept", "told", "counts"),
    [
        ({}, [], True, True),
        ({"required": False}, [], True, False),
        ({"must_be": "unreachable"}, [], False, False),
        ({}, [{"rule": "unreachable-goal", "reason": "The door comes later."}], True, False),
        ({}, [{"rule": "unreachable-goal", "at": [1, 1], "reason": "Another place."}], True, True),
    ],
)
def test_barred_endings_say_whether_an_error_that_counts_tells_of_them(values, accept, told, counts):
    found = barred_endings(evidence([goal(verdict=OUT, **values)], accept=accept))
    assert (found.told, found.counts) == (told, counts)
    assert ("see unreachable-goal" in found.sentence) == told


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


def stairs(height):
    """A ledge so many tiles up on the way to the goal, which stands on another two tiles higher."""
    sky = ["...................."] * 2
    ledge = ["........#####......."] * (height - 2)
    top = ["..................!.", "...............#####", "...................."]
    return [*sky, *top, "........#####.......", *ledge, "@.......#####.......", "####################"]


def test_the_first_step_that_is_too_high_is_told_and_not_the_way_up_to_the_goal():
    (finding,) = found(checked(stairs(3)), "unreachable-goal")
    assert "0 px across and 8 px up to tile 8,5, from where it may be reached" in finding.message
    assert finding.details["nearest_miss"]["up_px"] > 32
    assert found(checked(stairs(2)), "unreachable-goal") == []


def test_without_time_nothing_is_claimed_of_what_bars_the_way(monkeypatch):
    """The time ends when everything but that is done."""
    whole = checker.first_barriers

    def late(problem, seen, places):
        return whole(replace(problem, deadline=0.0), seen, places)

    monkeypatch.setattr(checker, "first_barriers", late)
    report = checker.check(level(stairs(3)), movement(), CheckOptions(time_limit_s=600))
    assert not report.complete and "time limit of 600 s" in report.incomplete_why
    (finding,) = found(report, "unreachable-goal")
    assert finding.details["first_barrier"] is None and "was not found out: the time limit" in finding.message
