"""The package's answers for one random level, held against the exhaustive search of single states."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from reach.checker import check
from reach.findings import Report, Verdict
from reach.level import level_from_dict
from reach.movement import movement_from_dict
from reach.options import CheckOptions
from reach.reachability.problem import Problem, pose
from reach.script import script_to_dict
from tests.oracle import Body
from tests.oracle_files import Case, Search, compile_case, replay, search, standable_tiles, touched_places
from tests.random_levels import Json, generate, held_inputs, roughened, theme_of
from tests.random_maps import Dice

Tile = tuple[int, int]


@dataclass
class Comparison:
    """What came out of some levels: contradictions, each in words, what is too much in supersets, and counts."""

    contradictions: list[str] = field(default_factory=list)
    surplus: list[str] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)

    def expect(self, holds: bool, seed: int, words: str) -> None:
        """Note a contradiction unless it holds."""
        if not holds:
            self.contradictions.append(f"seed {seed} ({theme_of(seed)}): {words}")

    def __str__(self) -> str:
        counts = [f"{count:8d} {name}" for name, count in sorted(self.counts.items())]
        return "\n".join([*counts, *self.surplus, *self.contradictions])


def pressed(script: Json) -> np.ndarray:
    """Inputs int64 [ticks, 4] of a script file, read anew."""
    rows = []
    for step in script["steps"]:
        down = set(step["buttons"])
        direction = ("right" in down) - ("left" in down)
        rows += [(direction, "down" in down, "run" in down, "jump" in down)] * step["ticks"]
    return np.array(rows, np.int64).reshape(-1, 4)


def last_body(case: Case, script: Json) -> Body:
    """The state in which a script ends."""
    return Body(*replay(case, pressed(script))[-1].tolist())


def posed(level: Json, movement: Json) -> Problem:
    return pose(level_from_dict(level), movement_from_dict(movement), CheckOptions(), None)


def compare_superset(seed: int, limit: int, into: Comparison) -> None:
    """The superset that `unreachable` rests on against every single state: nothing reached may be missing from it.

    Where the search ended, what the superset has too much is counted.
    """
    level, movement = generate(seed)
    case = compile_case(level, movement)
    _compare_superset(seed, level, movement, case, search(case, limit=limit), into)


def compare_fine_superset(seed: int, limit: int, into: Comparison) -> None:
    """The same for fine numbers, where no search ends: it begins all along random walks and keeps as many as it may."""
    level, movement = generate(seed)
    dice = Dice(seed)
    movement = roughened(movement, dice)
    case = compile_case(level, movement)
    if not case.start_is_clear:
        into.counts["levels whose start the changed body overlaps"] += 1
        return
    starts = [case.start]
    for _ in range(40):
        states = replay(case, np.array(held_inputs(dice, 40), np.int64), dice.pick(starts))
        alive = states[(states[:, 11] == 0) & (states[:, 12] == 0)]
        starts += [Body(*row) for row in alive[:: max(1, len(alive) // 4)].tolist()]
    _compare_superset(seed, level, movement, case, search(case, starts, limit), into)


def _compare_superset(seed: int, level: Json, movement: Json, case: Case, truth: Search, into: Comparison) -> None:
    problem = posed(level, movement)
    seen = problem.explore()
    carried = {(c, r) for r, c in np.argwhere(seen.carried).tolist()}
    touched = {problem.level.places[i].id for i in np.flatnonzero(seen.touched)}
    standable = {(c, r) for r, c in np.argwhere(problem.standable).tolist()}
    loses = bool(seen.losing.any() or seen.losing_start)
    into.expect(seen.complete, seed, f"the exploration ended early: {seen.why}")
    into.expect(standable == standable_tiles(case), seed, "the standable tiles differ")
    into.expect(truth.tiles <= carried, seed, f"tiles missing from the superset: {sorted(truth.tiles - carried)}")
    into.expect(truth.places <= touched, seed, f"places missing from the superset: {sorted(truth.places - touched)}")
    into.expect(loses or not truth.can_be_lost, seed, "a loss is missing from the superset")
    into.counts["levels"] += 1
    into.counts["single states"] += truth.count
    into.counts["searches that ended"] += truth.ended
    if truth.ended:
        into.counts["standable tiles"] += len(standable)
        into.counts["tiles out of reach"] += len(standable - truth.tiles)
        if carried - truth.tiles or touched - truth.places:
            more = sorted(carried - truth.tiles), sorted(touched - truth.places)
            into.surplus.append(f"seed {seed} ({theme_of(seed)}): too many in the superset: {more}")
        into.counts["tiles too many in the superset"] += len(carried - truth.tiles)
        into.counts["places too many in the superset"] += len(touched - truth.places)
        into.counts["losses too many in the superset"] += loses and not truth.can_be_lost


def compare_report(seed: int, limit: int, into: Comparison) -> None:
    """Every claim of a whole check against every single state; each kept script is played by the second reading."""
    level, movement = generate(seed)
    case = compile_case(level, movement)
    truth = search(case, limit=limit)
    report = check(level_from_dict(level), movement_from_dict(movement))
    into.counts["levels"] += 1
    into.counts["searches that ended"] += truth.ended
    _compare_verdicts(seed, case, truth, report, into)
    _compare_stuck(seed, case, truth, limit, report, into)


def _compare_verdicts(seed: int, case: Case, truth: Search, report: Report, into: Comparison) -> None:
    tiles = {verdict: set(report.tiles[verdict]) for verdict in Verdict}
    everywhere = [tile for verdict in Verdict for tile in report.tiles[verdict]]
    into.expect(sorted(everywhere) == sorted(standable_tiles(case)), seed, "not every standable tile has one verdict")
    wrong = tiles[Verdict.UNREACHABLE] & truth.tiles
    into.expect(not wrong, seed, f"tiles called unreachable that are reached: {sorted(wrong)}")
    into.expect({place.id for place in report.places} == set(case.place_ids), seed, "not every place has one verdict")
    if truth.ended:
        wrong = tiles[Verdict.REACHABLE] - truth.tiles
        into.expect(not wrong, seed, f"tiles called reachable that are not: {sorted(wrong)}")
    for place in report.places:
        into.counts[f"places {place.verdict.value}"] += 1
        if place.verdict is Verdict.UNREACHABLE:
            into.expect(place.id not in truth.places, seed, f"{place.id} is called unreachable and is not")
        if place.verdict is Verdict.REACHABLE:
            script = script_to_dict(report.scripts[place.id])
            end = last_body(case, script)
            into.expect(place.id in touched_places(case, end), seed, f"the script to {place.id} does not touch it")
            into.expect(
                place.ticks == len(pressed(script)), seed, f"the script to {place.id} has other ticks than said"
            )
        into.expect(
            (place.verdict is Verdict.REACHABLE) == (place.id in report.scripts),
            seed,
            f"{place.id} has a verdict without its script, or a script without the verdict",
        )
    for verdict in Verdict:
        into.counts[f"tiles {verdict.value}"] += len(tiles[verdict])


def _compare_stuck(seed: int, case: Case, truth: Search, limit: int, report: Report, into: Comparison) -> None:
    """What is claimed of players who cannot end the level any more, against all states from there."""
    claims = [finding for finding in report.findings if finding.rule in ("softlock", "forced-loss")]
    for finding in claims:
        into.counts[finding.rule] += 1
        body = last_body(case, finding.details["way_in"])
        after = search(case, [body], limit)
        into.expect(not body.lost, seed, f"the way into the {finding.rule} at {finding.at} is lost")
        into.expect(not after.can_end, seed, f"an ending can be reached from the {finding.rule} at {finding.at}")
        if finding.rule == "softlock":
            into.expect(not after.can_be_lost, seed, f"a body can be lost from the softlock at {finding.at}")
        elif after.ended:
            into.expect(after.can_be_lost, seed, f"no body can be lost from the forced loss at {finding.at}")
    said = {finding.rule for finding in report.findings}
    ends = bool((case.world.places[:, 2] != 0).any())
    for body in _resting(truth, 3) if ends else ():
        after = search(case, [body], limit)
        if after.ended and not after.can_end:
            into.counts["states without an ending before them"] += 1
            wanted = "forced-loss" if after.can_be_lost else "softlock"
            into.expect(bool(said & {wanted, "undecided"}), seed, f"no {wanted} is reported, and {body} is in one")


def _resting(truth: Search, most: int) -> list[Body]:
    """A few reached states at rest on the ground, spread over the search."""
    states = truth.states
    rest = states[(states[:, 4] == 1) & (states[:, 2] == 0) & (states[:, 12] == 0)]
    return [Body(*rest[i].tolist()) for i in np.linspace(0, len(rest) - 1, min(most, len(rest))).astype(int)]


def compare(seeds: Any, limit: int, one: Any) -> Comparison:
    """All the seeds compared by one of the two functions above."""
    into = Comparison()
    for seed in seeds:
        one(seed, limit, into)
    return into
