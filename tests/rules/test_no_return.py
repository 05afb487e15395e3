from dataclasses import replace

from reach.findings import MarkShape, MoveKind, Severity, Verdict
from reach.graph import ProvedMove, under_graph
from reach.rules.no_return import find
from tests.checked import checked, found
from tests.made_evidence import GOAL, evidence, goal, move, over, place

DOWN = move((3, 2), (2, 4))
AWAY = [over(0, 1), over(1, 0), over(0, 3), over(1, 3)]
TO_GOAL = [(0, 3, 0), (3, GOAL, None)]


def test_a_move_without_way_back_is_a_note():
    (finding,) = find(evidence([goal()], over_moves=AWAY, touches=[(3, 0)], proved=TO_GOAL, moves=[DOWN]))
    assert (finding.rule, finding.severity, finding.at) == ("no-return", Severity.NOTE, (3, 2))
    assert finding.details == {"moves": [{"from": [3, 2], "to": [2, 4], "kind": "jump"}], "missable": []}
    assert finding.marks[0].shape is MarkShape.ARC and finding.marks[0].points_px == DOWN.arc_px


def test_a_way_back_in_the_superset_makes_none():
    back = [*AWAY, over(3, 1, from_rest=False, comes_to_rest=False)]
    assert find(evidence([goal()], over_moves=back, touches=[(3, 0)], proved=TO_GOAL, moves=[DOWN])) == []


def test_a_superset_that_is_not_complete_may_lack_the_way_back():
    given = evidence([goal()], over_moves=AWAY, touches=[(3, 0)], proved=TO_GOAL, moves=[DOWN])
    cut_short = replace(given.exploration, complete=False, why="memory limit")
    assert find(replace(given, exploration=cut_short)) == []


def test_a_move_that_no_script_makes_is_none():
    assert find(evidence([goal()], over_moves=AWAY, touches=[(3, 0)], proved=[(3, GOAL, None)], moves=[DOWN])) == []


def test_where_no_ending_can_be_reached_it_is_left_to_other_rules():
    assert find(evidence([goal()], over_moves=AWAY, touches=[(3, 0)], proved=[(0, 3, 0)], moves=[DOWN])) == []


def test_pickups_out_of_reach_afterwards_are_missable():
    behind, ahead = place("lantern"), place("oil")
    never = place("key", verdict=Verdict.UNREACHABLE)
    places = [goal(), behind, ahead, never]
    touches = [(3, 0), (0, 1), (1, 1), (0, 2), (3, 2)]
    (finding,) = find(evidence(places, over_moves=AWAY, touches=touches, proved=TO_GOAL, moves=[DOWN]))
    assert finding.details["missable"] == ["lantern"]
    assert "'lantern'" in finding.message


def test_a_pickup_that_every_way_down_collects_is_not_missable():
    places = [goal(), place("lantern"), place("oil")]
    touches = [(3, 0), (0, 1), (0, 2)]
    collects = replace(DOWN, touches=("lantern",))
    for other, missable in ((collects, ["oil"]), (DOWN, ["lantern", "oil"])):
        moves = [collects, replace(other, source=(5, 2)), move()]
        proved = [*TO_GOAL, (0, 1, 2), (1, 3, 1)]
        (finding,) = find(evidence(places, over_moves=AWAY, touches=touches, proved=proved, moves=moves))
        assert finding.details["missable"] == missable


def test_a_shaft_filled_by_a_pickup_makes_nothing_missable():
    rows = [
        "............",
        "............",
        ".@..........",
        "######.#####",
        "######+#####",
        *["######.#####"] * 9,
        "##.........#",
        "##........!#",
        "############",
    ]
    (finding,) = found(checked(rows), "no-return")
    assert finding.details["missable"] == []


def test_moves_into_one_part_are_one_finding():
    other = move((5, 2), (6, 4), window_ticks=8)
    proved = [*TO_GOAL, (0, 1, 2), (1, 3, 1)]
    moves = [DOWN, other, move()]
    (finding,) = find(evidence([goal()], over_moves=AWAY, touches=[(3, 0)], proved=proved, moves=moves))
    assert [one["to"] for one in finding.details["moves"]] == [[6, 4], [2, 4]]
    assert "1 other move" in finding.message and finding.at == (5, 2)


def test_a_move_into_two_parts_on_from_one_to_the_other_is_one_finding():
    """With speed carried on, one script lands on foothold 2 and goes on to 3, another one stays on 2.

    Both begin with the same move, and after that there is no way back already.
    """
    moves = [move((3, 2), (9, 2)), move((9, 2), (9, 4), window_ticks=2)]
    places, over_moves = [goal(), place("lantern")], [over(0, 2), over(2, 3)]
    made = evidence(places, over_moves=over_moves, touches=[(3, 0), (2, 1)], moves=moves)
    edges = ((0, 2), (2, 3))
    under = under_graph(
        made.exploration.footholds,
        [GOAL],
        [ProvedMove(0, 2, (0,), 6, 9), ProvedMove(0, 3, (0, 1), 2, 9), ProvedMove(3, GOAL, (), 9, 9)],
    )
    made = replace(made, graph=replace(made.graph, under_=under, move_edges=edges))
    (finding,) = find(made)
    assert [one["to"] for one in finding.details["moves"]] == [[9, 2]]
    assert "other move" not in finding.message and finding.details["missable"] == []


def test_a_move_between_the_same_tiles_is_named_once_and_another_kind_of_it_too():
    off = replace(DOWN, kind=MoveKind.WALK_OFF)
    proved = [(0, 3, 0), (1, 3, 1), (2, 3, 2), (3, GOAL, None)]
    over_moves = [*AWAY, over(0, 2), over(2, 0), over(2, 3)]
    moves = [DOWN, replace(DOWN, window_ticks=9), off]
    (finding,) = find(evidence([goal()], over_moves=over_moves, touches=[(3, 0)], proved=proved, moves=moves))
    assert [one["kind"] for one in finding.details["moves"]] == ["jump", "walk_off"]
    assert "1 other move" in finding.message
    assert [mark.label for mark in finding.marks] == ["no return", ""]


def test_moves_into_two_parts_are_two_findings():
    proved = [*TO_GOAL, (0, 2, 1), (2, 3, 2)]
    moves = [DOWN, move((3, 2), (9, 2)), move((9, 2), (9, 4))]
    over_moves = [over(0, 3), over(0, 2), over(2, 3)]
    found = find(evidence([goal()], over_moves=over_moves, touches=[(3, 0)], proved=proved, moves=moves))
    assert [one.details["moves"][0]["to"] for one in found] == [[9, 2], [2, 4]]


def drop(height):
    """A drop of so many tiles from a pickup to the goal; the jump rises two and a half."""
    high = ["#####......."] * height
    return [*["............"] * 3, "@+..........", *high[:-1], "#####....!..", "############"]


def test_a_drop_higher_than_the_jump_has_no_way_back():
    (finding,) = found(checked(drop(3)), "no-return")
    assert finding.severity is Severity.NOTE and finding.details["missable"] == ["pickup-1"]
    assert finding.at == (4, 4)
    assert found(checked(drop(2)), "no-return") == []
