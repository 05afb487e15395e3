import os
import signal
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from reach.checker import check
from reach.compiler.kernel_cache import when_compiling
from reach.errors import InputError, Problem
from reach.options import CheckOptions
from reach.report import world_json
from reach.world import process_runner as module
from reach.world.cache import open_cache
from reach.world.job_run import task_of
from reach.world.process_runner import ProcessRunner, usable_cores
from reach.world.result import State
from reach.world.serial_runner import Standing
from reach.world.stored_report import to_bytes
from reach.world.worker import Stage
from reach.world.world_checker import check_world
from reach.world.world_file import load_world
from tests.checkout import ROOT
from tests.world_runs import INTERRUPTED, QUICK_SEEDS, digest, drawn_job, drawn_task, run

SEEDS = QUICK_SEEDS[:4]
NAMES = {str(seed) for seed in SEEDS}
LONG = "9"
"""A level whose check takes half a second and more: long enough to be ended in the middle of it."""

posix = pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")


@pytest.fixture(scope="module")
def plain():
    """What one worker hands out, in order and without a cache."""
    return run(SEEDS, 1)


def test_a_worker_says_what_a_check_in_this_process_says(plain):
    task = drawn_task(drawn_job(SEEDS[0]))
    with ProcessRunner(drawn_task, 1) as runner:
        runner.submit(task.job)
        (outcome,) = runner.as_completed()
    assert outcome.state is State.CHECKED and not outcome.cached and outcome.why == ""
    assert to_bytes(outcome.report) == to_bytes(check(task.level, task.movement, task.options))
    assert plain.digests[task.job.level] == digest(outcome)


def test_the_bytes_are_the_same_for_any_number_of_workers_and_any_order(plain, tmp_path):
    cache = open_cache(tmp_path, pytest.fail)
    assert plain.digests.keys() == NAMES and not plain.failed
    turned = run(SEEDS[::-1], 3, cache)
    assert turned.digests == plain.digests and (turned.cached, cache.kept) == (0, 4)
    again = run(SEEDS, 2, cache)
    assert again.digests == plain.digests and again.cached == 4


def test_only_what_changed_is_checked_again(plain, tmp_path):
    cache = open_cache(tmp_path, pytest.fail)
    run(SEEDS[:3], 1, cache)

    def changed(job):
        options = CheckOptions(window_threshold_ms=61) if job.level == str(SEEDS[1]) else CheckOptions()
        return drawn_task(job, options)

    cached = {}
    with ProcessRunner(changed, 2, cache) as runner:
        for seed in SEEDS:
            runner.submit(drawn_job(seed))
        for outcome in runner.as_completed():
            cached[int(outcome.job.level)] = outcome.cached
    assert [cached[seed] for seed in SEEDS] == [True, False, True, False]


def test_no_worker_is_started_for_what_is_kept(plain, tmp_path, monkeypatch):
    cache = open_cache(tmp_path, pytest.fail)
    run(SEEDS[:2], 1, cache)
    monkeypatch.setattr("reach.world.process_runner._Worker", lambda *_: pytest.fail("a worker was started"))
    assert run(SEEDS[:2], 2, cache).cached == 2


def test_a_damaged_file_is_told_and_made_again(plain, tmp_path):
    said = []
    cache = open_cache(tmp_path, said.append)
    run(SEEDS[:2], 1, cache)
    files = sorted(tmp_path.rglob("*.report"))
    whole = {path: path.read_bytes() for path in files}
    files[0].write_bytes(whole[files[0]][:-7])
    files[1].write_bytes(b"")
    again = run(SEEDS[:2], 1, cache)
    assert len(said) == 2 and cache.damaged == 2 and again.cached == 0
    assert {path: path.read_bytes() for path in files} == whole
    assert all(plain.digests[level] == found for level, found in again.digests.items())


def test_jobs_are_added_while_others_run(plain):
    seen = []
    with ProcessRunner(drawn_task, 2) as runner:
        runner.submit(drawn_job(SEEDS[0]))
        for outcome in runner.as_completed():
            seen.append(outcome.job.level)
            for seed in SEEDS[: 2 * len(seen)]:
                runner.submit(drawn_job(seed))
        # When all was done, more may come.
        assert list(runner.as_completed()) == []
        runner.submit(drawn_job(QUICK_SEEDS[4]))
        seen += [outcome.job.level for outcome in runner.as_completed()]
    assert len(seen) == 5 and set(seen) == NAMES | {str(QUICK_SEEDS[4])}


def broken(job):
    """Tasks of which two fail, each in a way of its own, and one cannot even be made."""
    task = drawn_task(job)
    if job.level == str(SEEDS[1]):
        return replace(task, level=replace(task.level, launch_px_per_s={(0, 0): None}))
    if job.level == str(SEEDS[2]):
        return replace(task, options=CheckOptions(from_place="nowhere"))
    if job.level == str(SEEDS[3]):
        raise InputError([Problem("quay.json", "", "no such file", "a file that can be read")])
    return task


