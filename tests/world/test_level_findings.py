from dataclasses import replace

import pytest

from reach.findings import Finding, Severity
from reach.world.level_findings import gathered
from reach.world.result import Job, Outcome, State
from tests.made_reports import MEANT, SOFTLOCK, TIGHT_LANDING, UNUSED, make_report
from tests.made_worlds import NO, OPEN, YES, TableRunner, made_world, room

PLACES = {"gate": "entrance", "lamp": {"kind": "goal", "ends_level": False}, "door": "exit", "hatch": "exit"}
LEVEL = room("hall", PLACES)


def out_of_reach(place, **values):
    return Finding("unreachable-goal", Severity.ERROR, (2, 2), f"No {place}.", "Mend it.", {"place": place}, **values)


def together(found, table=None, entered=None, places=PLACES):
    """What is gathered from the findings by entrance, as (severity, rule, entrances)."""
    world = made_world({"hall": places}, {}, "hall/in")
    runner = TableRunner(world, {Job("hall", each): answer for each, answer in (table or {}).items()})
    runner.findings = {Job("hall", each): findings for each, findings in found.items()}
    outcomes = [runner.answer(Job("hall", each)) for each in found]
    verdicts = dict.fromkeys(found, YES) | (entered or {})
    return gathered(world.by_id["hall"].level, outcomes, verdicts)


def told(entries):
    return [(each.finding.severity.value, each.finding.rule, each.entrances) for each in entries]


def test_the_same_thing_from_two_entrances_is_one():
    again = replace(SOFTLOCK, message="Said otherwise, as the way in is another.")
    entries = together({"in": (SOFTLOCK, UNUSED), "gate": (TIGHT_LANDING, again)})
    assert told(entries) == [
        ("error", "softlock", ("in", "gate")),
        ("warning", "tight-landing", ("gate",)),
        ("note", "unused-ground", ("in",)),
    ]
    assert entries[0].finding == SOFTLOCK


def test_two_things_at_one_tile_stay_two():
    one, other = out_of_reach("lamp"), out_of_reach("door")
    closed = {each: {"lamp": NO, "door": NO} for each in ("in", "gate")}
    assert told(together({"in": (one, other), "gate": (one, other)}, closed)) == [
        ("error", "unreachable-goal", ("in", "gate")),
        ("error", "unreachable-goal", ("in", "gate")),
    ]


def test_a_place_that_another_entrance_reaches_is_a_note_that_says_so():
    (entry,) = together({"in": (out_of_reach("lamp"),), "gate": ()}, {"in": {"lamp": NO}})
    assert entry.finding.severity is Severity.NOTE
    assert entry.finding.message == "Beginning at 'in': No lamp. Beginning at 'gate', a script reaches it."


@pytest.mark.parametrize(("answer", "entered"), [(NO, YES), (OPEN, YES), (YES, OPEN), (YES, NO)])
def test_it_stays_an_error_where_no_other_entrance_is_proved_to_settle_it(answer, entered):
    table = {"in": {"lamp": NO}, "gate": {"lamp": answer}}
    entries = together({"in": (out_of_reach("lamp"),), "gate": ()}, table, {"gate": entered})
    assert told(entries) == [("error", "unreachable-goal", ("in",))]


def test_an_ending_is_settled_only_if_one_is_not_stuck_without_it():
    found = {"in": (out_of_reach("door"),), "gate": ()}
    assert told(together(found, {"in": {"door": NO}}))[0][0] == "note"
    assert told(together(found, {"in": {"door": NO, "hatch": NO}}))[0][0] == "error"
    assert told(together(found, {"in": {"door": NO, "hatch": OPEN}}))[0][0] == "error"


def test_a_place_that_must_not_be_reached_is_never_settled():
    broken = Finding(
        "broken-promise", Severity.ERROR, (2, 2), "It is.", "", {"place": "lamp", "must_be": "unreachable"}
    )
    assert told(together({"in": (broken,), "gate": ()})) == [("error", "broken-promise", ("in",))]


def test_what_is_accepted_stays_so():
    assert together({"in": (MEANT,)})[0].finding.accepted


def test_an_entry_is_stale_only_if_no_entrance_finds_what_it_accepts():
    stale = Finding("stale-accept", Severity.NOTE, None, "Not found.")
    assert told(together({"in": (stale,), "gate": ()})) == []
    assert told(together({"in": (stale,), "gate": (stale,)})) == [("note", "stale-accept", ("in", "gate"))]


def test_a_job_without_a_report_finds_nothing():
    failed = Outcome(Job("hall", "in"), State.FAILED, None, "no")
    assert gathered(LEVEL, [failed], {}) == ()
    assert gathered(None, [failed], {}) == ()
    stale = Finding("stale-accept", Severity.NOTE, None, "Not found.")
    checked = Outcome(Job("hall", "gate"), State.CHECKED, make_report(findings=(stale,), places=()))
    assert gathered(LEVEL, [failed, checked], {}) == ()
