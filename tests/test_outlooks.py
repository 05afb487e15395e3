import random
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from reach.evidence import Outlook
from reach.graph import MoveGraph, ProvedMove, over_graph, under_graph
from reach.outlooks import Questions, Rest, WayOut, find_outlooks
from reach.reachability.result import Foothold, OverMove
from reach.script import Script, Step
from reach.verdicts import ContradictionError
from tests.made_evidence import made_exploration

GOAL = "goal-1"
PLACE = 4


def footholds(count, springs=()):
    return tuple(Foothold(i, 5, 10 * i, 10 * i + 5, i in springs, (i, i)) for i in range(count))


def seen(count, rested=None, moves=(), touches=(), ending=True, losing=(), complete=True, springs=()):
    """An exploration of `count` footholds; `moves` are (source, target, from rest to rest)."""
    touched = np.zeros(PLACE + 1, bool)
    touched[PLACE] = ending
    marks = np.ones(count, bool) if rested is None else np.isin(np.arange(count), rested)
    return made_exploration(
        footholds(count, springs),
        complete=complete,
        why="" if complete else "time limit",
        touched=touched,
        rested=marks,
        landed=marks,
        losing=np.isin(np.arange(count), losing),
        moves=tuple(OverMove(u, v, "jump", calm, calm, 9) for u, v, calm in moves),
        place_moves=tuple((source, PLACE, True) for source in touches),
    )


class Asked:
    """Answers by foothold (`beyond`) and by the foothold's rest state (`ways`), and remembers what it was asked."""

    def __init__(self, beyond=None, ways=None):
        self.beyond, self.ways = beyond or {}, ways or {}
        self.explored, self.lost, self.sought = [], [], []

    def questions(self):
        return Questions(self.ending, self.loss, self.way_out)

    def ending(self, foothold):
        self.explored.append(foothold.index)
        return self.beyond[foothold.index]

    def loss(self, foothold):
        self.lost.append(foothold.index)
        beyond = self.beyond[foothold.index]
        lost = bool(beyond.losing.any() or beyond.losing_start)
        return replace(beyond, complete=False, why="loss") if lost else beyond

    def way_out(self, state):
        self.sought.append(state.x)
        return self.ways.get(state.x, WayOut(None, "the search ended", by_limit=True))


def script(ticks=7):
    return Script("level", "movement", "start", (Step(ticks, ()),))


def outlooks(exploration, proved=(), rests=None, asked=None, endings=(PLACE,)):
    asked = asked or Asked()
    every = range(len(exploration.footholds)) if rests is None else rests
    under = [ProvedMove(source, target, (), 5, 9) for source, target in proved]
    graph = MoveGraph(
        over_graph(exploration, {PLACE: GOAL}),
        under_graph(exploration.footholds, [GOAL], under),
        (0,),
        (0,),
        (GOAL,),
        (),
    )
    known = {index: Rest(SimpleNamespace(x=index), script()) for index in every}
    found = find_outlooks(exploration, graph, known, endings, asked.questions())
    return {one.foothold: one for one in found}


def answers(*args, **values):
    return {index: str(one.outlook) for index, one in outlooks(*args, **values).items()}


def test_proved_moves_to_an_ending_make_a_foothold_free_without_asking():
    asked = Asked()
    first = seen(2, moves=[(0, 1, True)], touches=[1])
    assert answers(first, proved=[(0, 1), (1, GOAL)], asked=asked) == {0: "free", 1: "free"}
    assert asked.explored == asked.sought == []


def test_no_ending_and_no_loss_is_a_softlock():
    asked = Asked(beyond={1: seen(2, rested=[1], ending=False)})
    first = seen(2, moves=[(0, 1, True)], touches=[0])
    found = outlooks(first, proved=[(0, GOAL)], asked=asked)
    assert found[0].outlook is Outlook.FREE
    assert (found[1].outlook, found[1].way_in) == (Outlook.SOFTLOCK, script())


def test_no_ending_but_a_loss_is_a_forced_loss():
    asked = Asked(beyond={1: seen(2, rested=[1], ending=False, losing=[1])})
    assert answers(seen(2, touches=[0]), proved=[(0, GOAL)], asked=asked)[1] == "forced-loss"


def test_a_foothold_with_moves_out_only_at_speed_is_asked_too():
    """A jump that works only with speed brought in leads back out in the graph, but not from rest in the pit."""
    first = seen(2, moves=[(0, 1, True), (1, 0, False)], touches=[0])
    asked = Asked(beyond={1: seen(2, rested=[1], ending=False)})
    assert answers(first, proved=[(0, GOAL)], asked=asked)[1] == "softlock"
    assert asked.explored == [1]


def test_a_chain_from_rest_to_rest_is_not_explored_again_but_needs_a_script():
    first = seen(2, moves=[(0, 1, True), (1, 0, True)], touches=[0])
    asked = Asked(ways={1: WayOut([1, 0])})
    assert answers(first, proved=[(0, GOAL)], asked=asked)[1] == "free"
    assert (asked.explored, asked.sought) == ([], [1])
    found = outlooks(first, proved=[(0, GOAL)], asked=Asked())
    assert found[1].outlook is Outlook.UNDECIDED and "no script" in found[1].why


