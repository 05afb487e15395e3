"""The benchmark's tables.

Prints what explorations and whole checks take on dense maps and on levels drawn by a seed, beside the search over
single states that one would otherwise write, and beside the kernel of sets in plain C, which is the limit. Each figure
is the median of several runs with the least and the greatest, in seconds of processor time: two of one run can be
compared, seconds of two machines cannot.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator

import numpy as np

from reach.level import compile_terrain
from reach.reachability.explore import Explorer
from tests.bench import set_kernel, single_states
from tests.bench.levels import CASES, Case, foothold_by_column, read_case
from tests.bench.measuring import Figure, figure, timed
from tests.bench.one_run import COLUMNS, DRAWING, run_alone

QUICK = ("dense-200x15", "open")
LONG = ("dense-2000x15", "large")
"""Levels whose whole checks take many minutes: they are checked only where they are named."""

LEFT_OUT = f"of {' and '.join(LONG)} only where --levels names them"


def exploration_lines(cases: list[Case], runs: int) -> Iterator[str]:
    """What explorations take in processor time, which counts all threads, and by the clock."""
    yield (
        f"{'':44} {'reached':>11} {'exploration s':>24} {'by the clock s':>24}"
        f" {'ms/foothold':>11} {'ns/polygon tick':>15} {'peak MiB':>8}"
    )
    for case in cases:
        found = run_alone("exploration", case, runs)
        taken, waited = figure(found["seconds"]), figure(found["waited_s"])
        reached = f"{found['landed']} of {found['footholds']}"
        each = 1e3 * taken.median / max(1, found["landed"])
        tick = 1e9 * taken.median / max(1, found["polygon_ticks"])
        yield (
            f"{case!s:44} {reached:>11} {taken!s:>24} {waited!s:>24}"
            f" {each:>11.2f} {tick:>15.0f} {found['peak_mib']:>8.0f}"
        )


def check_lines(cases: list[Case], runs: int) -> Iterator[str]:
    """What whole checks take, and how that divides."""
    yield f"{'':44} {'without drawing s':>24} " + " ".join(f"{name:>15}" for name in COLUMNS) + f" {'peak MiB':>9}"
    for case in cases:
        found = run_alone("check", case, runs)
        parts = {name: figure(values) for name, values in found["parts"].items()}
        whole = figure(np.sum([part.values for name, part in parts.items() if name != DRAWING], axis=0).tolist())
        columns = " ".join(f"{parts[name].median:>15.3f}" for name in COLUMNS)
        yield f"{case!s:44} {whole!s:>24} {columns} {found['peak_mib']:>9.0f}"


def set_kernel_lines(runs: int) -> Iterator[str]:
    """What the compiled kernel takes for the sets of an exploration, and what the same in C takes."""
    in_c = set_kernel.compiled_c()
    if in_c is None:
        yield "left out: there is no C compiler (cc)"
        return
    level, movement = read_case(Case("dense-200x15", "heavy"))
    explorer = Explorer(movement.motion, compile_terrain(level, movement))
    recording = set_kernel.record(explorer, foothold_by_column(movement, level).index)
    yield f"{'':24} {'sets':>7} {'kernel s':>24} {'C s':>24} {'kernel / C':>10}"
    for name, inputs in (("nothing in the way", recording.far), ("between walls", recording.walled)):
        difference = set_kernel.first_difference(recording, inputs, set_kernel.replay, in_c)
        if difference:
            raise AssertionError(difference)
        ours: list[float] = []
        limit: list[float] = []
        job = recording.job.copy()
        for _ in range(runs):
            for values, function in ((ours, set_kernel.replay), (limit, in_c)):
                job[set_kernel.COUNTERS] = recording.job[set_kernel.COUNTERS]
                given = (recording.world, recording.marks, job, inputs.reshape(-1), len(inputs), TIMES)
                values += timed(lambda function=function, given=given: function(*given), 1)[0].values
        kernel, c = Figure(tuple(ours)), Figure(tuple(limit))
        yield f"{name:24} {len(inputs):>7} {kernel!s:>24} {c!s:>24} {kernel.median / c.median:>10.2f}"
    yield "both make the same sets, vertex for vertex"


TIMES = 50
"""How often the sets of a recording are moved on in one run."""

WHAT = ("explorations", "checks", "single-states", "set-kernel")


def main(arguments: list[str] | None = None) -> int:
    """Measure what is asked for and print it line by line."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--what", nargs="+", choices=WHAT, default=WHAT)
    parser.add_argument("--levels", nargs="+", choices=sorted({case.level for case in CASES}))
    parser.add_argument("--runs", type=int, default=5, help="runs of each figure (default: %(default)s)")
    parser.add_argument("--quick", action="store_true", help="three runs, the small levels, the coarsest units")
    given = parser.parse_args(arguments)
    runs = 3 if given.quick else given.runs
    levels = given.levels or (QUICK if given.quick else [case.level for case in CASES])
    cases = [case for case in CASES if case.level in levels]
    checked = [case for case in cases if given.levels or case.level not in LONG]
    tables = {
        "explorations": ("Explorations, from nothing", lambda: exploration_lines(cases, runs)),
        "checks": (
            f"Whole checks, by part ({LEFT_OUT})",
            lambda: check_lines(checked, min(runs, 3)),
        ),
        "single-states": (
            "The exploration beside a search over every single state",
            lambda: single_states.lines(1 if given.quick else len(single_states.UNITS_PER_TILE), min(runs, 3)),
        ),
        "set-kernel": ("The kernel of sets beside the same in C", lambda: set_kernel_lines(runs)),
    }
    for name in WHAT:
        if name in given.what:
            title, lines = tables[name]
            print(title, flush=True)
            for line in lines():
                print(line, flush=True)
            print(flush=True)
    return 0
