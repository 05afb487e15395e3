"""A part of a world: what is said of it, and what is not."""

from reach.findings import Severity
from reach.world.result import Job
from tests.made_reports import SOFTLOCK
from tests.made_worlds import NO, OPEN, YES, judged, judged_part, made_world

ROOMS = {"hall": {"out": "exit"}, "den": {"out": "exit", "gate": "entrance"}, "attic": {}, "lost": None}
LINKS = {"hall/out": "den/in", "den/out": "den/gate"}


def test_levels_are_checked_from_all_entrances_and_nothing_is_told_of_the_world():
    found = {Job("den", "gate"): (SOFTLOCK,), Job("hall", "in"): (SOFTLOCK,)}
    report = judged_part(made_world(ROOMS, LINKS, "hall/in"), ["den"], {"den/in": {"out": NO}}, findings=found)
    assert report.changed_since == "main" and report.findings == () and not report.complete
    assert [level.id for level in report.left_out] == ["hall", "attic", "lost"]
    assert [outcome.job.entrance for outcome in report.levels[1].outcomes] == ["in", "gate"]
    assert report.count(Severity.ERROR) == 1, "of the level that was checked alone"
    assert {level.verdict for level in report.levels} == {OPEN}
    assert report.failed == (), "a broken level that was not checked is not told of"


def test_a_link_is_impassable_only_if_no_place_of_its_level_leads_to_it():
    world = made_world(ROOMS, LINKS, "hall/in")
    assert [link.verdict for link in judged_part(world, ["den"], {"den/in": {"out": NO}}).links] == [OPEN, OPEN]
    both = {"den/in": {"out": NO}, "den/gate": {"out": NO}}
    assert [link.verdict for link in judged_part(world, ["den"], both).links] == [OPEN, NO]
    assert [link.verdict for link in judged_part(world, ["den"], both | {"den/gate": None}).links] == [OPEN, OPEN]
    assert [link.verdict for link in judged_part(world, [], both).links] == [OPEN, OPEN]


def test_a_check_that_fails_is_told_and_says_nothing_of_links():
    report = judged_part(made_world(ROOMS, LINKS, "hall/in"), ["lost", "hall"], {"hall/in": None})
    assert [level.id for level in report.failed] == ["hall", "lost"]


def test_what_is_found_in_a_level_is_what_a_whole_run_finds_where_every_place_is_entered():
    world = made_world(ROOMS, LINKS, "hall/in")
    found = {Job("den", "gate"): (SOFTLOCK,), Job("den", "in"): (SOFTLOCK,)}
    whole, part = judged(world, findings=found), judged_part(world, ["den"], findings=found)
    assert {outcome.job for outcome in whole.levels[1].outcomes} == {outcome.job for outcome in part.levels[1].outcomes}
    assert whole.levels[1].verdict is YES
    assert whole.levels[1].findings == part.levels[1].findings
