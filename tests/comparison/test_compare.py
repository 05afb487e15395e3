"""What counts as worse, and the order, on reports made by hand; sets of tiles against Python's own sets."""

import itertools
import json
import random
from dataclasses import replace

import jsonschema
import pytest

from reach.comparison.changes import Direction, Kind
from reach.comparison.compare import compare
from reach.comparison.level_changes import ground_change, spans
from reach.comparison.saved_report import parsed, side_of_saved
from reach.comparison.side import side_of
from reach.errors import InputError
from reach.findings import Finding, PlaceVerdict, Verdict
from reach.report import comparison_json, comparison_markdown, comparison_text, json_report, world_json
from reach.schema import load_schema
from reach.world.result import Job, LevelFinding, LevelResult, LinkVerdict, Outcome, State, WorldFinding, WorldReport
from tests.made_reports import LAMP, MEANT, SOFTLOCK, START, TIGHT_HOP, TIGHT_LANDING, UNUSED, make_report

YES, NO, OPEN = Verdict.REACHABLE, Verdict.UNREACHABLE, Verdict.UNDECIDED


def level(name, *reports, entered=YES, why=""):
    outcomes = tuple(Outcome(Job(name, one.from_place), State.CHECKED, one) for one in reports)
    found = tuple(LevelFinding(finding, (one.from_place,)) for one in reports for finding in one.findings)
    return LevelResult(name, f"{name}.json", name, "lamplighter", entered, outcomes, found, why)


def world(*levels, links=(), findings=(), must_reach=(), linked=True):
    start = ("quay", "start-1") if linked else None
    return WorldReport("reach 1", "Isle", "isle.json", linked, start, must_reach, {}, levels, links, findings)


def one(**values):
    return side_of(world(level("quay", make_report(**values))))


def told(comparison, direction=Direction.WORSE):
    return [(each.kind, each.place or each.title) for each in comparison.going(direction)]


def place(name, kind, verdict, **values):
    fields = {"at": (3, 3), "required": False, "must_be": None, "ticks": None} | values
    return PlaceVerdict(id=name, kind=kind, verdict=verdict, **fields)


@pytest.mark.parametrize(
    ("before", "after", "direction"),
    [
        (YES, NO, Direction.WORSE),
        (YES, OPEN, Direction.WORSE),
        (OPEN, NO, Direction.OTHER),
        (NO, OPEN, Direction.OTHER),
        (OPEN, YES, Direction.OTHER),
        (NO, YES, Direction.BETTER),
    ],
)
def test_a_proof_of_reachable_is_lost_and_won_only_against_a_proof(before, after, direction):
    for kind, label in (("goal", Kind.GOAL), ("pickup", Kind.PLACE)):
        sides = [one(places=(START, place("key", kind, verdict))) for verdict in (before, after)]
        (change,) = compare(*sides).changes
        assert (change.kind, change.direction, change.before, change.after) == (label, direction, before, after)
    sides = [one(places=(place("attic", "pickup", verdict, must_be="unreachable"),)) for verdict in (before, after)]
    (change,) = compare(*sides).changes
    meant = {(YES, NO): Direction.BETTER, (NO, YES): Direction.WORSE}
    assert change.direction is meant.get((before, after), Direction.OTHER)


def test_nothing_changes_from_a_report_to_itself():
    side = one(findings=(SOFTLOCK, TIGHT_LANDING))
    comparison = compare(side, side)
    assert (comparison.changes, comparison.worst) == ((), None)
    assert comparison_text.compose(comparison).plain.startswith("nothing changed  Isle: lamplighter; 1 level compared")


def test_the_order_is_by_kind_then_by_amount():
    narrower = replace(TIGHT_HOP, window_ticks=2, window_ms=33.3)
    before = one(places=(START, LAMP, place("key", "pickup", YES)))
    after = one(
        places=(START, replace(LAMP, verdict=NO), place("key", "pickup", NO)),
        tiles={YES: ((4, 2),), NO: ((5, 2), (1, 3), (3, 1)), OPEN: ()},
        moves=(*make_report().moves[:2], narrower),
        findings=(TIGHT_LANDING, SOFTLOCK, UNUSED, MEANT),
    )
    comparison = compare(before, after)
    kinds = [kind for kind, _ in told(comparison)]
    assert kinds == [Kind.GOAL, Kind.ERROR, Kind.PLACE, Kind.TILES, Kind.WARNING, Kind.WINDOW]
    assert comparison.worst == "error"
    back = compare(after, before)
    assert not back.going(Direction.WORSE)
    assert [kind for kind, _ in told(back, Direction.BETTER)] == kinds


