import pytest

from reach.errors import InputError, Problem
from reach.world.cache import open_cache
from reach.world.intake import Intake
from reach.world.result import State
from reach.world.serial_runner import Standing
from reach.world.stored_report import to_bytes
from reach.world.worker import Answer
from tests.made_reports import make_report
from tests.world_runs import drawn_job, drawn_task


def test_a_job_is_taken_on_once_and_kept_when_it_was_answered(tmp_path):
    job = drawn_job(1)
    cache = open_cache(tmp_path, pytest.fail)
    intake = Intake(drawn_task, cache)
    intake.submit(job)
    intake.submit(job)
    assert intake.has_new and intake.look_up() is None and not intake.has_new
    task, key = intake.to_check.popleft()
    assert task.job == job and intake.standing(((job, "beginning"),)) == Standing(((job, "beginning"),), 0, 0)
    outcome = intake.counted(intake.judged(job, key, Answer(to_bytes(make_report()))))
    assert (outcome.state, outcome.cached, intake.standing(())) == (State.CHECKED, False, Standing((), 1, 0))
    again = Intake(drawn_task, cache)
    again.submit(job)
    assert again.look_up().cached and not again.to_check


def test_what_has_no_report_has_failed():
    def missing(job):
        raise InputError([Problem("quay.json", "", "no such file", "a file")])

    intake = Intake(missing, None)
    intake.submit(drawn_job(1))
    assert intake.look_up().why == "quay.json: found no such file; allowed: a file"
    assert intake.judged(drawn_job(1), "", Answer(None, "it ended")).why == "it ended"
