from reach.world.fixpoint import first_jobs, opened, over_reached, run_all, run_these, under_reached
from reach.world.result import Job
from tests.made_worlds import NO, OPEN, TableRunner, made_world

ROOMS = {"hall": {"a": "exit", "b": "exit"}, "attic": {"in": "start", "gate": "entrance", "a": "exit"}, "den": {}}
LINKS = {"hall/a": "attic/gate", "hall/b": "den/in", "attic/a": "attic/in"}


def ran(table, links=LINKS, start="hall/in", seed=0):
    world = made_world(ROOMS, links, start)
    runner = TableRunner(world, {Job(*key.split("/")): answer for key, answer in table.items()}, seed)
    outcomes, _ = run_all(world, runner)
    assert sorted(outcomes, key=str) == sorted(runner.ran, key=str)
    return [f"{job.level}/{job.entrance}" for job in outcomes]


def test_every_entrance_that_opens_is_run_once_in_the_worlds_order():
    for seed in range(6):
        assert ran({}, seed=seed) == ["hall/in", "attic/in", "attic/gate", "den/in"]


def test_what_is_proved_out_of_reach_opens_nothing_and_what_is_undecided_does():
    assert ran({"hall/in": {"a": NO, "b": OPEN}}) == ["hall/in", "den/in"]
    assert ran({"attic/gate": {"a": NO}}) == ["hall/in", "attic/gate", "den/in"]


def test_a_job_that_failed_opens_all_that_its_level_leads_to():
    assert ran({"hall/in": None}) == ["hall/in", "attic/in", "attic/gate", "den/in"]


def test_a_folder_runs_every_start():
    assert ran({}, {}, None) == ["hall/in", "attic/in", "den/in"]
    world = made_world({"hall": None, "den": {}}, {}, None)
    assert first_jobs(world) == [Job("hall", "start"), Job("den", "in")]


def test_over_and_under_are_kept_apart():
    world = made_world(ROOMS, LINKS, "hall/in")
    outcome = TableRunner(world, {Job("hall", "in"): {"a": NO, "b": OPEN}}).answer(Job("hall", "in"))
    assert (over_reached(world, outcome), under_reached(outcome)) == (["in", "b"], ["in"])
    assert opened(world, outcome) == [Job("den", "in")]
    outcome = TableRunner(world, {Job("hall", "in"): None}).answer(Job("hall", "in"))
    assert (over_reached(world, outcome), under_reached(outcome)) == (["in", "a", "b"], [])


def test_questions_are_asked_once_when_nothing_opens_any_more_and_kept_apart():
    world = made_world(ROOMS, LINKS, "hall/in")
    told = []

    def ask(outcomes):
        told.append(len(outcomes))
        return [Job("hall", "in", "b"), Job("hall", "in", "a")]

    seen = []
    runner = TableRunner(world, {Job("hall", "in", "a"): {"b": NO}})
    outcomes, asides = run_all(world, runner, ask, seen.append)
    assert told == [4] and len(outcomes) == 4 == len(seen)
    assert list(asides) == [Job("hall", "in", "a"), Job("hall", "in", "b")]
    assert not any(outcome.job.without for outcome in seen)


def test_what_is_kept_is_without_what_a_picture_needs_and_what_is_told_is_with_it():
    world = made_world(ROOMS, {}, "hall/in")
    seen = []
    outcomes, _ = run_all(world, TableRunner(world, {}), on_outcome=seen.append)
    assert seen[0].report.coverage.size and not outcomes[Job("hall", "in")].report.coverage.size


def test_some_jobs_are_run_and_nothing_that_opens_behind_them():
    world = made_world({"hall": {"out": "exit"}, "den": {}}, {"hall/out": "den/in"}, "hall/in")
    runner = TableRunner(world, {})
    assert [*run_these(world, runner, [Job("hall", "in")])] == runner.ran == [Job("hall", "in")]
    assert run_these(world, TableRunner(world, {}), []) == {}