def test_what_a_file_accepts_does_not_count_until_it_is_no_longer_accepted():
    meant = replace(SOFTLOCK, accepted="The tide comes in.")
    assert told(compare(one(), one(findings=(meant,)))) == []
    assert comparison_text.compose(compare(one(), one(findings=(meant,)))).plain.startswith("nothing got worse")
    assert told(compare(one(findings=(meant,)), one(findings=(SOFTLOCK,))))[0][0] is Kind.ERROR


@pytest.mark.parametrize("seed", range(20))
def test_ground_is_told_as_sets_tell_it(seed):
    choose = random.Random(seed)
    where = list(itertools.product(range(6), range(4)))

    def side():
        verdicts = {tile: choose.choice([YES, NO, OPEN, None]) for tile in where}
        tiles = {verdict: frozenset(tile for tile in where if verdicts[tile] is verdict) for verdict in Verdict}
        return verdicts, tiles

    (old, before), (new, after) = side(), side()
    what = ground_change(before, after)
    assert what.lost == {tile for tile in where if old[tile] is YES and new[tile] in (NO, OPEN)}
    assert what.lost_for_certain == {tile for tile in where if old[tile] is YES and new[tile] is NO}
    assert what.gained == {tile for tile in where if old[tile] in (NO, OPEN) and new[tile] is YES}
    assert what.gained_for_certain == {tile for tile in where if old[tile] is NO and new[tile] is YES}
    assert what.removed == {tile for tile in where if old[tile] is not None and new[tile] is None}
    assert what.added == {tile for tile in where if old[tile] is None and new[tile] is not None}


def test_ground_is_told_stretch_by_stretch():
    assert spans([(5, 2), (4, 2), (1, 3), (7, 2)]) == "row 2, columns 4 to 5; row 2, column 7; and row 3, column 1"


def test_windows_said_to_be_at_least_so_long_are_not_called_narrower():
    def with_window(ms, is_open):
        return one(moves=(*make_report().moves[:2], replace(TIGHT_HOP, window_ms=ms, window_open=is_open)))

    assert told(compare(with_window(50.0, False), with_window(33.3, False)))
    assert told(compare(with_window(50.0, True), with_window(33.3, False)))
    for pair in (
        (with_window(50.0, False), with_window(33.3, True)),
        (with_window(50.0, True), with_window(66.7, False)),
    ):
        assert [(change.kind, change.direction) for change in compare(*pair).changes] == [(Kind.ROUTE, Direction.OTHER)]


def test_a_longer_script_is_told_and_is_not_worse():
    comparison = compare(one(), one(places=(START, replace(LAMP, ticks=200), make_report().places[2])))
    assert told(comparison) == []
    assert told(comparison, Direction.OTHER) == [(Kind.ROUTE, "ticks of the script to lamp")]


def test_levels_links_and_findings_of_a_world():
    link = LinkVerdict(("quay", "lamp"), ("mill", "start-1"), YES)
    before = side_of(world(level("quay", make_report()), level("mill", make_report()), links=(link,)))
    shut = WorldFinding("unentered-level", SOFTLOCK.severity, "mill", None, "No one gets in.")
    after = side_of(
        world(
            level("quay", make_report()),
            level("mill", entered=NO),
            level("shed", make_report(findings=(SOFTLOCK,))),
            links=(replace(link, verdict=NO),),
            findings=(shut, replace(shut, level="shed")),
        )
    )
    comparison = compare(before, after)
    assert [kind for kind, _ in told(comparison)] == [Kind.LINK, Kind.ERROR, Kind.LEVEL]
    assert comparison.only_after == ("shed",)
    shut_out = comparison.going(Direction.WORSE)[-1].message
    assert shut_out == "Lost with the exit lamp of quay. 2 places and 3 tiles of ground in it go with it."
    gone = compare(after, before)
    assert gone.only_before == ("shed",)
    assert not gone.going(Direction.WORSE)


def test_what_only_a_closed_entrance_led_to_is_lost_and_what_another_leads_to_is_said():
    door = make_report(from_place="door", places=(START, LAMP, place("key", "pickup", YES)))
    gate = make_report(places=(START, LAMP, place("key", "pickup", NO)))
    both, alone = (side_of(world(level("quay", *those))) for those in ((gate, door), (gate,)))
    assert told(compare(both, alone)) == [(Kind.PLACE, "key")]
    lost = replace(door, places=(START, replace(LAMP, verdict=NO), place("key", "pickup", YES)))
    (change,) = compare(both, side_of(world(level("quay", gate, lost)))).going(Direction.WORSE)
    assert (change.kind, change.entrance, change.message) == (Kind.PLACE, "door", "From start-1 it is reached.")


