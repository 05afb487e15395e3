"""Levels that merely cannot be entered any more: they come after their cause, and name it."""

from dataclasses import replace

from reach.comparison.changes import Direction
from reach.comparison.compare import compare
from reach.comparison.side import side_of
from reach.findings import Verdict
from reach.world.result import LinkVerdict
from tests.comparison.test_compare import level, world
from tests.made_reports import LAMP, START, make_report

YES, NO = Verdict.REACHABLE, Verdict.UNREACHABLE
TO_SHED = LinkVerdict(("mill", "lamp"), ("shed", "start-1"), YES)
BACK = LinkVerdict(("shed", "lamp"), ("mill", "start-1"), YES)
TO_MILL = LinkVerdict(("quay", "lamp"), ("mill", "start-1"), YES)
ALL = ("shed", "mill", "quay")


def sides(links, quay):
    before = world(*(level(name, make_report()) for name in ALL), links=(TO_SHED, BACK, TO_MILL))
    shut = [level(name, entered=NO) for name in ALL[:2]]
    return side_of(before), side_of(world(*shut, level("quay", quay), links=links))


def test_the_cause_stands_first_and_every_consequence_names_it():
    links = [replace(link, verdict=NO) for link in (TO_SHED, BACK, TO_MILL)]
    comparison = compare(*sides(links, make_report(places=(START, replace(LAMP, verdict=NO)))))
    assert [standing.level for standing in comparison.levels] == ["quay", "shed", "mill"]
    worse = comparison.going(Direction.WORSE)
    assert [change.title for change in worse] == [
        "goal lamp, required",
        "link from quay/lamp to mill/start-1",
        "the way into shed",
        "the way into mill",
    ]
    assert all(change.message.startswith("Lost with the exit lamp of quay. ") for change in worse[2:])


def test_a_link_that_is_gone_or_leads_elsewhere_is_the_cause():
    for now, words in (
        ((), "not there any more"),
        ((replace(TO_MILL, target=("quay", "lamp")),), "leads to quay/lamp now"),
    ):
        comparison = compare(*sides((TO_SHED, BACK, *now), make_report()))
        ways = [change for change in comparison.changes if change.title == "the way into shed"]
        assert ways[0].message.startswith("Lost with the link from quay/lamp, which ")
        assert words in ways[0].message
