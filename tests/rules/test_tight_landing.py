from dataclasses import replace

import pytest

from reach.findings import MarkShape, Severity
from reach.options import CheckOptions
from reach.reachability.cures import Cure
from reach.rules.tight_landing import find
from tests.checked import checked, found
from tests.made_evidence import GOAL, evidence, goal, move, over

STRAIGHT = [over(0, 1)]


def route_with(one, over_moves=STRAIGHT, **values):
    proved = [(0, 1, 0), (1, GOAL, None)]
    return evidence([goal()], over_moves=over_moves, touches=[(1, 0)], proved=proved, moves=[one], route=[0], **values)


def test_a_short_window_on_the_route_is_a_warning():
    (finding,) = find(route_with(move(window_ticks=3)))
    assert (finding.rule, finding.severity, finding.at) == ("tight-landing", Severity.WARNING, (5, 2))
    assert "3 ticks (50 ms)" in finding.message and "60 ms" in finding.message
    assert "95 %" in finding.message and "25 ms (an average, no promise)" in finding.message
    assert [mark.shape for mark in finding.marks] == [MarkShape.ARC, MarkShape.TILE]


def test_a_window_at_the_threshold_is_not_tight():
    assert find(route_with(move(window_ticks=6))) == []
    assert find(route_with(move(window_ticks=3), options=CheckOptions(window_threshold_ms=50.0))) == []


def test_a_short_window_off_the_route_is_not_found():
    assert find(evidence([goal()], proved=[(0, 1, 0)], moves=[move(window_ticks=1)])) == []


@pytest.mark.parametrize(
    ("ticks", "threshold", "severity"), [(1, 60.0, "error"), (0, 60.0, "error"), (2, 60.0, "warning")]
)
def test_one_tick_under_the_threshold_is_an_error(ticks, threshold, severity):
    (finding,) = find(route_with(move(window_ticks=ticks), options=CheckOptions(window_threshold_ms=threshold)))
    assert finding.severity == severity


def test_one_tick_over_the_threshold_is_nothing():
    assert find(route_with(move(window_ticks=1), options=CheckOptions(window_threshold_ms=10.0))) == []


def test_a_landing_that_only_passes_is_a_warning_however_wide():
    (finding,) = find(route_with(move(window_ticks=30, passing_only=True)))
    assert finding.severity is Severity.WARNING and "only pass" in finding.message
    assert "threshold" not in finding.message


def test_a_move_that_cannot_be_measured_is_said_to_be_so():
    (finding,) = find(route_with(move(window_ticks=None, needs_speed=True, chance=None, landing_room_px=None)))
    assert finding.severity is Severity.WARNING
    assert "no measured window" in finding.message and "speed brought in" in finding.message
    assert finding.details["window_ticks"] is None


def test_a_move_left_out_by_a_limit_is_not_tight():
    assert find(route_with(move(window_ticks=None, chance=None, landing_room_px=None, left_out=True))) == []


def test_it_is_said_whether_there_is_a_way_around():
    (finding,) = find(route_with(move(window_ticks=2)))
    assert finding.details["unavoidable"] is True and "Every way" in finding.message
    (finding,) = find(route_with(move(window_ticks=2), over_moves=[over(0, 1), over(0, 2), over(2, 1)]))
    assert finding.details["unavoidable"] is False and "Every way" not in finding.message


def test_a_route_that_is_not_shown_to_be_the_easiest_is_not_called_so():
    around = [over(0, 1), over(0, 2), over(2, 1)]
    (finding,) = find(route_with(move(window_ticks=2), over_moves=around))
    assert "on the easiest route" in finding.message
    (finding,) = find(route_with(move(window_ticks=2), over_moves=around, route_easiest=False))
    assert "on the way that was proved" in finding.message and "easiest" not in finding.message


def test_a_superset_that_is_not_complete_may_lack_the_way_around():
    given = route_with(move(window_ticks=2))
    cut_short = replace(given.exploration, complete=False, why="time limit")
    (finding,) = find(replace(given, exploration=cut_short))
    assert finding.details["unavoidable"] is False and "Every way" not in finding.message


def test_the_cure_is_told():
    (finding,) = find(route_with(move(window_ticks=2), cures={0: Cure(4, 7)}))
    assert finding.details["cure"] == {"nearer_px": 4, "lower_px": 7}
    assert "4 px nearer" in finding.advice and "by 7 px" in finding.advice
    (finding,) = find(route_with(move(window_ticks=2), cures={0: Cure(None, 7)}))
    assert "nearer" not in finding.advice and "by 7 px" in finding.advice


def test_a_move_made_twice_is_found_once():
    assert len(find(replace(route_with(move(window_ticks=2)), route=(0, 0)))) == 1


GAP = [
    "..................",
    "..................",
    "..................",
    "@................!",
    "#######....#######",
    "#######....#######",
    "#######^^^^#######",
]


def test_the_same_gap_is_tight_for_a_threshold_above_its_window_only():
    (finding,) = found(checked(GAP, CheckOptions(window_threshold_ms=80.0)), "tight-landing")
    assert (finding.severity, finding.at) == (Severity.WARNING, (11, 4))
    assert finding.details["window_ticks"] == 4 and finding.details["unavoidable"]
    assert found(checked(GAP), "tight-landing") == []


def test_the_cure_applied_to_the_gap_makes_it_wide_enough():
    finding = found(checked(GAP, CheckOptions(window_threshold_ms=80.0)), "tight-landing")[0]
    assert 1 <= finding.details["cure"]["nearer_px"] <= 16
    nearer = [row[:7] + row[8:] for row in GAP]
    assert found(checked(nearer, CheckOptions(window_threshold_ms=80.0)), "tight-landing") == []