def test_a_level_that_could_not_be_checked_is_not_compared():
    broken = side_of(world(level("quay", why="no such file")))
    comparison = compare(one(), broken)
    assert (comparison.changes, dict(comparison.not_compared)) == ((), {"quay": "after: no such file"})


def test_two_of_one_kind_only():
    folder = side_of(world(level("quay", make_report()), linked=False))
    with pytest.raises(InputError, match="a world with links before and a folder of levels after"):
        compare(one(), folder)
    alone = [side_of(world(level("quay", make_report(from_place=each)), linked=False), True) for each in ("a", "b")]
    with pytest.raises(InputError, match="from a before and from b after"):
        compare(*alone)


def test_a_saved_report_compares_as_the_one_that_was_saved():
    link = LinkVerdict(("quay", "lamp"), ("quay", "start-1"), YES)
    report = make_report(findings=(SOFTLOCK, MEANT, TIGHT_LANDING), moves=make_report().moves)
    finding = WorldFinding("loose-exit", TIGHT_LANDING.severity, "quay", "lamp", "It leads nowhere.")
    made = world(level("quay", report), links=(link,), findings=(finding,), must_reach=(("quay", "lamp"),))
    made = replace(made, options=report.options)
    saved = side_of_saved(parsed(world_json.dump(made)), "saved.json", "saved")
    assert not compare(side_of(made), saved).changes
    assert not compare(saved, side_of(made)).remarks
    single = side_of_saved(parsed(json_report.dump(report)), "saved.json", "saved")
    assert not compare(single, side_of(replace(made, linked=False, links=(), findings=()), True)).changes


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"places": 3}, r"\$\.places: found 3; allowed: a list"),
        ({"route": [10**400]}, r"\$\.route\[0\]: found 10+.*; allowed: a whole number up to 9007199254740991"),
        ({"route": [99]}, r"\$\.route\[0\]: found 99; allowed: an index into moves"),
        ({"tiles": {"reachable": [[1, -2]]}}, r"\$\.tiles\.reachable\[0\]"),
        ({"complete": "yes"}, r"\$\.complete: found \"yes\"; allowed: true or false"),
    ],
)
def test_a_saved_report_that_is_none_is_refused_at_the_place(change, words):
    data = parsed(json_report.dump(make_report())) | change
    with pytest.raises(InputError, match=words):
        side_of_saved(data, "saved.json", "saved")


def test_json_keeps_to_its_schema_and_markdown_names_the_worst_first():
    comparison = compare(one(), one(findings=(SOFTLOCK,), places=(START, replace(LAMP, verdict=NO))))
    jsonschema.validate(json.loads(comparison_json.dump(comparison)), load_schema("comparison"))
    lines = comparison_markdown.dump(comparison).splitlines()
    assert lines[0] == "## Isle: 2 things got worse"
    assert [line.split(":")[1] for line in lines if line.startswith("- ")] == [
        " goal lamp, required",
        " error softlock on tile 4,5",
    ]


LIMIT = "the time limit of 1 s"
DOUBT = Finding("undecided", SOFTLOCK.severity, (6, 1), "It is undecided.", details={"place": "lamp", "verdict": OPEN})


def ended(**values):
    return one(complete=False, incomplete_why=LIMIT, **values)


def test_what_one_entrance_leaves_undecided_does_not_hide_what_another_lost():
    door, gate = make_report(from_place="door"), make_report(places=(START, replace(LAMP, verdict=NO)))
    unsure = make_report(places=(START, replace(LAMP, verdict=OPEN)))
    comparison = compare(*(side_of(world(level("quay", *those))) for those in ((gate, door), (unsure,))))
    assert told(comparison) == [(Kind.GOAL, "lamp")]
    assert (Kind.GOAL, "lamp") in told(comparison, Direction.OTHER)
    tiles = [{YES: (), NO: (), OPEN: ()} | {verdict: ((4, 2),)} for verdict in (NO, YES, OPEN)]
    one_way, other, now = (make_report(from_place=name, tiles=those) for name, those in zip("aba", tiles, strict=True))
    ground = compare(*(side_of(world(level("quay", *those))) for those in ((one_way, other), (now,))))
    (lost,) = (change for change in ground.going(Direction.WORSE) if change.kind is Kind.TILES)
    assert (lost.entrance, lost.title, ground.in_doubt) == (None, "ground: 1 lost (1 undecided)", [lost])


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (one(findings=(SOFTLOCK,)), ended()),
        (ended(), one(findings=(SOFTLOCK,))),
        (one(findings=(replace(SOFTLOCK, details={"place": "lamp"}),)), one(findings=(DOUBT,))),
        (one(findings=(DOUBT,)), one(findings=(replace(SOFTLOCK, details={"place": "lamp"}),))),
        (one(findings=(DOUBT,)), one(findings=(replace(DOUBT, severity=TIGHT_LANDING.severity),))),
    ],
)
def test_a_finding_against_a_limit_or_a_doubt_is_neither_worse_nor_better(before, after):
    comparison = compare(before, after)
    assert comparison.going(Direction.OTHER) == list(comparison.changes) != []


