from reach.world.result import Job
from reach.world.world_checker import check_world
from tests.made_worlds import NO, OPEN, TableRunner, found, judged, made_world

KEY = {"kind": "pickup", "required": True}
ROOMS = {"scullery": {"key": KEY, "door": "exit"}, "lamp-room": {"lamp": "goal", "back": "exit"}}
LINKS = {"scullery/door": "lamp-room/in"}


def missable(table=None, links=None, rooms=ROOMS, must_reach=()):
    return found(
        judged(made_world(rooms, LINKS | (links or {}), "scullery/in", must_reach), table), "missable-for-good"
    )


def test_a_required_pickup_behind_which_a_door_falls_shut_is_an_error():
    assert missable() == [("error", "scullery", "key")]


def test_a_way_back_saves_it_if_it_can_be_taken():
    back = {"lamp-room/back": "scullery/in"}
    assert missable(links=back) == []
    assert missable({"lamp-room/in": {"back": NO}}, back) == [("error", "scullery", "key")]
    assert missable({"lamp-room/in": {"back": OPEN}}, back) == []
    assert missable({"lamp-room/in": None}, back) == []


def test_a_way_back_to_where_it_is_out_of_reach_does_not():
    rooms = {**ROOMS, "scullery": {"key": KEY, "door": "exit", "low": "entrance"}}
    back = {"lamp-room/back": "scullery/low"}
    assert missable({"scullery/low": {"key": NO}}, back, rooms) == [("error", "scullery", "key")]
    assert missable({}, back, rooms) == []


def test_who_cannot_leave_without_it_does_not_miss_it():
    assert missable({"scullery/in/key": {"door": NO}}) == []


def test_whether_one_can_leave_without_it_may_be_undecided():
    for answer in ({"door": OPEN}, None):
        world = made_world(ROOMS, LINKS, "scullery/in")
        report = judged(world, {"scullery/in/key": answer})
        assert found(report, "missable-for-good") == [("warning", "scullery", "key")]
        assert "It is undecided" in report.findings[-1].message


def test_what_need_not_be_had_or_is_not_reached_is_not_told():
    rooms = {**ROOMS, "scullery": {"key": "pickup", "door": "exit"}}
    assert missable(rooms=rooms) == []
    assert missable(rooms=rooms, must_reach=("scullery/key",)) == [("error", "scullery", "key")]
    assert missable({"scullery/in": {"key": NO}}) == []


def test_a_link_that_strands_is_left_to_the_trap():
    rooms = {**ROOMS, "lamp-room": {"back": "exit"}}
    world = made_world(rooms, LINKS, "scullery/in", ("scullery/key",))
    report = judged(world)
    assert found(report, "missable-for-good") == []
    assert found(report, "one-way-trap") == [("error", "scullery", "door")]


def test_a_later_visit_counts_only_if_it_can_be_made_without_having_been_there():
    """The door to the lamp room opens from the hall alone, and whoever comes from the hall walks into the key."""
    rooms = {
        "hall": {"door": "exit"},
        "scullery": {"key": KEY, "side": "entrance", "hatch": "exit", "door": "exit"},
        "lamp-room": {"lamp": "goal"},
    }
    links = {"scullery/hatch": "hall/in", "hall/door": "scullery/side", "scullery/door": "lamp-room/in"}
    world = made_world(rooms, links, "scullery/in")
    table = {
        "scullery/in": {"door": NO},
        "scullery/side/key": {"door": NO, "hatch": NO},
        "scullery/in/key": {"door": NO},
    }
    assert found(judged(world, table), "missable-for-good") == []
    table["scullery/side/key"] = {"hatch": NO}
    assert found(judged(world, table), "missable-for-good") == [("error", "scullery", "key")]


def test_nothing_is_asked_beside_where_nothing_can_be_left_behind():
    world = made_world(ROOMS, LINKS | {"lamp-room/back": "scullery/in"}, "scullery/in")
    runner = TableRunner(world, {})
    check_world(world, runner=runner)
    assert {job.without for job in runner.ran} == {""}
    world = made_world(ROOMS, LINKS, "scullery/in")
    runner = TableRunner(world, {})
    check_world(world, runner=runner)
    assert Job("scullery", "in", "key") in runner.ran