def test_a_level_that_raises_fails_alone(plain, tmp_path):
    cache = open_cache(tmp_path, pytest.fail)
    seen = run(SEEDS, 2, cache, broken)
    assert seen.digests.keys() == NAMES and cache.kept == 1
    assert seen.digests[str(SEEDS[0])] == plain.digests[str(SEEDS[0])]
    why = [seen.failed[str(seed)] for seed in SEEDS[1:]]
    assert why[0].startswith("internal error, a fault of reach itself: ") and " at reach/" in why[0]
    assert why[1].startswith(f'level {SEEDS[2]}: $.places: found "nowhere"')
    assert why[2] == "quay.json: found no such file; allowed: a file that can be read"


@posix
@pytest.mark.parametrize("jobs", [1, 2])
def test_a_killed_worker_fails_its_job_alone(plain, jobs):
    ended = {}
    with ProcessRunner(drawn_task, jobs) as runner:
        for seed in (*SEEDS[:2], int(LONG), *SEEDS[2:]):
            runner.submit(drawn_job(seed))
        for outcome in runner.as_completed():
            ended[outcome.job.level] = outcome
            for job, process_id in runner.at_work.items():
                if job.level == LONG:
                    os.kill(process_id, signal.SIGKILL)
    assert ended.pop(LONG).why == (
        "the process that checked it was ended by SIGKILL; the system does that where memory runs out"
    )
    assert {level: digest(outcome) for level, outcome in ended.items()} == plain.digests


@posix
def test_if_every_worker_is_killed_at_its_start_every_job_fails_and_the_run_ends():
    runner = ProcessRunner(drawn_task, 2)

    def kill_all(standing):
        for process_id in runner.at_work.values():
            os.kill(process_id, signal.SIGKILL)

    runner._watch = kill_all
    with runner:
        for seed in SEEDS:
            runner.submit(drawn_job(seed))
        outcomes = list(runner.as_completed())
    assert {outcome.job.level for outcome in outcomes} == NAMES
    assert all(outcome.state is State.FAILED and "SIGKILL" in outcome.why for outcome in outcomes)


def test_where_the_system_gives_no_more_processes_those_there_are_do_the_work(plain, monkeypatch):
    made = []

    def make(*given):
        if made:
            raise BlockingIOError(11, "Resource temporarily unavailable")
        made.append(Worker(*given))
        return made[0]

    Worker = module._Worker
    monkeypatch.setattr(module, "_Worker", make)
    assert run(SEEDS, 3).digests == plain.digests


@posix
def test_a_worker_that_was_killed_while_it_had_nothing_to_do_costs_no_job(plain):
    with ProcessRunner(drawn_task, 1) as runner:
        runner.submit(drawn_job(SEEDS[0]))
        ids = set()
        for _ in runner.as_completed():
            ids |= {worker.process_id for worker in runner._workers}
        (process_id,) = ids
        os.kill(process_id, signal.SIGKILL)
        runner._workers[0]._process.join()
        # As if it had ended just after it was last looked at.
        runner._intake.to_check.append((drawn_task(drawn_job(SEEDS[1])), ""))
        (outcome,) = runner.as_completed()
    assert digest(outcome) == plain.digests[str(SEEDS[1])]


def test_it_tells_what_is_worked_on_and_what_is_left():
    told = []
    first, second = (drawn_job(seed) for seed in SEEDS[:2])
    with ProcessRunner(drawn_task, 1, watch=told.append) as runner:
        runner.submit(first)
        runner.submit(second)
        list(runner.as_completed())
    assert told[0] == Standing((), 0, 2)
    assert Standing(((first, "beginning"),), 0, 1) in told
    assert Standing(((second, "beginning"),), 1, 0) in told
    assert told[-1] == Standing((), 2, 0)


def test_no_worker_outlives_the_context():
    with pytest.raises(RuntimeError), ProcessRunner(drawn_task, 2) as runner:
        for seed in (int(LONG), *SEEDS):
            runner.submit(drawn_job(seed))
        for _ in runner.as_completed():
            workers = [worker._process for worker in runner._workers]
            raise RuntimeError
    assert workers
    for process in workers:
        with pytest.raises(ValueError):
            process.is_alive()


def child_run(folder, *more):
    """A run in a process group of its own, with its output as lines."""
    command = [sys.executable, "-m", "tests.world_runs", "--jobs", "2", "--cache", str(folder), *more]
    return subprocess.Popen(
        command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )


def assert_whole_files_only(folder, said):
    """Everything in a cache can be read by a run that comes after; whoever was killed may leave a half-written file."""
    cache = open_cache(folder, said.append)
    for path in Path(folder).rglob("*.report"):
        assert cache.find(path.parent.name + path.stem) is not None
    assert said == []


