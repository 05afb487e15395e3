import pickle
from dataclasses import replace

import numpy as np
import pytest

from reach import checker
from reach.checker import check
from reach.errors import InputError, Problem
from reach.options import CheckOptions
from reach.world.stored_report import from_bytes, to_bytes
from reach.world.task import NO_MEMORY, carry_out, task_for, why_not
from tests.world_runs import drawn_job, drawn_task

TASK = drawn_task(drawn_job(3))
SPRINGS = drawn_task(drawn_job(339))


@pytest.mark.parametrize("task", [TASK, SPRINGS], ids=["plain", "springs"])
def test_a_task_that_was_sent_gives_the_same_bytes(task):
    sent = pickle.loads(pickle.dumps(task))
    answer = carry_out(sent)
    assert answer.why == ""
    assert answer.stored == to_bytes(check(task.level, task.movement, task.options))
    assert not sent.level.material.flags.writeable


def test_a_task_with_springs_keeps_them():
    sent = pickle.loads(pickle.dumps(SPRINGS))
    assert sent.level.launch_px_per_s == SPRINGS.level.launch_px_per_s != {}
    assert np.array_equal(sent.level.material, SPRINGS.level.material)


def test_the_job_says_where_to_begin():
    options = CheckOptions(from_place="elsewhere", window_threshold_ms=70)
    task = task_for(TASK.job, TASK.level, TASK.movement, options)
    assert task.options == CheckOptions(from_place="start-1", window_threshold_ms=70)
    assert from_bytes(carry_out(task).stored).from_place == "start-1"


def test_a_user_s_mistake_is_an_answer_in_the_user_s_words():
    answer = carry_out(replace(TASK, options=CheckOptions(from_place="nowhere")))
    assert answer.stored is None
    assert answer.why.startswith('level 3: $.places: found "nowhere"; allowed: ')


def test_a_fault_is_an_answer_that_says_where(monkeypatch, capsys):
    broken = replace(TASK, level=replace(TASK.level, launch_px_per_s={(0, 0): None}))
    monkeypatch.delenv("REACH_DEBUG", raising=False)
    answer = carry_out(broken)
    assert answer.stored is None
    assert answer.why.startswith("internal error: ") and " at reach/" in answer.why
    assert capsys.readouterr().err == ""
    monkeypatch.setenv("REACH_DEBUG", "1")
    carry_out(broken)
    assert "Traceback" in capsys.readouterr().err


def test_no_memory_left_is_an_answer(monkeypatch):
    def full(*_):
        raise MemoryError

    monkeypatch.setattr(checker, "check", full)
    assert carry_out(TASK).why == NO_MEMORY


def test_ctrl_c_is_no_answer(monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(checker, "check", interrupted)
    with pytest.raises(KeyboardInterrupt):
        carry_out(TASK)


def test_all_problems_of_an_input_stand_on_one_line():
    problems = [Problem("a.json", "$", "1", "2"), Problem("a.json", "$.b", "3", "4")]
    assert why_not(InputError(problems)) == "a.json: $: found 1; allowed: 2; a.json: $.b: found 3; allowed: 4"
