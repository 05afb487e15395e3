from tests.made_worlds import NO, OPEN, found, judged, made_world


def doors(kind, table=None, links=None):
    world = made_world({"hall": {"door": kind, "hatch": "exit"}}, {"hall/hatch": "hall/in", **(links or {})}, "hall/in")
    return found(judged(world, table), "loose-exit")


def test_a_reachable_exit_without_a_link_is_a_warning():
    assert doors("exit") == [("warning", "hall", "door")]


def test_a_linked_one_is_not_found():
    assert doors("exit", links={"hall/door": "hall/in"}) == []


def test_one_that_nobody_is_proved_to_reach_is_not_found():
    assert doors("exit", {"hall/in": {"door": NO}}) == []
    assert doors("exit", {"hall/in": {"door": OPEN}}) == []


def test_neither_a_goal_that_ends_the_level_nor_an_exit_that_does_not_is_one():
    assert doors("goal") == []
    assert doors({"kind": "exit", "ends_level": False}) == []
