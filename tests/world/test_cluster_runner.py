"""A cluster in memory for how much is out and what is asked again; a real one of three processes for the rest."""

import logging
import os
import pickle
import signal
import zlib

import pytest

from reach.errors import InputError
from reach.world.cache import open_cache
from reach.world.cluster_runner import ClusterRunner, GivenUp
from reach.world.cluster_worker import plain_answer
from reach.world.dask_cluster import DaskCluster
from reach.world.result import State
from reach.world.stored_report import to_bytes
from reach.world.worker import Answer
from tests.made_reports import make_report
from tests.world_runs import QUICK_SEEDS, Seen, drawn_job, drawn_task, run

SEEDS = QUICK_SEEDS[:6]
DEADLY = str(SEEDS[2])
REPORT = to_bytes(make_report())


def level_of(task):
    return pickle.loads(zlib.decompress(task)).job.level


class InMemory:
    """Answers one task at a time; those whose level is in `deadly` take all others that are out with them."""

    def __init__(self, threads, deadly=()):
        self.sizes = list(threads)
        self.deadly = deadly
        self.out = {}
        self.most = []
        self.closed = []

    def threads(self):
        return self.sizes.pop(0) if len(self.sizes) > 1 else self.sizes[0]

    def begin(self, number, task):
        assert number not in self.out
        self.out[number] = level_of(task)

    def heard(self, patience_s):
        self.most.append(len(self.out))
        if not self.out or not patience_s:
            return []
        if set(self.out.values()) & set(self.deadly):
            killed, self.out = self.out, {}
            return [(number, GivenUp(4)) for number in killed]
        number = next(iter(self.out))
        del self.out[number]
        return [(number, Answer(REPORT))]

    def close(self, at_once):
        self.closed.append(at_once)


def run_on(cluster, seeds=SEEDS, cache=None, **more):
    seen = Seen()
    with ClusterRunner(drawn_task, cluster, cache, **more) as runner:
        for seed in seeds:
            runner.submit(drawn_job(seed))
        for outcome in runner.as_completed():
            seen.add(outcome)
    return seen


def test_two_tasks_a_thread_are_out_at_most_and_that_follows_the_cluster():
    cluster = InMemory([0, 0, 1])
    said, standings = [], []
    seen = run_on(cluster, range(12), say=said.append, watch=standings.append)
    assert len(seen.digests) == 12 and max(cluster.most) == 2 and cluster.closed == [False]
    assert said == ["waiting for workers: the scheduler has none"]
    assert max(len(standing.running) for standing in standings) == 2
    assert (standings[-1].done, standings[-1].waiting) == (12, 0)
    wide = InMemory([4])
    run_on(wide, range(12))
    assert max(wide.most) == 8


def test_who_ended_with_another_task_is_asked_again_alone_and_only_the_deadly_one_fails():
    seen = run_on(InMemory([3], {DEADLY}))
    assert seen.digests.keys() == {str(seed) for seed in SEEDS} and seen.failed.keys() == {DEADLY}
    assert seen.failed[DEADLY].startswith("4 workers, one after the other, ended while they checked it")


def test_what_is_kept_asks_no_cluster(tmp_path):
    cache = open_cache(tmp_path, pytest.fail)
    run_on(InMemory([2]), cache=cache)
    cluster = InMemory([0])
    assert run_on(cluster, cache=cache).cached == len(SEEDS)
    assert max(cluster.most) == 0


def deadly(version, stamp, task):
    """Runs on a worker, and ends it over one level."""
    if level_of(task) == DEADLY:
        os.kill(os.getpid(), signal.SIGKILL)
    return plain_answer(version, stamp, task)


def outdated(version, stamp, task):
    """Runs on a worker as if whoever asks had another version."""
    return plain_answer("9.9", "other", task)


@pytest.fixture(scope="module")
def local():
    """A cluster of three processes of one thread."""
    import dask
    from distributed import LocalCluster

    with (
        dask.config.set({"distributed.scheduler.allowed-failures": 1}),
        LocalCluster(
            n_workers=3,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            silence_logs=logging.CRITICAL,
        ) as cluster,
    ):
        yield cluster


@pytest.fixture(scope="module")
def plain():
    """What one worker process of this machine hands out."""
    return run(SEEDS, 1).digests


posix = pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")


@posix
def test_a_cluster_says_the_same_bytes_with_a_worker_killed_in_the_middle(local, plain, tmp_path):
    cache = open_cache(tmp_path, pytest.fail)
    seen = Seen()
    with ClusterRunner(drawn_task, DaskCluster(local.scheduler_address), cache) as runner:
        for seed in SEEDS:
            runner.submit(drawn_job(seed))
        for outcome in runner.as_completed():
            if not seen.digests:
                os.kill(next(iter(local.workers.values())).pid, signal.SIGKILL)
            assert outcome.state is State.CHECKED
            seen.add(outcome)
    assert seen.digests == plain and cache.kept == len(SEEDS)
    assert run(SEEDS, 1, cache).cached == len(SEEDS)


def test_a_worker_of_another_version_fails_its_jobs(local):
    seen = run_on(DaskCluster(local.scheduler_address, outdated), SEEDS[:2])
    assert all(why.endswith("this is reach 9.9") for why in seen.failed.values()) and len(seen.failed) == 2


def test_an_interruption_leaves_nothing_to_do_on_the_cluster(local):
    with pytest.raises(KeyboardInterrupt), ClusterRunner(drawn_task, DaskCluster(local.scheduler_address)) as runner:
        for seed in range(40):
            runner.submit(drawn_job(seed))
        for _ in runner.as_completed():
            raise KeyboardInterrupt
    client = runner._cluster._client
    assert client.status == "closed"
    assert not any(state.who_wants for state in local.scheduler.tasks.values())


@posix
def test_a_job_that_kills_every_worker_fails_alone(local, plain, capfd):
    seen = run_on(DaskCluster(local.scheduler_address, deadly))
    assert seen.failed.keys() == {DEADLY}
    assert {**seen.digests, DEADLY: plain[DEADLY]} == plain
    assert "Traceback" not in capfd.readouterr().err


def test_a_scheduler_that_goes_ends_the_run_with_one_sentence(capfd):
    from distributed import LocalCluster

    with (
        LocalCluster(n_workers=0, processes=True, dashboard_address=None, silence_logs=logging.CRITICAL) as cluster,
        pytest.raises(InputError, match="gone in the middle of the run") as caught,
        ClusterRunner(drawn_task, DaskCluster(cluster.scheduler_address), say=lambda _: cluster.close()) as runner,
    ):
        runner.submit(drawn_job(1))
        list(runner.as_completed())
    assert len(str(caught.value).splitlines()) == 1 and capfd.readouterr().err == ""
