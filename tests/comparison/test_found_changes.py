"""Notes and what is accepted: what of them is worse, and that nothing that differs is called unchanged."""

from dataclasses import replace

import pytest

from reach.comparison.changes import Direction, Kind
from reach.comparison.compare import compare
from reach.findings import Finding, PlaceVerdict, Severity, Verdict
from reach.report import comparison_text
from tests.comparison.test_compare import one, told
from tests.made_reports import LAMP, SOFTLOCK, START, TIGHT_LANDING, UNUSED, make_report

BOAT = PlaceVerdict("boat", "pickup", (3, 3), False, None, Verdict.REACHABLE, 40)
DROP = Finding("no-return", Severity.NOTE, (4, 2), "No way back.", details={"missable": ["boat"]})
PLACES = (START, LAMP, BOAT)


def test_a_pickup_that_a_new_note_calls_missable_is_worse_and_counts_once():
    before, after = one(places=PLACES), one(places=PLACES, findings=(DROP, replace(DROP, at=(5, 2))))
    comparison = compare(before, after)
    assert told(comparison) == [(Kind.MISSABLE, "boat")]
    assert [change.kind for change in comparison.going(Direction.OTHER)] == [Kind.NOTE]
    assert (
        "note no-return on tile 4,2, by which boat can be missed for good: new"
        in comparison_text.compose(comparison, 200).plain
    )
    assert told(compare(after, before), Direction.BETTER) == [(Kind.MISSABLE, "boat")]
    assert not compare(after, one(places=PLACES, findings=(replace(DROP, at=(5, 2)),))).going(Direction.WORSE), "moved"


def test_it_is_not_worse_against_a_limit_or_where_the_pickup_was_not_reached():
    out = replace(BOAT, verdict=Verdict.UNREACHABLE)
    ended = {"complete": False, "incomplete_why": "the time limit of 1 s"}
    for before in (one(places=(START, LAMP, out)), one(places=PLACES, **ended)):
        comparison = compare(before, one(places=PLACES, findings=(DROP,)))
        assert told(comparison) == []
        assert Kind.NOTE in [change.kind for change in comparison.going(Direction.OTHER)]


MOVES = make_report().moves


@pytest.mark.parametrize(
    "values",
    [
        {"findings": (UNUSED,)},
        {"findings": (replace(DROP, details={}),)},
        {"findings": (replace(SOFTLOCK, accepted="Meant."),)},
        {"findings": (replace(TIGHT_LANDING, message="Narrower than ever."),)},
        {"tiles": {Verdict.REACHABLE: ((4, 2), (5, 2), (1, 3), (7, 3))} | dict.fromkeys(list(Verdict)[1:], ())},
        {"route": (0, 1, 2)},
        {"route": (), "route_to": None},
        {"moves": (replace(MOVES[0], air_ticks=30), *MOVES[1:])},
    ],
)
def test_whatever_differs_is_told_and_never_called_unchanged(values):
    sides = one(), one(**values)
    if "message" in str(values):
        sides = one(findings=(TIGHT_LANDING,)), sides[1]
    for pair in (sides, sides[::-1]):
        text = comparison_text.compose(compare(*pair)).plain
        assert "nothing changed" not in text
        assert "without a change" not in text


ENDLESS = {"places": (START, BOAT), "has_ending": False, "route": (), "route_to": None}


@pytest.mark.parametrize("finding", [SOFTLOCK, TIGHT_LANDING, DROP, replace(SOFTLOCK, rule="forced-loss")])
def test_what_only_an_ending_asks_is_neither_gone_for_good_nor_new_where_there_is_none(finding):
    sides = one(places=PLACES, findings=(finding,)), one(**ENDLESS)
    for pair, ending, words in (
        (sides, Direction.WORSE, "ends the level any more"),
        (sides[::-1], Direction.BETTER, "ended the level before"),
    ):
        comparison = compare(*pair)
        assert told(comparison, ending) == [(Kind.GOAL, "lamp")]
        others = [change for change in comparison.changes if change.kind is not Kind.GOAL]
        assert {change.direction for change in others} == {Direction.OTHER}
        assert [f"No place {words}, so" in each.reason for each in others if each.kind is not Kind.ROUTE] == [True]


