import multiprocessing
import os
import signal
import subprocess
import sys
from contextlib import contextmanager
from dataclasses import replace

import pytest

from reach import checker
from reach.options import CheckOptions
from reach.world.stored_report import to_bytes
from reach.world.worker import Answer, News, Stage, answer_to, work
from tests.checkout import ROOT
from tests.made_reports import make_report
from tests.world_runs import drawn_job, drawn_task

TASK = drawn_task(drawn_job(3))


@contextmanager
def worker():
    context = multiprocessing.get_context("spawn")
    link, far = context.Pipe()
    process = context.Process(target=work, args=(far, False), daemon=True)
    process.start()
    far.close()
    try:
        yield link, process
    finally:
        process.kill()
        process.join()


def heard(link):
    """What a worker sends besides stages; a minute is longer than anything here takes."""
    while True:
        assert link.poll(60)
        message = link.recv()
        if not isinstance(message, Stage):
            return message


def test_a_worker_answers_one_task_after_another_and_leaves_when_nobody_asks():
    with worker() as (link, process):
        assert heard(link) is News.READY
        answers = []
        for task in (TASK, replace(TASK, options=CheckOptions(from_place="nowhere")), TASK):
            link.send(task)
            answers.append(heard(link))
        assert answers[0] == answers[2] and answers[0].stored
        assert answers[1].stored is None
        link.close()
        process.join(60)
        assert process.exitcode == 0


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_a_worker_does_not_hear_ctrl_c():
    with worker() as (link, process):
        assert heard(link) is News.READY
        os.kill(process.pid, signal.SIGINT)
        link.send(TASK)
        assert heard(link).stored


PARENT = """
import multiprocessing, os, signal
from reach.world.worker import work

def work_on(far, link):
    # It holds the other end of its link too, so that the link never ends.
    work(far, False)

if __name__ == "__main__":
    context = multiprocessing.get_context("spawn")
    link, far = context.Pipe()
    process = context.Process(target=work_on, args=(far, link))
    process.start()
    print(link.recv().name, flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_a_worker_ends_with_a_parent_that_was_killed(tmp_path):
    script = tmp_path / "parent.py"
    script.write_text(PARENT)
    # Standard output is the worker's too: it ends when both processes have, before the time is out.
    ended = subprocess.run(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        text=True,
        timeout=60,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )
    assert (ended.returncode, ended.stdout) == (-signal.SIGKILL, "READY\n")


def test_an_answer_is_preceded_by_stages_now_and_then(monkeypatch):
    def check(level, movement, options, tell):
        tell("exploring", 0.5)
        clock[0] += 1
        tell("searching", None)
        tell("measuring", 0.1)
        return make_report()

    clock = [0.0]
    monkeypatch.setattr("reach.world.worker.time.monotonic", lambda: clock[0])
    monkeypatch.setattr(checker, "check", check)
    sent = []
    assert answer_to(TASK, sent.append) == Answer(to_bytes(make_report()))
    assert sent == [Stage("searching")]


def test_a_report_that_cannot_be_stored_is_a_fault(monkeypatch):
    monkeypatch.setattr(checker, "check", lambda *_: make_report(columns="many"))
    answer = answer_to(TASK, lambda stage: None)
    assert answer.stored is None
    assert answer.why.startswith("internal error, a fault of reach itself: TypeError: ")
