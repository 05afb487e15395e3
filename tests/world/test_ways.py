from reach.world.fixpoint import run_all
from reach.world.result import Job
from reach.world.ways import after, before, begin, crossing, passing_by, reached, ways_of
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
    assert attic in before(ways.over_, [reached(("hall", "b"))])
    assert after(ways.over_, [reached(("hall", "nowhere"))]) == set()


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
    within = {begin(("hall", "in"))}
    assert crossing(world.links, ways.under_, ways.starts, within) == (link,)
    assert crossing(world.links, ways.under_, ways.starts, within | {begin(("attic", "in"))}) == ()
    assert crossing(world.links, ways.under_, ways.starts, set()) == ()
    _, closed = made({"hall/in": {"a": OPEN}})
    assert crossing(world.links, closed.under_, closed.starts, within) == ()
    assert crossing(world.links, closed.over_, closed.starts, within) == (link,)
