"""The kernel that moves a set of polygons on by a tick, and the same in C, on the sets of a recorded exploration."""

from __future__ import annotations

import ctypes
import re
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from reach.kernels import flight, heap, polygon, post
from reach.kernels.rows import span_of
from reach.kernels.typed import kernel
from reach.reachability.explore import Explorer

SOURCE = Path(__file__).with_suffix(".c")
OPTIONS = ("-O3", "-march=native", "-ffp-contract=off", "-shared", "-fPIC")
"""A product and a sum stay two roundings, as in the compiled kernels: else `simplify` could choose other corners."""

COUNTERS = [heap.VERTEX_N, heap.POLYGON_N, heap.ITEM_N, heap.SET_N]

Replay = Callable[[np.ndarray, np.ndarray, np.ndarray, np.ndarray, int, int], int]
"""Called with (w, marks, j, inputs, number of inputs, times); returns how many vertices were made."""


@kernel
def replay(w, marks, j, a, count, times) -> int:
    """Move the set of each input on by a tick, `times` over; returns how many vertices were made.

    An input is three cells of `a`: table, set, span. Each begins with the pool as it was, and the last leaves its set
    there.
    """
    vertex = j[heap.VERTEX_N]
    polygons = j[heap.POLYGON_N]
    item = j[heap.ITEM_N]
    sets = j[heap.SET_N]
    made = 0
    for _ in range(times):
        for i in range(count):
            j[heap.VERTEX_N] = vertex
            j[heap.POLYGON_N] = polygons
            j[heap.ITEM_N] = item
            j[heap.SET_N] = sets
            flight._advance(w, marks, j, a[3 * i], a[3 * i + 1], a[3 * i + 2])
            made += j[heap.VERTEX_N] - vertex
    return made


def compiled_c() -> Replay | None:
    """The replay of `set_kernel.c`, None where there is no C compiler."""
    compiler = shutil.which("cc")
    if compiler is None:
        return None
    numbers = {name: value for name, value in vars(heap).items() if name.isupper() and isinstance(value, int)}
    numbers |= {"MAX_VERTICES": polygon.MAX_VERTICES, "FAR": post.FAR}
    used = sorted(set(re.findall(r"\b[A-Z][A-Z0-9_]*\b", SOURCE.read_text(encoding="utf-8"))) & numbers.keys())
    with tempfile.TemporaryDirectory() as folder:
        library = Path(folder) / "set_kernel.so"
        macros = [f"-D{name}={numbers[name]}LL" for name in used]
        subprocess.run([compiler, *OPTIONS, *macros, "-o", str(library), str(SOURCE)], check=True)
        function = ctypes.CDLL(str(library)).replay
    cells = ctypes.POINTER(ctypes.c_int64)
    function.argtypes = [cells, cells, cells, cells, ctypes.c_int64, ctypes.c_int64]
    function.restype = ctypes.c_int64

    def call(w: np.ndarray, marks: np.ndarray, j: np.ndarray, a: np.ndarray, count: int, times: int) -> int:
        return int(function(*(array.ctypes.data_as(cells) for array in (w, marks, j, a)), count, times))

    return call


@dataclass(frozen=True)
class Recording:
    """The sets of one job of an exploration, and what moves them on.

    `far` and `walled` are int64 [inputs, 3] with columns table, set, span: as if nothing stood in the way, and between
    the walls that the set met. `generation` is the last one that the job's look-up table had before this job.
    """

    world: np.ndarray
    job: np.ndarray
    far: np.ndarray
    walled: np.ndarray
    generation: int

    @property
    def marks(self) -> np.ndarray:
        """Marks to count in."""
        return heap.make_marks(1, 1, 1)


def record(explorer: Explorer, rest_on: int) -> Recording:
    """Explore from a foothold and keep the job in which most vertical states were met."""
    kept = np.zeros(0, np.int64)
    generation = 0
    latest: dict[int, int] = {}  # of each array in which jobs are worked out

    def seen(_: int, job: np.ndarray) -> None:
        nonlocal kept, generation
        if not len(kept) or job[heap.RECORD_N] > kept[heap.RECORD_N]:
            kept = job.copy()
            generation = latest.get(id(job), 0)
        latest[id(job)] = int(job[heap.GENERATION])

    explorer.explore(rest_on=rest_on, seen=seen)
    states = heap.region(kept, heap.RECORD, heap.RECORD_WIDTH)[: kept[heap.RECORD_N]]
    world = explorer.world
    spans = np.array([span_of(world, y) for y in states[:, 1].tolist()], np.int64)
    walled = np.column_stack([1 + states[:, 0], states[:, 5], spans])
    far = walled.copy()
    far[:, 2] = -1
    kept[heap.FULL] = 0
    return Recording(world, kept, np.unique(far, axis=0), np.unique(walled, axis=0), generation)


def polygons_of(job: np.ndarray, number: int) -> list[tuple[int, list[int], list[int]]]:
    """Zone, x and v of every polygon of a set; none of set 0."""
    found = []
    first, size = heap.region(job, heap.SET, heap.SET_WIDTH)[number, :2].tolist() if number else (0, 0)
    for i in job[first : first + size].tolist():
        at, corners, zone = heap.region(job, heap.POLYGON, heap.POLYGON_WIDTH)[i, :3].tolist()
        x, v = heap.region(job, heap.VERTEX_X), heap.region(job, heap.VERTEX_V)
        found.append((zone, x[at : at + corners].tolist(), v[at : at + corners].tolist()))
    return found


def set_made(function: Replay, recording: Recording, job: np.ndarray, row: np.ndarray) -> list[object]:
    """The polygons that a replay makes of one input, in a copy of the recorded job."""
    job[COUNTERS] = recording.job[COUNTERS]
    function(recording.world, recording.marks, job, row, 1, 1)
    made = job[heap.SET_N] > recording.job[heap.SET_N]
    return [*polygons_of(job, int(job[heap.SET_N]) - 1 if made else 0)]


def first_difference(recording: Recording, inputs: np.ndarray, one: Replay, other: Replay) -> str:
    """What two replays do not make alike, "" where all their sets are the same."""
    jobs = recording.job.copy(), recording.job.copy()
    for row in inputs:
        sets = [set_made(function, recording, job, row) for function, job in zip((one, other), jobs, strict=True)]
        if sets[0] != sets[1] or jobs[0][heap.FULL] or jobs[1][heap.FULL]:
            return f"table, set and span {row.tolist()} give {sets[0]} and {sets[1]}"
    return ""
