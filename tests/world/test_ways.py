from reach.world.fixpoint import run_all
from reach.world.result import Job
from reach.world.ways import Part, after, begin, crossing, passing_by, reached, ways_of
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


def test_passing_by_keeps_what_is_shown_without_the_place():
    answers = {"in": YES, "a": OPEN, "b": NO}
    _, ways = made({})
    passing = passing_by(ways, ("hall", "key"), lambda job, other: answers[other])
    assert passing.verdict(reached(("hall", "key"))) is NO
    assert passing.verdict(reached(("hall", "a"))) is OPEN
    assert passing.verdict(reached(("hall", "b"))) is NO
    assert passing.verdict(reached(("attic", "a"))) is OPEN
    assert ways.verdict(reached(("hall", "b"))) is YES


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
