from dataclasses import replace

import pytest

from reach.report.world_table import Row, Standing, rows, titles, where_words, with_accepted
from reach.world.result import Job
from tests.made_reports import MEANT, SOFTLOCK, TIGHT_LANDING, UNUSED
from tests.made_worlds import NO, OPEN, judged, made_world


def only(found=(), rooms=None, links=None, start="hall/in", table=None):
    rooms = rooms or {"hall": {"a": "exit"}}
    links = {"hall/a": "hall/in"} if links is None else links
    return rows(judged(made_world(rooms, links, start), table or {}, findings={Job("hall", "in"): found}))


@pytest.mark.parametrize(
    ("found", "row"),
    [
        ((), Row(Standing.GOOD, "hall", (0, 0, 0), "")),
        ((MEANT,), Row(Standing.GOOD, "hall", (0, 0, 0), "", 1)),
        ((UNUSED,), Row(Standing.GOOD, "hall", (0, 0, 1), "")),
        ((UNUSED, TIGHT_LANDING), Row(Standing.WARNINGS, "hall", (0, 1, 1), "tight-landing on tile 6,1")),
        ((TIGHT_LANDING, SOFTLOCK), Row(Standing.ERRORS, "hall", (1, 1, 0), "softlock on tile 4,5")),
    ],
)
def test_the_gravest_finding_decides(found, row):
    assert only(found) == [row]


def test_levels_that_nobody_enters_or_perhaps():
    rooms = {"hall": {"a": "exit"}, "den": {"out": "exit"}, "attic": {"out": "exit"}}
    links = {"hall/a": "den/in", "den/out": "hall/in", "attic/out": "hall/in"}
    standings = {row.level: row.standing for row in only((), rooms, links, table={"hall/in": {"a": OPEN}})}
    assert standings == {"hall": Standing.GOOD, "den": Standing.UNDECIDED, "attic": Standing.NOT_ENTERED}


def test_what_failed_comes_first_then_errors_then_warnings_then_the_order_of_the_world():
    rooms = {"a": {}, "b": {}, "c": {}, "hall": {}, "lost": None}
    found = {Job("b", "in"): (TIGHT_LANDING,), Job("hall", "in"): (SOFTLOCK,)}
    report = judged(made_world(rooms, {}, None), findings=found)
    assert [row.level for row in rows(report)] == ["lost", "hall", "b", "a", "c"]
    assert rows(report)[0] == Row(Standing.FAILED, "lost", (0, 0, 0), "not checked: see below")


def test_a_finding_of_the_world_is_looked_at_before_one_as_grave_of_the_level():
    rooms = {"hall": {"lamp": "goal"}}
    (row,) = rows(
        judged(
            made_world(rooms, {}, "hall/in", ("hall/lamp",)),
            {"hall/in": {"lamp": NO}},
            findings={Job("hall", "in"): (SOFTLOCK,)},
        )
    )
    assert (row.counts[0], row.first) == (2, "goal-out-of-reach of lamp")


def test_a_limit_shows():
    report = judged(made_world({"hall": {"a": "exit"}}, {"hall/a": "hall/in"}, "hall/in"))
    (level,) = report.levels
    (outcome,) = level.outcomes
    late = replace(outcome, report=replace(outcome.report, complete=False, incomplete_why="a limit was reached"))
    (row,) = rows(replace(report, levels=(replace(level, outcomes=(late,)),)))
    assert row.cells(False) == ("? not finished", "hall", "-", "-", "-", "")
    assert not with_accepted([row])


def test_what_is_accepted_has_a_column_where_there_is_any():
    (row,) = table = only((MEANT, SOFTLOCK))
    assert with_accepted(table)
    told = dict(zip(titles(True), row.cells(True), strict=True))
    assert (told["errors"], told["accepted"], len(titles(False))) == ("1", "1", 6)


def test_where():
    assert (where_words(SOFTLOCK), where_words(UNUSED)) == (" on tile 4,5", "")
