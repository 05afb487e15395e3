"""In which order, and with which titles, the findings of a made world are told."""

from dataclasses import replace

from reach.findings import Severity
from reach.report.world_findings import counting, meant, notes_of_world, other_notes
from reach.world.result import Job
from reach.world.world_file import WorldAccept
from tests.made_reports import MEANT, SOFTLOCK, UNUSED
from tests.made_worlds import NO, judged, made_world

ROOMS = {"hall": {"a": "exit"}, "den": {"b": "exit"}, "loft": {"lamp": "goal"}, "attic": {}}
LINKS = {"hall/a": "den/in", "den/b": "loft/in"}


def made():
    world = made_world(ROOMS, LINKS, "hall/in", ("loft/lamp",))
    accept = (WorldAccept("unentered-level", "attic", None, "Later."), WorldAccept("loose-exit", None, None, "None."))
    table = {"hall/in": {"a": NO}}
    return judged(replace(world, accept=accept), table, findings={Job("hall", "in"): (SOFTLOCK, UNUSED, MEANT)})


def titles(told):
    return [one.title for one in told]


def test_what_is_wrong_in_itself_comes_before_what_follows():
    report = made()
    assert titles(counting(report, Severity.ERROR, False)) == ["hall: softlock on tile 4,5"]
    assert titles(counting(report, Severity.ERROR, True)) == ["unentered-level of den", "unentered-level of loft"]
    assert counting(report, Severity.WARNING, False) == []


def test_what_is_meant_has_its_reason():
    told = [(one.title, one.message) for one in meant(made())]
    assert told == [("hall: no-return on tile 4,2", "The tide has come in."), ("unentered-level of attic", "Later.")]


def test_a_stale_entry_is_written_out_and_other_notes_are_counted_by_rule():
    (stale,) = notes_of_world(made())
    assert stale.title == "stale-accept" and stale.advice.startswith("Remove the entry")
    assert other_notes(made()) == {"unused-ground": 1, "goal-out-of-reach": 1}