def test_a_goal_out_of_reach_that_was_deleted_is_no_better_and_one_that_stays_is_asked():
    out = replace(LAMP, verdict=Verdict.UNREACHABLE, ticks=None)
    missed = Finding("unreachable-goal", Severity.ERROR, LAMP.at, "Not reached.", details={"place": "lamp"})
    before = one(places=(START, out, BOAT), findings=(missed,), route=(), route_to=None)
    assert {change.direction for change in compare(before, one(**ENDLESS)).changes} == {Direction.OTHER}
    kept = one(**ENDLESS | {"places": PLACES})
    assert (Kind.ERROR, "lamp") in told(compare(before, kept), Direction.BETTER)


MISSED = Finding("unreachable-goal", Severity.ERROR, LAMP.at, "Not reached.", details={"place": "lamp"})
OUT = replace(LAMP, verdict=Verdict.UNREACHABLE, ticks=None)
BARRED = {"places": (START, OUT, BOAT), "route": (), "route_to": None}


@pytest.mark.parametrize(
    "after",
    [
        (replace(SOFTLOCK, severity=Severity.NOTE), MISSED),
        (replace(SOFTLOCK, severity=Severity.NOTE, at=(1, 2)), MISSED),
        (MISSED,),
        (),
    ],
)
@pytest.mark.parametrize("verdict", [Verdict.UNREACHABLE, Verdict.UNDECIDED])
def test_a_level_that_lost_its_endings_is_in_nothing_better_for_it_and_worse_as_a_whole(after, verdict):
    places = (START, replace(OUT, verdict=verdict), BOAT)
    before = one(places=PLACES, findings=(SOFTLOCK, TIGHT_LANDING, DROP))
    barred = one(**BARRED | {"places": places}, findings=after)
    comparison = compare(before, barred)
    assert comparison.going(Direction.BETTER) == []
    assert told(comparison)[0] == (Kind.GOAL, "lamp")
    because = [each for each in comparison.changes if each.reason.endswith("no ending is proved reachable any more.")]
    assert {each.direction for each in because} == {Direction.OTHER}
    assert len(because) == 3  # the pit, the landing and the way of no return
    back = compare(barred, before)
    assert back.going(Direction.WORSE) == []
    assert (verdict is Verdict.UNREACHABLE) == ((Kind.GOAL, "lamp") in told(back, Direction.BETTER))


def test_a_pit_that_is_mended_while_no_ending_is_reached_on_either_side_is_better():
    before, after = one(**BARRED, findings=(SOFTLOCK,)), one(**BARRED)
    assert [kind for kind, _ in told(compare(before, after), Direction.BETTER)] == [Kind.ERROR]


def test_a_goal_out_of_reach_that_is_deleted_beside_another_is_neither_and_a_new_one_is_worse():
    flag = replace(OUT, id="flag")
    missed = replace(MISSED, details={"place": "flag"})
    promise = replace(missed, rule="broken-promise")
    before, after = one(places=(*PLACES, flag), findings=(missed, promise)), one(places=PLACES)
    comparison = compare(before, after)
    assert {change.direction for change in comparison.changes} == {Direction.OTHER}
    assert [each.reason for each in comparison.changes if each.kind is Kind.ERROR] == [
        "Its place is not there any more, so it was not asked."
    ] * 2
    assert (Kind.ERROR, "flag") in told(compare(after, before))


def test_a_level_whose_goal_ends_it_no_more_is_worse_though_every_place_is_there():
    sides = one(places=PLACES), one(**ENDLESS | {"places": PLACES})
    assert told(compare(*sides)) == [(Kind.GOAL, "an end of the level")]
    assert told(compare(*sides[::-1]), Direction.BETTER) == [(Kind.GOAL, "an end of the level")]
    text = comparison_text.compose(compare(*sides)).plain
    assert "an end of the level: reachable before, none after" in text
    assert "nobody can end it" in text


def test_what_is_gone_is_not_told_again():
    (change,) = compare(one(findings=(UNUSED,)), one()).changes
    assert (change.after, change.words) == (None, "")
