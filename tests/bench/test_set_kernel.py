"""The kernel in C makes the sets that the compiled one makes, and a comparison sees where it does not."""

import numpy as np
import pytest

from reach.kernels import flight, heap
from reach.level import compile_terrain
from reach.reachability.explore import Explorer
from tests.bench import set_kernel
from tests.bench.levels import Case, read_case


@pytest.fixture(scope="module")
def recording():
    level, movement = read_case(Case("dense-200x15", "heavy"))
    explorer = Explorer(movement.motion, compile_terrain(level, movement))
    by_the_start = next(each for each in explorer.footholds if each.row == 14)
    return set_kernel.record(explorer, by_the_start.index)


@pytest.fixture(scope="module")
def in_c():
    found = set_kernel.compiled_c()
    if found is None:
        pytest.skip("there is no C compiler")
    return found


def looked_up(recording):
    """Inputs, and the sets that the exploration itself made of them, as its job kept them to look up."""
    job = recording.job
    tables = dict(recording.far[:, 1::-1].tolist())
    for key, made, _ in heap.region(job, heap.MEMO, heap.MEMO_WIDTH).tolist():
        number, row, what = (key >> 18) & 0xFFFFFF, (key >> 3) & 0x7FFF, key & 7
        if key >> 42 > recording.generation and what in (flight._OPEN, flight._SIDE) and number in tables:
            span = row if what == flight._SIDE else -1
            yield np.array([tables[number], number, span], np.int64), made


def test_sets_of_the_exploration_itself(recording, in_c):
    job = recording.job.copy()
    found = list(looked_up(recording))
    assert {bool(row[2] < 0) for row, _ in found} == {True, False}
    assert len(found) > 500
    for row, made in found:
        assert set_kernel.set_made(in_c, recording, job, row) == set_kernel.polygons_of(recording.job, made)


def test_a_difference_is_seen(recording, in_c):
    def other(w, marks, j, a, count, times):
        made = in_c(w, marks, j, a, count, times)
        j[j[heap.VERTEX_X] + j[heap.VERTEX_N] - 1] += 1
        return made

    assert set_kernel.first_difference(recording, recording.far, in_c, in_c) == ""
    assert "give" in set_kernel.first_difference(recording, recording.far[:1], in_c, other)


@pytest.mark.long  # compiles the kernel once more, as a program of its own
@pytest.mark.parametrize("inputs", ["far", "walled"])
def test_same_sets_and_vertices_in_bulk(recording, in_c, inputs):
    rows = getattr(recording, inputs)
    assert len(rows) > 100
    assert set_kernel.first_difference(recording, rows, set_kernel.replay, in_c) == ""
    made = []
    for function in (set_kernel.replay, in_c):
        job = recording.job.copy()
        made.append(function(recording.world, recording.marks, job, rows.reshape(-1), len(rows), 2))
        assert not job[heap.FULL]
    assert made[0] == made[1] > 0
