from reach.world.fixpoint import run_all
from reach.world.result import Job
from reach.world.ways import Part, after, begin, crossing, left_out, reached, ways_of
from tests.made_worlds import NO, OPEN, YES, TableRunner, made_world

ROOMS = {"hall": {"key": "pickup", "a": "exit", "b": "exit"}, "attic": {"a": "exit"}}
LINKS = {"hall/a": "attic/in", "attic/a": "hall/in"}


def made(table, links=LINKS):
    world = made_world(ROOMS, links, "hall/in")
    jobs = {Job(*key.split("/")): answer for key, answer in table.items()}
    return world, ways_of(world, run_all(world, TableRunner(world, jobs))[0])


def test_a_node_is_reached_where_scripts_lead_excluded_where_nothing_may_and_else_undecided():
    _, ways = made({"hall/in": {"a": OPEN, "b": NO}})
    assert ways.verdict(begin(("hall", "in"))) is YES
    assert ways.verdict(reached(("hall", "key"))) is YES
    assert ways.verdict(reached(("hall", "b"))) is NO
    assert ways.verdict(begin(("attic", "in"))) is OPEN
    assert ways.verdict(reached(("attic", "a"))) is OPEN
    assert ways.verdict(begin(("attic", "a"))) is NO


def test_after_and_before_go_all_the_way_and_take_unknown_nodes_for_nothing():
    _, ways = made({})
    attic = begin(("attic", "in"))
    assert begin(("hall", "in")) in after(ways.over_, [attic])
    assert after(ways.over_, [reached(("hall", "nowhere"))]) == set()
    assert attic in ways.over_before([reached(("hall", "b"))])
    assert reached(("hall", "key")) not in ways.over_before([reached(("hall", "b"))])
    assert attic not in ways.over_before([reached(("hall", "nowhere"))])


def test_without_a_place_only_what_is_shown_without_it_is_left():
    answers = {"in": YES, "a": OPEN, "b": NO}
    _, ways = made({})
    closed = left_out(ways, ("hall", "key"), lambda job, other: answers[other])
    assert {target for _, target in closed.over_.edges} == {reached(("hall", each)) for each in ("key", "b")}
    assert {target for _, target in closed.under_.edges} == {reached(("hall", each)) for each in ("key", "a", "b")}
    over_, under_ = (
        after(graph, ways.starts, cut) for graph, cut in ((ways.over_, closed.over_), (ways.under_, closed.under_))
    )
    assert reached(("attic", "a")) in over_ and reached(("attic", "a")) not in under_
    assert reached(("hall", "b")) not in over_ and reached(("hall", "b")) in ways.under_from_start
    within = Part({0}, {begin(("hall", "in")): 0})
    world, _ = made({})
    assert crossing(world.links, ways.under_, ways.under_from_start, within) == (world.links[0],)
    assert crossing(world.links, ways.under_, ways.under_from_start, within, closed.under_) == ()


def test_a_link_is_crossed_from_within_to_without_only():
    world, ways = made({})
    link = world.links[0]
    hall, attic = begin(("hall", "in")), begin(("attic", "in"))
    within = Part({0}, {hall: 0, attic: 1})
    assert crossing(world.links, ways.under_, ways.under_from_start, within) == (link,)
    assert crossing(world.links, ways.under_, ways.under_from_start, Part({0}, {hall: 0, attic: 0})) == ()
    assert crossing(world.links, ways.under_, ways.under_from_start, Part((), {hall: 0, attic: 1})) == ()
    _, closed = made({"hall/in": {"a": OPEN}})
    assert crossing(world.links, closed.under_, closed.under_from_start, within) == ()
    assert crossing(world.links, closed.over_, closed.over_from_start, within) == (link,)
