"""Whole checks of random levels against an exhaustive search that shares no code with them."""

from functools import cache

import pytest

from reach.checker import check
from reach.findings import Verdict
from reach.level import level_from_dict
from reach.movement import movement_from_dict
from tests.oracle import Body
from tests.oracle_files import compile_case, replay, search, touched_places
from tests.random_levels import generate

SEEDS = range(24)
MOST_STATES = 60_000


@cache
def both(seed):
    """The report, the oracle's case and its search; None where the search does not end."""
    level, movement = generate(seed)
    case = compile_case(level, movement)
    truth = search(case, limit=MOST_STATES)
    if not truth.ended:
        return None
    return check(level_from_dict(level), movement_from_dict(movement)), case, truth


def resting(case, truth):
    """One state at rest for every row and every run of columns that such states overlap without a break."""
    tile, width, height = case.world.tile, case.rules.width, case.rules.height
    found = {}
    for values in truth.states.tolist():
        body = Body(*values)
        if body.grounded and body.vx == 0 and not body.lost and not body.ended and not body.buffer:
            found.setdefault((body.x, (body.y + height) // tile), body)
    spots = {}
    for (x, row), body in sorted(found.items()):
        spots.setdefault((row, x // tile, (x + width - 1) // tile), body)
    return spots


def reported(report, column, row):
    """Which of the findings about being stuck names the foothold under a body on this tile."""
    for finding in report.findings:
        if finding.rule in ("softlock", "forced-loss", "undecided"):
            for one in finding.details.get("footholds", ()):
                if one["row"] == row and one["columns"][0] <= column <= one["columns"][1]:
                    yield finding.rule


@pytest.mark.parametrize("seed", SEEDS)
def test_every_verdict_is_the_truth(seed):
    if both(seed) is None:
        pytest.skip("the exhaustive search does not end")
    report, case, truth = both(seed)
    for place in report.places:
        assert (place.verdict is Verdict.REACHABLE) == (place.id in truth.places), place
        assert place.verdict is not Verdict.UNDECIDED
    assert set(report.tiles[Verdict.REACHABLE]) == truth.tiles & {t for each in Verdict for t in report.tiles[each]}
    assert report.tiles[Verdict.UNDECIDED] == ()
    for place, script in report.scripts.items():
        assert place in touched_places(case, Body(*replay(case, script.inputs())[-1].tolist()))


@cache
def answers(seed):
    """What is said of every resting spot, and what is true of it: [(spot, said, expected)], sets of rules."""
    report, case, truth = both(seed)
    level, _ = generate(seed)
    endings = {place.id for place in level_from_dict(level).places if place.ends_level}
    found = []
    for (row, column, last), body in resting(case, truth).items():
        beyond = search(case, [body], limit=MOST_STATES)
        if beyond.ended:
            said = {rule for under in range(column, last + 1) for rule in reported(report, under, row)}
            doom = "forced-loss" if beyond.can_be_lost else "softlock"
            found.append(((row, column, last), said, {doom} if endings and not beyond.can_end else set()))
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_a_player_is_stuck_exactly_where_it_is_said(seed):
    if both(seed) is None:
        pytest.skip("the exhaustive search does not end")
    for spot, said, expected in answers(seed):
        assert said == expected or said == {"undecided"}, spot


def test_enough_is_stuck_and_nearly_nothing_undecided():
    every = {seed: answers(seed) for seed in SEEDS if both(seed) is not None}
    truths = [expected for seed in every for _, _, expected in every[seed]]
    assert truths.count({"softlock"}) >= 5 and truths.count({"forced-loss"}) >= 5 and truths.count(set()) >= 20
    open_seeds = [seed for seed in every if any(said == {"undecided"} for _, said, _ in every[seed])]
    assert len(open_seeds) <= 1, open_seeds
