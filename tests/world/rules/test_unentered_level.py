from tests.made_worlds import NO, OPEN, found, judged, made_world

ROOMS = {"hall": {"door": "exit"}, "attic": {"hatch": "exit"}}


def attic(links, table=None, rooms=ROOMS):
    return judged(made_world(rooms, links, "hall/in"), table)


def test_a_level_without_a_link_into_it_is_an_error():
    report = attic({"hall/door": "hall/in", "attic/hatch": "attic/in"})
    assert found(report, "unentered-level") == [("error", "attic", None)]
    assert "no link leads to it from another level" in report.findings[0].message


def test_a_link_from_a_reachable_exit_lets_in():
    assert found(attic({"hall/door": "attic/in"}), "unentered-level") == []


def test_an_unreachable_exit_lets_nobody_in_and_is_named():
    report = attic({"hall/door": "attic/in"}, {"hall/in": {"door": NO}})
    assert found(report, "unentered-level") == [("error", "attic", None)]
    assert "because 'hall/door' cannot be reached" in report.findings[0].message


def test_an_undecided_exit_leaves_it_undecided():
    report = attic({"hall/door": "attic/in"}, {"hall/in": {"door": OPEN}})
    assert found(report, "unentered-level") == [("warning", "attic", None)]
    assert report.findings[0].details == {
        "verdict": "undecided",
        "linked_from": ["hall/door"],
        "because": ["hall/door"],
    }


def test_what_lies_behind_a_failed_level_is_undecided():
    report = attic({"hall/door": "attic/in"}, {"hall/in": None})
    assert found(report, "unentered-level") == [("warning", "attic", None)]
    report = attic({"hall/door": "attic/in"}, rooms={**ROOMS, "hall": None})
    assert found(report, "unentered-level") == [("warning", "attic", None)]
    assert len(report.levels[1].outcomes) == 1