def test_a_way_in_the_superset_needs_a_script():
    asked = Asked(beyond={1: seen(2, ending=True)}, ways={1: WayOut([1])})
    assert answers(seen(2, touches=[0]), proved=[(0, GOAL)], asked=asked)[1] == "free"
    asked = Asked(beyond={1: seen(2, ending=True)})
    assert answers(seen(2, touches=[0]), proved=[(0, GOAL)], asked=asked)[1] == "undecided"


def test_a_limit_leaves_it_undecided():
    asked = Asked(beyond={1: seen(2, ending=False, complete=False)})
    found = outlooks(seen(2, touches=[0]), proved=[(0, GOAL)], asked=asked)
    assert found[1].outlook is Outlook.UNDECIDED and "time limit" in found[1].why
    assert found[1].limit == "time limit"


def test_a_loss_in_an_exploration_that_a_limit_cut_short_proves_nothing():
    beyond = {1: seen(2, ending=False, losing=[1], complete=False)}
    found = outlooks(seen(2, touches=[0], losing=[1]), proved=[(0, GOAL)], asked=Asked(beyond))
    assert found[1].outlook is Outlook.UNDECIDED and found[1].limit == "time limit"


def test_ground_that_was_only_crossed_is_asked_about_by_itself():
    """From rest on 2 a move leads to the ending; who comes from 1 crosses it too fast for that."""
    first = seen(3, moves=[(0, 1, True), (0, 2, True)], touches=[0])
    crossing = replace(seen(3, rested=[1], ending=False), landed=np.array([False, True, True]))
    asked = Asked({1: crossing, 2: seen(3, rested=[2])})
    assert answers(first, proved=[(0, GOAL)], asked=asked) == {0: "free", 1: "softlock", 2: "undecided"}
    assert asked.explored == [1, 2]


def test_it_is_said_why_the_search_for_a_way_out_ended_and_whether_by_a_limit():
    asked = Asked(beyond={1: seen(2, ending=True)})
    found = outlooks(seen(2, touches=[0]), proved=[(0, GOAL)], asked=asked)
    assert "(the search ended)" in found[1].why and found[1].limit == "the search ended"
    asked = Asked(beyond={1: seen(2, ending=True)}, ways={1: WayOut(None, "all was tried", by_limit=False)})
    found = outlooks(seen(2, touches=[0]), proved=[(0, GOAL)], asked=asked)
    assert "(all was tried)" in found[1].why and found[1].limit == ""


def test_no_softlock_is_claimed_where_no_script_comes_to_rest():
    asked = Asked(beyond={1: seen(2, rested=[1], ending=False)})
    found = outlooks(seen(2, touches=[0]), proved=[(0, GOAL)], rests=[0], asked=asked)
    assert found[1].outlook is Outlook.UNDECIDED and found[1].way_in is None


def test_a_foothold_that_nobody_is_known_to_rest_on_and_that_has_a_way_out_has_no_outlook():
    asked = Asked(beyond={1: seen(2, ending=True)})
    assert 1 not in outlooks(seen(2, touches=[0]), proved=[(0, GOAL)], rests=[0], asked=asked)


def test_a_foothold_on_which_nothing_comes_to_rest_has_no_outlook():
    assert answers(seen(2, rested=[0], touches=[0]), proved=[(0, GOAL)], rests=[0]) == {0: "free"}


@pytest.mark.parametrize("springs", [[], [1]])
def test_a_script_to_rest_where_the_completed_superset_has_none_is_a_contradiction(springs):
    lacking = seen(2, rested=[0], touches=[0], springs=springs)
    with pytest.raises(ContradictionError, match="foothold 1"):
        outlooks(lacking, proved=[(0, GOAL)])
    cut_short = replace(lacking, complete=False, why="time limit")
    assert answers(cut_short, proved=[(0, GOAL)]) == {0: "free"}


def test_footholds_reached_from_a_softlock_are_not_asked_again():
    first = seen(3, moves=[(0, 1, True), (1, 2, True)], touches=[0])
    asked = Asked(beyond={1: seen(3, rested=[1, 2], ending=False)})
    assert answers(first, proved=[(0, GOAL)], asked=asked) == {0: "free", 1: "softlock", 2: "softlock"}
    assert asked.explored == [1]


def test_footholds_reached_from_a_forced_loss_are_asked_again():
    """The loss may lie on the way, and what is left beyond it is then a softlock."""
    first = seen(3, moves=[(0, 1, True), (1, 2, True)], touches=[0], losing=[1, 2])
    asked = Asked({1: seen(3, rested=[1, 2], ending=False, losing=[1]), 2: seen(3, rested=[2], ending=False)})
    assert answers(first, proved=[(0, GOAL)], asked=asked) == {0: "free", 1: "forced-loss", 2: "softlock"}
    assert (asked.explored, asked.lost) == ([1], [2])


