"""What bars the way first: micro-maps with known px, and random levels against every single state."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
import pytest

from reach.assembly import barring_words
from reach.checker import check
from reach.kernels import heap
from reach.kernels.contact import spring_launch
from reach.options import CheckOptions
from reach.reachability import barriers, exploration_job
from reach.reachability.barriers import Barriers, first_barriers
from reach.reachability.exploration_run import EFFORT, ExplorationRun
from reach.reachability.explore import Explorer
from reach.reachability.problem import Problem, pose
from tests.checked import level, movement
from tests.oracle import Body
from tests.oracle_comparison import posed
from tests.oracle_files import compile_case, search
from tests.random_levels import generate

PX = 65536


def asked(rows: list[str], options: CheckOptions = CheckOptions(), **values: Any) -> tuple[Problem, Barriers]:  # noqa: B008
    """The barriers of all places of a map that are not reached."""
    problem = pose(level(rows, **values), movement(), options, None)
    seen = problem.explore()
    return problem, first_barriers(problem, seen, np.flatnonzero(~seen.touched).tolist())


def place(problem: Problem, kind: str) -> int:
    (index,) = (index for index, one in enumerate(problem.level.places) if one.kind.value == kind)
    return index


def foothold(problem: Problem, row: int) -> int:
    (index,) = (one.index for one in problem.footholds if one.row == row)
    return index


# The body is 12 by 20 px and jumps 40 px high: two tiles of 16 px, and not three.
STAIRS = [
    *["............................"] * 2,
    "..........................!.",
    "....................########",
    "............................",
    "............########........",
    "............................",
    "............................",
    "@...........................",
    "############################",
]
"""A ledge four tiles up, from which another two tiles higher can be reached, with the goal on it."""


def test_of_two_steps_the_one_that_bars_the_way_is_told() -> None:
    """The first ledge rises 64 px, the jump 40: 24 px lack, and not the 56 px up to the ground of the goal."""
    problem, found = asked(STAIRS)
    ((index, barrier),) = found.first.items()
    assert index == place(problem, "goal")
    assert (barrier.tile, barrier.miss.across_px) == ((12, 5), 1 / PX)
    assert barrier.miss.up_px == pytest.approx(24, abs=0.01)
    assert (found.unknown, found.why) == (frozenset(), "")


def test_of_two_steps_that_both_bar_the_way_neither_is_one_from_which_the_place_may_be_reached() -> None:
    rows = [*["............................"] * 2, *STAIRS[2:4], *["............................"] * 2, *STAIRS[4:]]
    assert asked(rows)[1] == Barriers({})


def gap(tiles: int, stones: int = 1) -> list[str]:
    """Ground, a gap, stones of three tiles with gaps of three between them, and the goal far behind."""
    ground = "####" + "." * tiles + "###..." * stones + "########"
    empty = "." * len(ground)
    return [*[empty] * 4, "@".ljust(len(ground) - 2, ".") + "!.", ground]


@pytest.mark.parametrize("stones", [1, 3])
def test_of_gaps_in_a_row_the_first_is_told_whatever_comes_behind(stones: int) -> None:
    """A tile more between the edges is 16 px more that lack."""
    narrow, wide = (asked(gap(tiles, stones))[1].first for tiles in (7, 8))
    ((_, barrier),), ((_, farther),) = narrow.items(), wide.items()
    assert (barrier.tile, farther.tile) == ((11, 5), (12, 5))
    assert farther.miss.to_px[0] - barrier.miss.to_px[0] == 16
    assert farther.miss.at_px[0] <= barrier.miss.at_px[0] + 12, "no farther than to where it falls past the stone"
    assert 0 < barrier.miss.across_px < farther.miss.across_px


def test_where_nothing_bars_the_way_nothing_is_told() -> None:
    assert asked(gap(3))[1] == Barriers({})


LAMP = [
    *["............................"] * 2,
    "......+.....................",
    "............................",
    "............................",
    ".........########...........",
    *["............................"] * 2,
    "@...........................",
    "############################",
]
"""A lamp in the air, its bottom 96 px above the ground: a body of 20 px that rises 40 comes 36 px too low."""

LOW_LEDGE = [*LAMP[:5], LAMP[4], LAMP[5], *LAMP[7:]]
"""From this ledge, 48 px up, the lamp may be reached, and it is missed by 8 px."""


def test_the_place_itself_is_told_where_it_is_missed_by_less() -> None:
    problem, found = asked(LOW_LEDGE)
    assert found.first[place(problem, "pickup")].tile == (9, 6)
    nearer = [*LOW_LEDGE[:2], LOW_LEDGE[1], LOW_LEDGE[1], LOW_LEDGE[2], *LOW_LEDGE[5:]]
    problem, found = asked(nearer)
    missed = problem.explore().misses[place(problem, "pickup")]
    assert found.first == {} and missed.up_px == pytest.approx(4, abs=0.01)


def test_a_ledge_that_leads_nowhere_is_not_told_however_near_it_is() -> None:
    """Three tiles up is missed by 8 px; but from that ledge, far to the left, nothing leads on."""
    rows = [
        *["........................................"] * 2,
        "......................................!.",
        "................................########",
        "........................................",
        "........................########........",
        "####....................................",
        "........................................",
        ".........@..............................",
        "########################################",
    ]
    (barrier,) = asked(rows)[1].first.values()
    assert barrier.tile == (24, 5)


def test_a_spring_may_bar_the_way() -> None:
    """It stands 48 px up and throws to the goal; on it one cannot rest."""
    rows = [
        "..................",
        "..............!...",
        "..........########",
        *[".................."] * 6,
        ".......SS.........",
        "..................",
        "@.................",
        "##################",
    ]
    spring = {"S": {"material": "spring", "launch_px_per_s": 560}}
    problem, found = asked(rows, symbols=spring)
    (barrier,) = found.first.values()
    assert problem.footholds[barrier.foothold].is_spring and barrier.tile == (7, 9)
    assert barrier.miss.up_px == pytest.approx(8, abs=0.01)
    weak = {"S": {"material": "spring", "launch_px_per_s": 100}}
    assert asked(rows, symbols=weak)[1] == Barriers({})


def test_places_are_told_apart() -> None:
    """The pickup hangs over the ground and is missed by little; the goal is behind the stairs."""
    rows = list(STAIRS)
    rows[4] = "...+" + rows[4][4:]
    problem, found = asked(rows)
    assert set(found.first) == {place(problem, "goal")}


# Limits ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("late", ["misses", "asking"])
def test_after_a_limit_nothing_is_told_and_what_is_open_is_named(monkeypatch: pytest.MonkeyPatch, late: str) -> None:
    problem = pose(level(STAIRS), movement(), CheckOptions(time_limit_s=600), None)
    seen = problem.explore()
    if late == "misses":
        object.__setattr__(problem, "deadline", 0.0)
    else:
        whole = Explorer.first_to_touch
        monkeypatch.setattr(
            Explorer, "first_to_touch", lambda *args, **values: whole(*args, **(values | {"deadline": 0.0}))
        )
    goal = place(problem, "goal")
    assert first_barriers(problem, seen, [goal]) == Barriers({}, frozenset({goal}), "time limit")


@pytest.mark.small
def test_a_place_is_asked_about_only_as_many_footholds_as_are_said() -> None:
    problem = pose(level(STAIRS), movement(), CheckOptions(), None)
    seen, goal = problem.explore(), place(problem, "goal")
    first = foothold(problem, 5)
    second = max(one.index for one in problem.footholds if one.row == 3 and not seen.landed[one.index])
    ask = partial(problem.explorer.first_to_touch, most_polygon_ticks=1 << 40)
    assert ask([first, second], {goal: 2}, seen) == ({goal: first}, "")
    assert ask([second, first], {goal: 2}, seen) == ({goal: second}, "")
    assert ask([first], {goal: 0}, seen) == ({}, "")
    assert ask([first], {goal: 1}, seen, memory_limit_mib=0.01) == ({}, "memory limit")
    assert ask([first], {goal: 1}, seen, deadline=0.0) == ({}, "time limit")
    assert ask([first], {goal: 1}, seen, most_polygon_ticks=0) == ({}, EFFORT)


@pytest.mark.small
def test_what_leads_on_is_followed_only_so_long_and_that_is_no_limit_of_the_user(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = pose(level(STAIRS), movement(), CheckOptions(), None)
    seen, goal = problem.explore(), place(problem, "goal")
    monkeypatch.setattr(barriers, "MOST_POLYGON_TICKS", -seen.kept_polygon_ticks)
    found = first_barriers(problem, seen, [goal])
    assert (found, found.limit) == (Barriers({}, frozenset({goal}), EFFORT), "")
    assert "more than exploring the level" in barring_words(problem, found)
    report = check(problem.level, problem.movement, problem.options)
    (finding,) = (one for one in report.findings if one.rule == "unreachable-goal")
    assert report.complete and finding.details["first_barrier_unknown"]
    assert "was not found out: following what leads on from such ground took over" in finding.message


@pytest.mark.small
def test_it_is_followed_for_exactly_so_long(monkeypatch: pytest.MonkeyPatch) -> None:
    """With little room at first, jobs begun again do not count: known from before, they are not begun at all."""
    monkeypatch.setattr(exploration_job, "FIRST_ROOM", 16)
    problem = pose(level(STAIRS), movement(), CheckOptions(), None)
    seen, goal = problem.explore(), place(problem, "goal")
    assert seen.polygon_ticks > seen.kept_polygon_ticks == problem.explore().kept_polygon_ticks
    first = foothold(problem, 5)
    run = ExplorationRun(problem.explorer, None, None, None)
    run.ground = seen.ground.copy()
    assert run.ask([first], {goal: 1}, 1 << 40) == {goal: first}
    most = int(run.marks[heap.POLYGON_TICKS])
    ask = problem.explorer.first_to_touch
    assert ask([first], {goal: 1}, seen, most_polygon_ticks=most) == ({goal: first}, "")
    assert ask([first], {goal: 1}, seen, most_polygon_ticks=most - 1)[1] == EFFORT
    given = []
    monkeypatch.setattr(
        Explorer, "first_to_touch", lambda *_, most_polygon_ticks, **__: given.append(most_polygon_ticks) or ({}, "")
    )
    first_barriers(problem, seen, [goal])
    assert given == [barriers.MOST_POLYGON_TICKS + seen.kept_polygon_ticks]


def test_of_an_exploration_that_was_cut_short_nothing_is_said() -> None:
    problem = pose(level(STAIRS), movement(), CheckOptions(), None)
    cut = problem.explorer.explore(problem.start, deadline=0.0)
    assert first_barriers(problem, cut, [place(problem, "goal")]) == Barriers({})


# Against every single state -------------------------------------------------------------------------------------------

SEEDS = (27, 51, 55, 57, 64, 71, 75, 87, 93, 95, 104, 199)


def begun(problem: Problem, index: int) -> list[Body]:
    """A body at rest on every whole px of a foothold and at its ends; on a spring, just launched without speed."""
    one = problem.footholds[index]
    y = one.row * problem.terrain.tile - problem.motion.body_h
    still = Body(*(0 for _ in Body._fields))
    found = []
    for x in sorted({one.left_spx, one.right_spx, *range(-(-one.left_spx // PX) * PX, one.right_spx + 1, PX)}):
        launch = int(spring_launch(x, y, problem.motion, problem.terrain)) if one.is_spring else 0
        found.append(still._replace(x=x, y=y, vy=-launch, grounded=int(not one.is_spring)))
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_the_barrier_is_the_least_missed_ground_from_which_single_states_get_there(seed: int) -> None:
    data, moves = generate(seed)
    problem, case = posed(data, moves), compile_case(data, moves)
    seen, truth = problem.explore(), search(case)
    assert truth.ended
    alive = truth.states[:, Body._fields.index("lost")] + truth.states[:, Body._fields.index("ended")] == 0
    x, y = np.unique(truth.states[alive, :2], axis=0).T
    places = np.flatnonzero(~seen.touched).tolist()
    found = first_barriers(problem, seen, places).first
    assert found
    missed = {}
    for one in problem.footholds:
        if not seen.landed[one.index]:
            beside = np.maximum(0, np.maximum(one.left_spx - x, x - one.right_spx)) / PX
            above = (one.row * problem.terrain.tile - problem.motion.body_h - y) / PX
            missed[one.index] = float((beside**2 + above**2).min())
    leading = {index: search(case, begun(problem, index)).places for index in missed}
    for index in places:
        name = problem.level.places[index].id
        direct = seen.misses[index].across_px ** 2 + seen.misses[index].up_px ** 2
        least = min((missed[i] for i in missed if name in leading[i]), default=np.inf)
        if index in found:
            barrier = found[index]
            length = barrier.miss.across_px**2 + barrier.miss.up_px**2
            assert name in leading[barrier.foothold]
            assert length < direct and length <= least < (length**0.5 + 1) ** 2, (
                "rest anywhere is a part of a px nearer"
            )
        else:
            assert least >= direct
