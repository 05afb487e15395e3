"""What the package says of small random levels, against an exhaustive search of single states.

The levels are worth something because of their quotas: every mechanism of the model decides verdicts in at least twenty
of them (`decisive_seeds.py`), and at least a fifth of their standable tiles is out of reach.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reach.reachability.problem import Problem
from reach.reachability.result import Exploration
from tests.decisive_seeds import DECISIVE, DIGEST
from tests.mechanisms import HOMES, QUOTA, SWITCHES, decisive, level_seeds
from tests.oracle_comparison import compare, compare_fine_superset, compare_report, compare_superset
from tests.oracle_files import compile_case
from tests.random_levels import digest, generate

STATES = 60_000
ORDINARY = level_seeds(chosen=100, drawn=100)
LONG = level_seeds(chosen=1000, drawn=2000)


def test_a_seed_gives_the_same_level_everywhere() -> None:
    """The chosen seeds are only worth something for this generator: whoever changes it chooses them anew."""
    assert digest(range(200)) == DIGEST


def test_every_mechanism_has_its_quota_of_chosen_levels() -> None:
    assert set(HOMES) == set(DECISIVE) == set(SWITCHES) - {"run memory"}
    assert {name: len(set(seeds)) for name, seeds in DECISIVE.items() if len(set(seeds)) < QUOTA} == {}


@pytest.mark.parametrize("name", DECISIVE)
def test_a_mechanism_decides_verdicts(name: str) -> None:
    for seed in DECISIVE[name][:2]:
        assert decisive(*generate(seed), [name]) == {name}


@pytest.mark.long
@pytest.mark.parametrize("name", DECISIVE)
def test_a_mechanism_decides_verdicts_in_all_levels_chosen_for_it(name: str) -> None:
    for seed in DECISIVE[name]:
        assert decisive(*generate(seed), [name]) == {name}


def test_wide_bodies_and_fast_ones_are_among_the_levels() -> None:
    cases = [compile_case(*generate(seed)) for seed in ORDINARY]
    assert sum(case.rules.width > case.world.tile for case in cases) >= 20
    assert sum(max([case.rules.walk[1], *case.rules.run[1:]]) > case.world.tile for case in cases) >= 5
    assert sum(case.rules.terminal > case.world.tile for case in cases) >= 20


@pytest.mark.parametrize("part", range(4))
def test_nothing_that_is_reached_is_missing_from_the_superset(part: int) -> None:
    found = compare(ORDINARY[part::4], STATES, compare_superset)
    print(found)
    assert found.contradictions == []
    counts = found.counts
    assert counts["searches that ended"] >= 0.8 * counts["levels"]
    assert counts["tiles out of reach"] >= 0.2 * counts["standable tiles"]
    assert counts["tiles too many in the superset"] <= 0.03 * counts["standable tiles"]


@pytest.mark.parametrize("field", ["carried", "touched"])
def test_what_is_missing_from_a_superset_is_noticed(field: str, monkeypatch: pytest.MonkeyPatch) -> None:
    explore = Problem.explore

    def forgetful(problem: Problem) -> Exploration:
        seen = explore(problem)
        return replace(seen, **{field: np.zeros_like(getattr(seen, field))})

    monkeypatch.setattr(Problem, "explore", forgetful)
    assert any("missing from the superset" in words for words in compare([0], STATES, compare_superset).contradictions)


def test_nothing_that_walks_reach_is_missing_from_the_superset_for_fine_numbers() -> None:
    found = compare(ORDINARY[::6], 20_000, compare_fine_superset)
    print(found)
    assert found.contradictions == []
    assert found.counts["levels"] >= 25


@pytest.mark.parametrize("part", range(2))
def test_what_a_check_says_holds_for_every_state(part: int) -> None:
    found = compare(ORDINARY[part::12], STATES, compare_report)
    print(found)
    assert found.contradictions == []
    counts = found.counts
    assert counts["places reachable"] > 10
    assert counts["places unreachable"] > 2
    assert counts["tiles undecided"] == counts["places undecided"] == 0


@pytest.mark.long
@pytest.mark.parametrize("part", range(40))
def test_nothing_is_missing_from_the_superset_in_the_long_run(part: int) -> None:
    found = compare(LONG[part::40], 400_000, compare_superset)
    print(found)
    assert found.contradictions == []


@pytest.mark.long
@pytest.mark.parametrize("part", range(20))
def test_nothing_is_missing_from_the_superset_for_fine_numbers_in_the_long_run(part: int) -> None:
    found = compare(LONG[part::40], 100_000, compare_fine_superset)
    print(found)
    assert found.contradictions == []


@pytest.mark.long
@pytest.mark.parametrize("part", range(40))
def test_what_a_check_says_holds_in_the_long_run(part: int) -> None:
    found = compare(LONG[part::80], 400_000, compare_report)
    print(found)
    assert found.contradictions == []
