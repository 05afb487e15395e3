"""What is said of a level after an edit: what got worse and better first, then notes, ground, moves and windows."""

from dataclasses import replace

from reach.comparison.compare import compare
from reach.comparison.side import side_of_check
from reach.findings import Verdict
from reach.report.watch_text import compose
from tests.made_reports import DROP, LAMP, SOFTLOCK, TIGHT_HOP, TIGHT_LANDING, UNUSED, WIDE_HOP, make_report


def told(before, after, width=100):
    return compose(before, after, compare(side_of_check(before), side_of_check(after)), width).plain


def test_nothing_changed_is_one_line():
    assert told(make_report(), make_report()) == "OK; nothing changed\n"


def test_a_lost_goal_and_a_new_error_come_first():
    after = make_report(
        places=(make_report().places[0], replace(LAMP, verdict=Verdict.UNREACHABLE, ticks=None)),
        findings=(SOFTLOCK,),
        route=(),
        route_to=None,
    )
    lines = told(make_report(), after).splitlines()
    assert lines[0] == "1 error; 2 worse"
    assert lines[1] == "  x goal lamp, required: reachable before, unreachable after"
    assert lines[2] == "  x error softlock on tile 4,5: new. From the cistern no input leads to a goal."
    assert lines[3] == "  ~ pickup attic: unreachable before, none after. It is not there any more."
    back = told(after, make_report()).splitlines()
    assert back == [
        "OK; 2 better",
        "  + goal lamp, required: unreachable before, reachable after",
        "  + error softlock on tile 4,5: gone",
        "  ~ pickup attic: none before, unreachable after. It was not there.",
    ]


def test_what_is_gone_is_named_and_not_told_again():
    assert told(make_report(findings=(UNUSED,)), make_report()).splitlines()[1:] == ["  ~ note unused-ground: gone"]


def test_a_level_that_lost_its_only_ending_is_not_better_for_what_nobody_asked():
    endless = make_report(places=make_report().places[::2], has_ending=False, route=(), route_to=None)
    trapped = make_report(findings=(SOFTLOCK,))
    assert told(trapped, endless, 140).splitlines() == [
        "OK; 1 worse",
        "  x goal lamp: reachable before, none after. It is not there any more. No place ends the level any more: "
        "nobody can end it.",
        "  ~ error softlock on tile 4,5: gone. No place ends the level any more, so it was not asked.",
    ]
    assert told(endless, trapped, 160).splitlines() == [
        "1 error; 1 better",
        "  + goal lamp: none before, reachable after. No place ended the level before: nobody could end it.",
        "  ~ error softlock on tile 4,5: new. From the cistern no input leads to a goal. "
        "No place ended the level before, so it was not asked then.",
    ]


def test_a_line_is_coloured_by_what_it_says_and_the_headline_by_how_the_level_stands():
    before = make_report(findings=(UNUSED,), tiles=make_report().tiles | {Verdict.REACHABLE: ((4, 2), (5, 2))})
    after = make_report(findings=(SOFTLOCK, TIGHT_LANDING), places=(make_report().places[0], LAMP))
    for one, two in ((before, after), (after, before)):
        text = compose(one, two, compare(side_of_check(one), side_of_check(two)))
        assert text.style == ""
        styles = {text.plain[span.start : span.end].split()[0]: span.style for span in text.spans}
        assert styles.get("x", "bold red") == "bold red"
        assert styles.get("+", "green") == "green"
        assert "~" not in styles
        assert "x" in styles or "+" in styles


def test_notes_that_come_and_go_are_told_a_few_of_them():
    assert told(make_report(), make_report(findings=(UNUSED,))).splitlines() == [
        "OK, 1 note; changed",
        "  ~ note unused-ground: new. 2 tiles of ground are never stood on.",
    ]
    many = tuple(replace(UNUSED, at=(column, 0)) for column in range(7))
    lines = told(make_report(findings=many), make_report()).splitlines()
    assert len(lines) == 6
    assert lines[5] == "  ~ 3 more notes new, gone or told otherwise"


def test_ground_that_an_edit_made_is_told():
    tiles = make_report().tiles
    after = make_report(
        tiles=tiles | {Verdict.REACHABLE: ((4, 2), (6, 2), (7, 2), (1, 3)), Verdict.UNREACHABLE: ((3, 1), (7, 5))}
    )
    assert told(make_report(), after, 200).splitlines() == [
        "OK; changed",
        "  ~ ground: 4 tiles: 3 tiles reached before, 4 tiles reached after. Ground not there any more: row 2, "
        "column 5. Ground not there before: row 2, columns 6 to 7; and row 5, column 7.",
    ]


def test_ground_that_was_won_is_named_and_of_much_a_few_stretches():
    tiles = {verdict: tuple((column, 1) for column in range(0, 40, 2)) for verdict in Verdict}
    before = make_report(tiles=tiles | {Verdict.REACHABLE: (), Verdict.UNDECIDED: ()})
    after = make_report(tiles=tiles | {Verdict.UNREACHABLE: (), Verdict.UNDECIDED: ()})
    line = " ".join(told(before, after).split())
    assert line.startswith(
        "OK; 1 better + ground: 20 gained: 0 tiles reached before, 20 tiles reached after. Gained: row"
    )
    assert line.endswith("row 1, column 14; and 12 more stretches.")


def test_moves_and_their_windows_are_told_with_what_figures_mean():
    wider, narrower = replace(TIGHT_HOP, window_ticks=6, window_ms=100.0), replace(WIDE_HOP, window_ms=66.6666)
    lines = told(make_report(route=()), make_report(moves=(narrower, wider), route=())).splitlines()
    assert lines[1:4] == [
        "  ~ moves with a script: 1 gone",
        "  ~ 1 window narrower as measured: the jump from tile 1,2 to tile 4,2, 150 ms before, 66.7 ms now",
        "  ~ 1 window wider as measured: the jump from tile 4,2 to tile 6,1, 50 ms before, 100 ms now",
    ]
    assert "averages over players" in lines[4]
    assert told(
        make_report(moves=(WIDE_HOP,), route=()), make_report(moves=(WIDE_HOP, DROP), route=())
    ).splitlines() == [
        "OK; changed",
        "  ~ moves with a script: 1 new",
    ]


def test_a_check_that_a_limit_ended_is_told():
    cut = make_report(complete=False, incomplete_why="the time limit of 2 s was reached")
    assert "  ~ not finished: the time limit of 2 s was reached" in told(make_report(), cut).splitlines()
    assert "  ~ finished now" in told(cut, make_report()).splitlines()
