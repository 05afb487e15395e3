from dataclasses import replace

from reach.findings import Finding, Severity
from reach.world.fixpoint import run_all
from reach.world.result import Job, LevelFinding
from reach.world.ways import ways_of
from reach.world.world_evidence import WorldEvidence
from tests.made_worlds import NO, OPEN, YES, TableRunner, made_world

ROOMS = {"hall": {"a": "exit", "b": "goal", "c": "goal"}, "den": {"in": "start", "side": "entrance"}, "attic": {}}


def evidence(table, links, findings=None):
    world = made_world(ROOMS, links, "hall/in")
    runner = TableRunner(world, {Job(*key.split("/")): answer for key, answer in table.items()})
    outcomes, asides = run_all(world, runner)
    return WorldEvidence(world, outcomes, asides, ways_of(world, outcomes), findings or {})


def test_a_level_is_entered_if_one_of_its_entrances_is():
    made = evidence({"hall/in": {"a": OPEN}}, {"hall/a": "den/in", "hall/b": "den/side"})
    assert made.entered == {"hall": YES, "den": YES, "attic": NO}
    made = evidence({"hall/in": {"a": OPEN, "b": NO}}, {"hall/a": "den/in", "hall/b": "den/side"})
    assert made.entered == {"hall": YES, "den": OPEN, "attic": NO}


def test_the_game_ends_at_goals_that_end_their_level_and_lead_nowhere():
    assert evidence({}, {"hall/b": "den/in"}).endings == (("hall", "c"),)


def test_only_an_error_that_counts_tells_of_a_place():
    error = Finding("unreachable-goal", Severity.ERROR, (2, 2), "No.", details={"place": "c"})
    for finding, told in (
        (error, error),
        (replace(error, accepted="Later."), None),
        (replace(error, severity=Severity.WARNING), None),
        (replace(error, details={"place": "b"}), None),
        (replace(error, details={}), None),
    ):
        assert evidence({}, {}, {"hall": (LevelFinding(finding, ("in",)),)}).told_by(("hall", "c")) is told