def test_a_doubt_about_a_level_that_was_shut_is_neither():
    shut = WorldFinding("unentered-level", SOFTLOCK.severity, "quay", None, "No one gets in.")
    doubt = replace(shut, severity=TIGHT_LANDING.severity, details={"verdict": OPEN})
    sides = [side_of(world(level("quay", entered=each), findings=(of,))) for each, of in ((NO, shut), (OPEN, doubt))]
    for pair in (sides, sides[::-1]):
        assert {change.direction for change in compare(*pair).changes} == {Direction.OTHER}


def test_the_headline_tells_what_is_doubt_and_what_was_not_finished_or_not_compared():
    lost = one(places=(START, replace(LAMP, verdict=OPEN)))
    assert comparison_text.headline(compare(one(), lost)) == "1 thing got worse (1 undecided now)"
    doubt = compare(one(), one(findings=(DOUBT,)))
    assert comparison_text.headline(doubt) == "1 thing got worse (1 undecided now)"
    assert not compare(one(findings=(DOUBT,)), one()).going(Direction.BETTER), "a doubt that is gone"
    unknown, known = (one(tiles={YES: (), NO: (), OPEN: ()} | {each: ((4, 2),)}) for each in (OPEN, YES))
    (gained,) = compare(unknown, known).changes
    assert (gained.direction, gained.title) == (Direction.OTHER, "ground: 1 gained (1 undecided before)")
    assert comparison_text.headline(compare(one(), ended())) == "nothing got worse, 1 check not finished"
    both = side_of(world(level("quay", make_report()), level("mill", make_report())))
    assert comparison_text.headline(compare(both, one())) == "nothing changed, 1 level not compared"


def test_what_is_accepted_now_is_not_told_as_gone():
    (change,) = compare(one(findings=(SOFTLOCK,)), one(findings=(replace(SOFTLOCK, accepted="Meant."),))).changes
    assert (change.direction, change.before, change.after) == (Direction.OTHER, "error", "accepted")


def test_a_narrowest_window_is_not_called_wider_while_a_move_is_not_measured():
    moves = make_report().moves
    unmeasured = one(moves=(*moves[:2], replace(TIGHT_HOP, window_ms=None, window_ticks=None)))
    for pair in ((one(), unmeasured), (unmeasured, one())):
        (change,) = compare(*pair).changes
        assert (change.kind, change.direction) == (Kind.WINDOW, Direction.OTHER)


def test_another_version_movement_or_limit_is_told_and_other_options_are_refused():
    old, told_s = world(level("quay", make_report())), {"window_threshold_ms": 60.0, "time_limit_s": None}
    new = replace(world(level("quay", make_report(movement_sha256="3" * 64))), product="reach 2")
    sides = [replace(side_of(old), options=told_s), replace(side_of(new), options=told_s | {"time_limit_s": 9})]
    assert compare(*sides).remarks == (
        "made by another version: reach 1 before, reach 2 after",
        "checked with another time_limit_s: None before, 9 after",
        "the movement lamplighter is not the same before and after, though its name is",
    )
    with pytest.raises(InputError, match=r"window_threshold_ms 60\.0 before and 40\.0 after"):
        compare(sides[0], replace(sides[1], options=told_s | {"window_threshold_ms": 40.0}))


def test_two_without_a_level_in_common_are_refused():
    with pytest.raises(InputError, match="no level that is there before and after"):
        compare(one(), side_of(world(level("mill", make_report()))))


def test_a_saved_report_on_a_part_or_with_a_level_twice_is_refused():
    made = replace(world(level("quay", make_report())), options=make_report().options)
    with pytest.raises(InputError, match=r"\$\.changed_since: found a report on a part of a world"):
        side_of_saved(parsed(world_json.dump(replace(made, changed_since="main"))), "saved.json", "saved")
    twice = parsed(world_json.dump(replace(made, levels=made.levels * 2)))
    with pytest.raises(InputError, match=r"\$\.levels\[1\]\.id: found \"quay\"; allowed: each once"):
        side_of_saved(twice, "saved.json", "saved")


def test_half_of_a_surrogate_pair_is_no_json():
    assert parsed('["\\ud83c\\udf0a"]') == ["\N{WATER WAVE}"]
    with pytest.raises(ValueError, match="half of a surrogate pair"):
        parsed('{"name": "\\ud83c"}')
