import re
from dataclasses import replace

import pytest

from reach import checker
from reach.errors import Problem
from reach.findings import Verdict
from reach.movement import movement_from_dict
from reach.options import CheckOptions
from reach.world.job_run import failed, run_job
from reach.world.result import Job, State
from reach.world.world_file import WorldLevel
from tests.checked import MOVEMENT, level

ROWS = ["........", "........", ".@..+..D", "########"]
SYMBOLS = {"D": {"place": "exit"}}


def made(rows=ROWS, **values):
    return WorldLevel("hall", "hall.json", movement_from_dict(MOVEMENT), level(rows, symbols=SYMBOLS, **values))


def verdicts(outcome):
    return {place.id: place.verdict for place in outcome.report.places}


def test_a_job_is_a_check_from_its_entrance():
    places = [{"id": "pit", "kind": "entrance", "at": [6, 2]}]
    told = []
    outcome = run_job(made(places=places), Job("hall", "pit"), CheckOptions(), lambda stage, part: told.append(stage))
    assert (outcome.state, outcome.report.from_place) == (State.CHECKED, "pit")
    assert told


def test_without_a_place_means_that_touching_it_is_final():
    assert verdicts(run_job(made(), Job("hall", "start-1"), CheckOptions()))["exit-1"] is Verdict.REACHABLE
    low = ["########", *ROWS[1:]]
    outcome = run_job(made(low), Job("hall", "start-1", "pickup-1"), CheckOptions())
    assert verdicts(outcome)["pickup-1"] is Verdict.REACHABLE
    assert verdicts(outcome)["exit-1"] is Verdict.UNREACHABLE
    outcome = run_job(made(), Job("hall", "pickup-1", "pickup-1"), CheckOptions())
    assert verdicts(outcome)["exit-1"] is Verdict.UNREACHABLE


def test_a_level_that_could_not_be_read_fails_with_its_reason():
    problems = (Problem("hall.json", "", "no such file", "a file"), Problem("hall.json", "", "dust", "no dust"))
    broken = WorldLevel("hall", "hall.json", movement_from_dict(MOVEMENT), None, problems)
    outcome = run_job(broken, Job("hall", "start"), CheckOptions())
    assert (outcome.state, outcome.report) == (State.FAILED, None)
    assert outcome.why == ("hall.json: found no such file; allowed: a file; hall.json: found dust; allowed: no dust")


def test_a_body_that_cannot_be_there_fails_in_the_words_of_the_check_and_the_files_name():
    places = [{"id": "nook", "kind": "entrance", "at": [4, 0]}]
    outcome = run_job(made(["........", "####.###", *ROWS[2:]], places=places), Job("hall", "nook"), CheckOptions())
    assert outcome.state is State.CHECKED
    places = [{"id": "slit", "kind": "entrance", "at": [3, 1]}]
    outcome = run_job(made(["########", ".......#", *ROWS[2:]], places=places), Job("hall", "slit"), CheckOptions())
    assert outcome.state is State.FAILED
    assert outcome.why.startswith('<level>: place "slit"') and "\n" not in outcome.why


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (ValueError("a\nb"), "internal error, a fault of reach itself: ValueError: a b"),
        (MemoryError(), "there was not enough memory for it"),
    ],
)
def test_any_other_error_fails_this_job_alone(monkeypatch, error, words):
    def broken(*_):
        raise error

    monkeypatch.setattr(checker, "check", broken)
    outcome = run_job(made(), Job("hall", "start-1"), CheckOptions())
    assert outcome == failed(Job("hall", "start-1"), outcome.why)
    assert outcome.why.startswith(words) and "\n" not in outcome.why


def test_a_fault_is_told_with_its_place_and_to_those_who_ask_with_its_trace(monkeypatch, capsys):
    broken = made()
    broken = replace(broken, level=replace(broken.level, launch_px_per_s={(0, 0): None}))
    for debug, trace in (("0", False), ("1", True)):
        monkeypatch.setenv("REACH_DEBUG", debug)
        outcome = run_job(broken, Job("hall", "start-1"), CheckOptions())
        assert re.search(r"^internal error, .*TypeError: .* at reach/[a-z_/]+\.py, line \d+$", outcome.why)
        assert ("Traceback" in capsys.readouterr().err) is trace


def test_an_interruption_is_let_through(monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(checker, "check", interrupted)
    with pytest.raises(KeyboardInterrupt):
        run_job(made(), Job("hall", "start-1"), CheckOptions())


def test_over_a_limit_a_job_is_checked_and_says_that_it_was_not_finished():
    outcome = run_job(made(), Job("hall", "start-1"), CheckOptions(memory_limit_mib=1))
    assert outcome.state is State.CHECKED and not outcome.report.complete
    assert verdicts(outcome)["exit-1"] is not Verdict.UNREACHABLE
