import numpy as np

from reach.options import CheckOptions
from reach.script import Script, Step
from reach.world.fixpoint import run_all
from reach.world.passing_by import leavings, not_passing_by, questions
from reach.world.result import Job
from reach.world.serial_runner import SerialRunner
from reach.world.ways import begin, reached, ways_of
from tests.made_worlds import NO, OPEN, YES, TableRunner, made_world

KEY = {"kind": "pickup", "required": True}
ROOMS = {"hall": {"key": KEY, "door": "exit", "hatch": "exit"}, "den": {"lamp": "goal"}}
LINKS = {"hall/door": "den/in", "hall/hatch": "den/in"}


def made(table=None, links=LINKS, must_reach=(), scripts=None):
    world = made_world(ROOMS, links, "hall/in", must_reach)
    runner = TableRunner(world, {Job(*key.split("/")): answer for key, answer in (table or {}).items()})
    outcomes, _ = run_all(world, runner)
    for job, outcome in outcomes.items():
        if outcome.report is not None and job.level == "hall":
            outcome.report.scripts.update(scripts or {})
    return world, ways_of(world, outcomes), outcomes


def verdicts_without_the_key(world, ways, outcomes, asides, *places):
    closed = not_passing_by(world, ways, ("hall", "key"), outcomes, asides)
    edges = [(begin(("hall", "in")), reached(("hall", place))) for place in places]
    return [NO if edge in closed.over_.edges else OPEN if edge in closed.under_.edges else YES for edge in edges]


def test_what_may_be_left_behind_has_to_be_had_and_reached():
    world, ways, _ = made(must_reach=("den/lamp",))
    (leaving,) = leavings(world, ways)
    assert leaving.spot == ("hall", "key") and leaving.links == world.links
    for answer in (NO, OPEN):
        world, ways, _ = made({"hall/in": {"key": answer}})
        assert list(leavings(world, ways)) == []
    world, ways, _ = made({"hall/in": {"door": NO, "hatch": NO}})
    assert list(leavings(world, ways)) == []


def test_a_question_is_asked_unless_scripts_already_show_every_exit():
    right = {
        "door": Script("hall", "tests", "in", (Step(2, ()),)),
        "hatch": Script("hall", "tests", "in", (Step(3, ()),)),
    }
    assert questions(*made()) == [Job("hall", "in", "key")]
    assert questions(*made(scripts={"door": right["door"]})) == [Job("hall", "in", "key")]
    assert questions(*made(scripts=right)) == []
    assert questions(*made({"hall/in": {"hatch": NO}}, scripts={"door": right["door"]})) == []
    through = {each: Script("hall", "tests", "in", (Step(60, ("right",)),)) for each in right}
    assert questions(*made(scripts=through)) == [Job("hall", "in", "key")]


def test_answers_decide_what_is_passed_by():
    world, ways, outcomes = made({"hall/in": {"hatch": OPEN}})
    runner = TableRunner(world, {})

    def verdicts(answer):
        runner.table = {Job("hall", "in", "key"): answer}
        asides = {Job("hall", "in", "key"): runner.answer(Job("hall", "in", "key"))}
        return verdicts_without_the_key(world, ways, outcomes, asides, "key", "door", "hatch")

    assert verdicts({"hatch": OPEN}) == [NO, YES, OPEN]
    assert verdicts({"door": NO, "hatch": OPEN}) == [NO, NO, OPEN]
    assert verdicts(None) == [NO, OPEN, OPEN]


def test_on_real_levels_a_low_ceiling_is_what_makes_the_key_unavoidable():
    world = made_world(
        {"hall": {"key": KEY, "door": "exit"}, "den": {"lamp": "goal"}}, {"hall/door": "den/in"}, "hall/in"
    )
    outcomes, asides = run_all(
        world, SerialRunner(world, CheckOptions()), lambda done: questions(world, ways_of(world, done), done)
    )
    ways = ways_of(world, outcomes)
    assert verdicts_without_the_key(world, ways, outcomes, asides, "door") == [YES]
    hall = world.by_id["hall"].level
    assert np.all(hall.material[0] == 0)