def test_footholds_that_lead_back_to_a_forced_loss_at_rest_are_not_asked_again():
    moves = [(0, 1, True), (1, 2, True), (2, 1, True), (1, 3, True), (3, 1, False)]
    first = seen(4, moves=moves, touches=[0], losing=[1])
    beyond = {1: seen(4, rested=[1, 2, 3], ending=False, losing=[1]), 3: seen(4, rested=[3], ending=False)}
    asked = Asked(beyond)
    found = answers(first, proved=[(0, GOAL)], asked=asked)
    assert found == {0: "free", 1: "forced-loss", 2: "forced-loss", 3: "softlock"}
    assert (asked.explored, asked.lost) == ([1], [3])


def test_where_a_completed_superset_touches_no_ending_only_losses_are_asked_about():
    first = seen(3, moves=[(0, 1, True), (1, 0, True), (1, 2, True)], ending=False, losing=[0])
    asked = Asked({0: seen(3, ending=False, losing=[0])})
    assert answers(first, asked=asked) == {0: "forced-loss", 1: "forced-loss", 2: "softlock"}
    assert (asked.explored, asked.lost) == ([], [0])
    cut_short = Asked({0: seen(3, ending=False), 1: seen(3, ending=False), 2: seen(3, ending=False)})
    assert set(answers(replace(first, complete=False), asked=cut_short).values()) == {"softlock"}
    assert cut_short.explored == [0]


REST, MOVING = True, False


def reached(moves, beginning):
    """All (foothold, at rest) to which moves, (foothold, at rest) to (foothold, at rest), lead from a beginning."""
    found, waiting = {beginning}, [beginning]
    while waiting:
        at = waiting.pop()
        new = {after for before, after in moves if before == at or (at[1] is REST and before == (at[0], MOVING))}
        waiting += sorted(new - found)
        found |= new
    return found


def explored(count, moves, touching, losing, beginning):
    at = reached(moves, beginning)
    made = [(u, v) for u, v in moves if u in at or (u[1] is MOVING and (u[0], REST) in at)]
    return replace(
        seen(
            count,
            rested=[f for f, rests in at if rests],
            moves=sorted({(u[0], v[0], u[1] and v[1]) for u, v in made if u[0] != v[0]}),
            touches=sorted({f for f, rests in at if f in touching and rests}),
            ending=any(f in touching for f, _ in at),
            losing=[f for f, _ in at if f in losing],
        ),
        landed=np.isin(np.arange(count), [f for f, _ in at]),
    )


@pytest.mark.parametrize("seed", range(40))
def test_what_is_not_asked_is_what_asking_about_each_foothold_alone_gives(seed):
    """Reference: every foothold explored by itself, in random graphs whose moves begin and end at rest or at speed.

    A body at rest can make all moves that one at speed can, as the moves of a foothold left at will.
    """
    rng = random.Random(seed)
    count = rng.randint(2, 9)
    states = [(f, rests) for f in range(count) for rests in (REST, MOVING)]
    moves = [(u, v) for u in states for v in states if u[0] != v[0] and rng.random() < 0.6 / count]
    touching = {f for f in range(count) if rng.random() < 0.15}
    losing = {f for f in range(count) if rng.random() < 0.2}
    first = explored(count, moves, touching, losing, (0, REST))
    rested = [f for f in range(count) if first.rested[f]]
    alone = {f: explored(count, moves, touching, losing, (f, REST)) for f in rested}
    expected = {
        f: "undecided" if one.touched[PLACE] else "forced-loss" if one.losing.any() else "softlock"
        for f, one in alone.items()
    }
    asked = Asked(alone)
    assert answers(first, rests=rested, asked=asked) == expected


def test_a_script_out_frees_the_footholds_it_rests_on():
    first = seen(3, moves=[(1, 2, True), (2, 0, True)], touches=[0])
    asked = Asked(ways={1: WayOut([1, 2, 0])})
    assert answers(first, proved=[(0, GOAL)], asked=asked) == {0: "free", 1: "free", 2: "free"}
    assert asked.sought == [1]


def test_a_spring_is_asked_only_if_nothing_leads_on_from_it():
    stuck = seen(2, rested=[], ending=False, springs=[1])
    first = seen(2, touches=[0], springs=[1])
    asked = Asked(beyond={1: stuck})
    assert answers(first, proved=[(0, GOAL)], asked=asked)[1] == "softlock"
    leading = seen(2, moves=[(1, 0, False)], touches=[0], springs=[1])
    assert answers(leading, proved=[(0, GOAL)]) == {0: "free"}


@pytest.mark.parametrize("field", ["losing", "losing_start"])
def test_a_loss_from_the_bounces_counts(field):
    lost = np.array([False, True]) if field == "losing" else True
    stuck = replace(seen(2, rested=[], ending=False, springs=[1]), **{field: lost})
    found = answers(seen(2, touches=[0], springs=[1]), proved=[(0, GOAL)], asked=Asked(beyond={1: stuck}))
    assert found[1] == "forced-loss"


def test_a_level_without_endings_has_no_outlooks():
    assert outlooks(seen(2), endings=()) == {}
