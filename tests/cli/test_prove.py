"""`reach prove`: its target, its three exit codes, and where the script goes."""

from types import SimpleNamespace

import pytest

from reach.cli.arguments import target_of
from reach.findings import Verdict
from reach.script import load_script, script_to_text
from tests.cli.conftest import WALK

PROOFS = {
    Verdict.REACHABLE: SimpleNamespace(verdict=Verdict.REACHABLE, script=WALK, why="a script of 15 ticks"),
    Verdict.UNREACHABLE: SimpleNamespace(verdict=Verdict.UNREACHABLE, script=None, why="no input gets there"),
    Verdict.UNDECIDED: SimpleNamespace(verdict=Verdict.UNDECIDED, script=None, why="the time limit was reached"),
}


@pytest.fixture
def answer(monkeypatch):
    """Let the checker answer every question with this verdict; return the list of questions."""

    def set_answer(verdict):
        asked = []

        def prove(level, movement, target, options, progress):
            asked.append((level.name, movement.name, target, options))
            return PROOFS[verdict]

        monkeypatch.setattr("reach.checker.prove", prove)
        return asked

    return set_answer


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("goal-1", "goal-1"),
        ("6,3", (6, 3)),
        (" 12, 0 ", (12, 0)),
        ("7", "7"),
        ("1,2,3", "1,2,3"),
        ("-1,2", "-1,2"),
    ],
)
def test_target_is_a_tile_or_else_a_place(words, expected):
    assert target_of(words) == expected


def test_reachable_prints_the_script_and_exits_0(run, quay, answer):
    asked = answer(Verdict.REACHABLE)
    ran = run("prove", *quay, "--to", "goal-1")
    assert (ran.code, ran.out) == (0, script_to_text(WALK))
    assert asked[0][:3] == ("Quay", "stroller", "goal-1")


def test_reachable_writes_the_script_where_asked(run, quay, answer, here):
    answer(Verdict.REACHABLE)
    ran = run("prove", *quay, "--to", "6,3", "-o", "way.json")
    assert (ran.code, ran.out) == (0, "")
    assert load_script(here / "way.json") == WALK
    assert ran.err.endswith("6,3 is reachable: a script of 15 ticks\n")


@pytest.mark.parametrize(("verdict", "code"), [(Verdict.UNREACHABLE, 1), (Verdict.UNDECIDED, 3)])
def test_without_a_script_the_verdict_is_told_and_nothing_written(run, quay, answer, here, verdict, code):
    answer(verdict)
    ran = run("prove", *quay, "--to", "goal-1", "-o", "way.json")
    assert (ran.code, ran.out) == (code, "")
    assert f"goal-1 is {verdict.value}: {PROOFS[verdict].why}" in ran.err
    assert not (here / "way.json").exists()


def test_options_reach_the_checker(run, quay, answer):
    asked = answer(Verdict.REACHABLE)
    run("prove", *quay, "--to", "goal-1", "--from", "gate", "--time-limit", "3", "--memory-limit", "64")
    options = asked[0][3]
    assert (options.from_place, options.time_limit_s, options.memory_limit_mib) == ("gate", 3.0, 64)


def test_a_real_proof_replays_to_its_place(run, quay, here):
    assert run("prove", *quay, "--to", "goal-1", "-o", "way.json").code == 0
    rows = run("replay", *quay, "--script", "way.json").out.splitlines()
    assert rows[-1].endswith(",goal-1")


def test_an_unknown_place_is_a_mistake_not_a_verdict(run, quay):
    ran = run("prove", *quay, "--to", "cellar")
    assert (ran.code, ran.out) == (2, "")
    assert "cellar" in ran.err


@pytest.mark.parametrize("tile", ["99,99", "2,0"])
def test_a_tile_off_the_map_or_that_nobody_can_stand_on_is_a_mistake(run, quay, tile):
    ran = run("prove", *quay, "--to", tile)
    assert (ran.code, ran.out) == (2, "")
    assert tile in ran.err
