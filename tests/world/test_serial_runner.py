from reach.options import CheckOptions
from reach.world.result import Job, State
from reach.world.serial_runner import SerialRunner, Standing
from tests.made_worlds import made_world


def test_jobs_are_run_in_the_order_in_which_they_were_taken_on_also_on_the_way():
    world = made_world({"hall": {"door": "exit"}, "attic": {"door": "exit"}}, {}, "hall/in")
    seen = []
    runner = SerialRunner(world, CheckOptions(), seen.append)
    runner.submit(Job("hall", "in"))
    runner.submit(Job("attic", "in"))
    done = []
    for outcome in runner.as_completed():
        done.append(outcome.job)
        assert outcome.state is State.CHECKED
        if len(done) == 1:
            runner.submit(Job("hall", "door"))
    assert done == [Job("hall", "in"), Job("attic", "in"), Job("hall", "door")]
    assert {(one.done, one.waiting, one.running[0][0]) for one in seen} == {
        (0, 1, done[0]),
        (1, 1, done[1]),
        (2, 0, done[2]),
    }
    assert len({stage for one in seen for _, stage in one.running}) > 2


def test_how_far_a_run_is():
    assert Standing(((Job("a", "in"), "exploring"),), 2, 1).part == 0.5
    assert Standing((), 0, 0).part == 0
