"""A job leaves nothing behind on its bench, and what it found does not change when footholds are numbered anew."""

from __future__ import annotations

import numpy as np
import pytest

from reach.kernels import heap
from reach.reachability.exploration_job import Beginning, Bench, Found
from reach.reachability.exploration_run import ExplorationRun
from reach.reachability.explore import Explorer
from tests.reachability.test_job_memory import wide

pytestmark = pytest.mark.small


def bench_and_found() -> tuple[Bench, Found, ExplorationRun]:
    motion, terrain, _ = wide()
    run = ExplorationRun(Explorer(motion, terrain), None, None, None)
    bench = run.benches[0]
    found = bench.work_out(run.world, run.ground, Beginning(0, heap.FROM_REST))
    assert isinstance(found, Found)
    return bench, found, run


def test_a_bench_is_clean_after_a_job() -> None:
    bench, found, run = bench_and_found()
    assert found.cover.any() and found.carried.any() and len(found.targets) > 1 and len(found.moves) > 1
    assert not bench.cover.any() and not bench.carried.any()
    assert not bench.marks[heap.K_HEADER :].any() and bench.marks[heap.POLYGON_TICKS] == 0
    again = bench.work_out(run.world, run.ground, Beginning(0, heap.FROM_REST))
    assert isinstance(again, Found)
    assert np.array_equal(again.packed, found.packed) and np.array_equal(again.cover, found.cover)


def test_a_job_that_is_stopped_or_without_room_finds_nothing() -> None:
    bench, _, run = bench_and_found()
    bench.marks[heap.STOP] = 1
    assert bench.work_out(run.world, run.ground, Beginning(0, heap.FROM_REST)) == "time limit"
    assert not bench.cover.any()
    bench.marks[heap.STOP] = 0
    bench.job = heap.make_job(bench.places, 1, False)
    assert bench.work_out(run.world, run.ground, Beginning(0, heap.FROM_REST)) is None


def test_footholds_may_be_numbered_anew() -> None:
    _, found, _ = bench_and_found()
    numbers = {f: 100 - f for f in {*found.targets, *found.moves[:, 0].tolist()}}
    other = found.renumbered(7, numbers)
    assert other.targets == sorted(numbers[f] for f in found.targets)
    assert other.moves[:, 0].tolist() == [numbers[f] for f in found.moves[:, 0].tolist()]
    assert np.array_equal(other.moves[:, 1:], found.moves[:, 1:])
    assert other.cover is found.cover
