from reach.world.result import Job, State
from tests.made_worlds import NO, YES, TableRunner, judged, made_world, room


def test_a_room_has_the_places_told_and_a_start():
    level = room("hall", {"door": "exit", "key": {"kind": "pickup", "required": True}})
    assert {place.id for place in level.places} == {"in", "door", "key"}
    assert level.start.id == "in" and level.place("key").required
    assert room("hall", {"bed": "start"}).start.id == "bed"


def test_the_runner_answers_from_its_table_and_fails_where_it_says_so():
    world = made_world({"hall": {"door": "exit"}, "lost": None}, {}, "hall/in")
    runner = TableRunner(world, {Job("hall", "in"): {"door": NO}, Job("hall", "door"): None})
    places = runner.answer(Job("hall", "in")).report.places
    assert {place.id: place.verdict for place in places} == {"in": YES, "door": NO}
    assert runner.answer(Job("hall", "door")).state is State.FAILED
    assert runner.answer(Job("lost", "in")).state is State.FAILED


def test_the_runner_takes_an_order_of_its_own():
    world = made_world({each: {"door": "exit"} for each in "abcdefgh"}, {}, None)
    orders = set()
    for seed in range(5):
        runner = TableRunner(world, {}, seed)
        for level in "abcdefgh":
            runner.submit(Job(level, "in"))
        assert len(list(runner.as_completed())) == 8
        orders.add(tuple(job.level for job in runner.ran))
    assert len(orders) > 1


def test_a_folder_of_rooms_is_judged_without_a_world():
    report = judged(made_world({"a": {"door": "exit"}, "b": {}}, {}, None))
    assert (report.linked, report.findings) == (False, ())
    assert [level.verdict for level in report.levels] == [YES, YES]
