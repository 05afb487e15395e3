from reach.findings import Finding, Severity
from reach.world.result import Job
from tests.made_worlds import NO, OPEN, found, judged, made_world

ROOMS = {
    "stair": {"door": "exit"},
    "gallery": {"gate": "entrance", "lamp": {"kind": "goal", "ends_level": False}, "door": "exit"},
}


def gallery(target, table=None, rooms=ROOMS, findings=()):
    world = made_world(rooms, {"stair/door": target, "gallery/door": "stair/in"}, "stair/in", ("gallery/lamp",))
    told = {Job("gallery", "in"): findings} if findings else {}
    return judged(world, table, findings=told)


def test_a_goal_that_no_entrance_reaches_is_an_error():
    report = gallery("gallery/in", {"gallery/in": {"lamp": NO}})
    assert found(report, "goal-out-of-reach") == [("error", "gallery", "lamp")]
    assert "cannot be, from where its level is entered: in." in report.findings[0].message


def test_it_is_enough_that_one_entrance_reaches_it():
    assert found(gallery("gallery/gate", {"gallery/in": {"lamp": NO}}), "goal-out-of-reach") == []


def test_an_entrance_that_nobody_begins_at_does_not_help():
    report = gallery("gallery/in", {"gallery/in": {"lamp": NO}, "gallery/gate": {}})
    assert found(report, "goal-out-of-reach") == [("error", "gallery", "lamp")]


def test_what_is_undecided_is_an_error_that_says_so():
    report = gallery("gallery/in", {"gallery/in": {"lamp": OPEN}})
    assert found(report, "goal-out-of-reach") == [("error", "gallery", "lamp")]
    assert "it is undecided whether it can be" in report.findings[0].message
    report = gallery("gallery/in", rooms={**ROOMS, "gallery": None})
    assert found(report, "goal-out-of-reach") == [("note", "gallery", "lamp")]


def test_in_a_level_that_nobody_enters_it_only_follows():
    report = gallery("stair/in")
    assert found(report, "goal-out-of-reach") == [("note", "gallery", "lamp")]
    assert found(report, "unentered-level") == [("error", "gallery", None)]


def test_where_an_error_of_the_level_tells_of_it_it_only_follows():
    error = Finding("unreachable-goal", Severity.ERROR, (2, 2), "No.", details={"place": "lamp"})
    report = gallery("gallery/in", {"gallery/in": {"lamp": NO}}, findings=(error,))
    assert found(report, "goal-out-of-reach") == [("note", "gallery", "lamp")]
    assert report.count(Severity.ERROR) == 1
    warning = Finding("unreachable-goal", Severity.WARNING, (2, 2), "No.", details={"place": "lamp"})
    report = gallery("gallery/in", {"gallery/in": {"lamp": NO}}, findings=(warning,))
    assert found(report, "goal-out-of-reach") == [("error", "gallery", "lamp")]