@pytest.fixture
def hears_ctrl_c():
    """Whoever runs the tests in the background may have them, and all that they start, ignore it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@posix
def test_ctrl_c_leaves_whole_files_and_no_process(tmp_path, hears_ctrl_c):
    child = child_run(tmp_path, "--first", "0", "--levels", "400")
    lines = [child.stdout.readline() for _ in range(6)]
    os.killpg(child.pid, signal.SIGINT)
    rest, errors = child.communicate(timeout=60)  # its output ends when its workers have ended too
    assert child.returncode == INTERRUPTED
    assert "Traceback" not in errors and "KeyboardInterrupt" not in errors
    assert len(lines) + len(rest.splitlines()) < 300
    assert_whole_files_only(tmp_path, [])
    kept = list(tmp_path.rglob("*"))
    assert kept and not [path for path in kept if path.suffix == ".part"]


@posix
def test_after_the_whole_run_was_killed_the_next_one_is_clean(plain, tmp_path):
    child = child_run(tmp_path, "--first", "0", "--levels", "400")
    while "checked" not in child.stdout.readline():
        pass
    os.kill(child.pid, signal.SIGKILL)
    child.communicate(timeout=60)  # its output ends when its workers have ended too
    assert_whole_files_only(tmp_path, [])
    assert run(SEEDS, 2, open_cache(tmp_path, pytest.fail)).digests == plain.digests


def test_two_runs_at_once_give_the_same_and_share_what_they_keep(plain, tmp_path):
    both = [child_run(tmp_path) for _ in range(2)]
    lines = [sorted(each.communicate(timeout=120)[0].splitlines()) for each in both]
    found = [{line.split()[0]: line.split()[2] for line in one if " checked " in line} for one in lines]
    assert found[0] == found[1] and found[0].keys() == {str(seed) for seed in QUICK_SEEDS}
    assert plain.digests.items() <= found[0].items()
    assert len(list(tmp_path.rglob("*.report"))) == len(QUICK_SEEDS)
    assert run(SEEDS, 1, open_cache(tmp_path, pytest.fail)).cached == len(SEEDS)


def test_there_is_a_core_to_use():
    assert 1 <= usable_cores() <= (os.cpu_count() or 1)


@posix
def test_ctrl_c_reaches_no_worker_from_its_first_moment_on(plain):
    hit = set()

    def press(standing):
        for process_id in runner.at_work.values():
            os.kill(process_id, signal.SIGINT)
            hit.add(process_id)

    runner = ProcessRunner(drawn_task, 1, None, press)
    with runner:
        for seed in SEEDS[:2]:
            runner.submit(drawn_job(seed))
        assert [digest(outcome) for outcome in runner.as_completed()] == list(plain.digests.values())[:2]
    assert len(hit) == 1


@posix
@pytest.mark.parametrize("threads", [0, 2])
def test_ctrl_c_while_a_worker_is_started_is_not_lost(hears_ctrl_c, threads):
    # another thread may be the one that the system gives the signal to
    end = threading.Event()
    for _ in range(threads):
        threading.Thread(target=end.wait, daemon=True).start()
    with pytest.raises(KeyboardInterrupt), module._interrupts_held():
        os.kill(os.getpid(), signal.SIGINT)
        held = True
    end.set()
    assert held


@posix
def test_one_worker_alone_prepares_and_another_one_where_that_is_killed(monkeypatch):
    started = []

    class Watched(module._Worker):
        def __init__(self, number, prepares, task, key):
            super().__init__(number, prepares, task, key)
            started.append((number, prepares, len(runner._workers)))
            if number == 1:
                os.kill(self.process_id, signal.SIGKILL)

    monkeypatch.setattr(module, "_Worker", Watched)
    with ProcessRunner(drawn_task, 2) as runner:
        for seed in SEEDS:
            runner.submit(drawn_job(seed))
        states = [outcome.state for outcome in runner.as_completed()]
    assert started == [(1, True, 0), (2, True, 0), (3, False, 1)]
    assert sorted(states) == [State.CHECKED] * 3 + [State.FAILED]


class Telling:
    """A worker that has something to tell."""

    job = drawn_job(3)
    stage = ""

    def __init__(self, message):
        self.message = message
        self.link = self

    def recv(self):
        return self.message


def test_compiling_is_told_once_by_whoever_tells_it():
    told = []
    runner = ProcessRunner(drawn_task, 1)
    with when_compiling(lambda: told.append("compiling")):
        for _ in range(2):
            assert runner._hear(Telling(module.News.COMPILING)) is None
    assert told == ["compiling"]


def test_it_tells_what_each_worker_is_doing():
    told = []
    runner = ProcessRunner(drawn_task, 1, watch=told.append)
    runner.submit(Telling.job)
    runner._workers.append(Telling(Stage("measuring")))
    assert runner._hear(runner._workers[0]) is None
    runner._show()
    assert told == [Standing(((Telling.job, "measuring"),), 0, 0)]


def test_a_world_says_the_same_in_processes_as_in_this_one():
    world = load_world(ROOT / "sample_levels/worlds/missable_for_good.world.json")
    alone = check_world(world)
    with ProcessRunner(lambda job: task_of(world.by_id[job.level], job, CheckOptions()), 2) as runner:
        together = check_world(world, runner=runner)
    assert world_json.dump(together) == world_json.dump(alone)
    assert alone.findings
