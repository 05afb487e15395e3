import pickle

import numpy as np
import pytest

from reach.options import CheckOptions
from reach.world.job_run import run_task
from reach.world.stored_report import to_bytes
from reach.world.task import task_for
from tests.world_runs import drawn_job, drawn_task

TASK = drawn_task(drawn_job(3))
SPRINGS = drawn_task(drawn_job(339))


@pytest.mark.parametrize("task", [TASK, SPRINGS], ids=["plain", "springs"])
def test_a_task_that_was_sent_gives_the_same_bytes(task):
    sent = pickle.loads(pickle.dumps(task))
    assert to_bytes(run_task(sent).report) == to_bytes(run_task(task).report)


def test_a_task_with_springs_keeps_them():
    sent = pickle.loads(pickle.dumps(SPRINGS))
    assert sent.level.launch_px_per_s == SPRINGS.level.launch_px_per_s != {}
    assert np.array_equal(sent.level.material, SPRINGS.level.material)


def test_the_job_says_where_to_begin():
    options = CheckOptions(from_place="elsewhere", window_threshold_ms=70)
    task = task_for(TASK.job, TASK.level, TASK.movement, options)
    assert task.options == CheckOptions(from_place="start-1", window_threshold_ms=70)
    assert run_task(task).report.from_place == "start-1"
