from tests.made_worlds import NO, OPEN, found, judged, made_world

ROOMS = {"porch": {"left": "exit", "right": "exit"}, "cellar": {"door": "exit"}, "lamp-room": {"lamp": "goal"}}
LINKS = {"porch/left": "cellar/in", "porch/right": "lamp-room/in", "cellar/door": "cellar/in"}


def traps(table=None, links=None, rooms=ROOMS, must_reach=("lamp-room/lamp",)):
    world = made_world(rooms, LINKS | (links or {}), "porch/in", must_reach)
    return found(judged(world, table), "one-way-trap")


def test_a_link_behind_which_nothing_is_left_is_an_error():
    assert traps() == [("error", "porch", "left")]


def test_a_way_back_frees():
    assert traps(links={"cellar/door": "porch/in"}) == []
    assert traps({"cellar/in": {"door": NO}}, {"cellar/door": "porch/in"}) == [("error", "porch", "left")]


def test_what_is_undecided_is_neither_a_trap_nor_an_entrance_to_one():
    assert traps({"cellar/in": {"door": OPEN}}, {"cellar/door": "porch/in"}) == []
    assert traps({"porch/in": {"left": OPEN}}) == []


def test_a_level_that_could_not_be_checked_is_no_trap():
    assert traps({"cellar/in": None}, {"cellar/door": "porch/in"}) == []
    assert traps(rooms={**ROOMS, "cellar": None}, links={"cellar/door": "porch/in"}) == []


def test_an_ending_of_the_game_behind_it_counts():
    rooms = {**ROOMS, "cellar": {"door": "exit", "bed": "goal"}}
    assert traps(rooms=rooms) == []
    assert traps({"cellar/in": {"bed": NO}}, rooms=rooms) == [("error", "porch", "left")]


def test_only_the_first_link_into_a_part_without_hope_is_told():
    rooms = {**ROOMS, "den": {"door": "exit"}}
    assert traps(links={"cellar/door": "den/in", "den/door": "cellar/in"}, rooms=rooms) == [("error", "porch", "left")]


def test_without_anything_that_counts_there_is_no_trap():
    rooms = {**ROOMS, "lamp-room": {"lamp": "pickup"}}
    assert traps(rooms=rooms, must_reach=()) == []


def test_where_all_that_counts_is_out_of_reach_from_the_start_no_link_is_to_blame():
    assert traps({"porch/in": {"right": NO}}) == []
