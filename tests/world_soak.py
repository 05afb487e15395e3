"""The longer run: many random levels through workers, from the cache, and with processes killed on the way.

`python -m tests.world_soak --levels 1000` prints what came of it; it ends with 1 where something is not as it must be.
What must be: every level is reported once; a run from the cache says the same; the parent's memory stays flat; a killed
worker costs its own level only; whatever is killed, the next run is clean and says the same.
"""

from __future__ import annotations

import argparse
import os
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from reach.world.process_runner import ProcessRunner
from tests.checkout import ROOT
from tests.world_runs import Seen, cache_in, run

FLAT_MIB = 32.0
"""The most by which the parent may grow from a tenth of its outcomes to the last."""
LEAST_RATIO = 20.0
"""How much faster a run from the cache is expected to be; it is only printed: a machine may have other work."""


def memory_mib() -> float:
    """The memory that this process holds now (of a system with /proc)."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


@dataclass
class Watch:
    """Takes the parent's memory after a tenth of the outcomes and after the last; kills workers where it is told to."""

    levels: int
    kills: int = 0
    memory: list[float] = field(default_factory=list)
    killed: set[str] = field(default_factory=set)

    def __call__(self, runner: ProcessRunner, seen: Seen) -> None:
        done = len(seen.digests)
        if done in (self.levels // 10, self.levels):
            self.memory.append(memory_mib())
        if len(self.killed) < self.kills and done % (self.levels // (self.kills + 1)) == 0 and runner.at_work:
            job, process_id = next(iter(runner.at_work.items()))
            os.kill(process_id, signal.SIGKILL)
            self.killed.add(job.level)

    @property
    def growth_mib(self) -> float:
        """By how much the parent grew."""
        return self.memory[-1] - self.memory[0]


def killed_parent(folder: Path, first: int, levels: int, jobs: int) -> int:
    """Kill a run in the middle; return how many outcomes it had told."""
    command = [sys.executable, "-m", "tests.world_runs", "--cache", str(folder), "--jobs", str(jobs)]
    command += ["--first", str(first), "--levels", str(levels)]
    child = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    told = 0
    while told < levels // 2:
        told += " checked " in child.stdout.readline()
    child.kill()
    child.communicate()  # ends when the workers have ended too
    return told


def soak(first: int, levels: int, jobs: int, folder: Path) -> list[str]:
    """Run it all in an empty folder, print the figures, and return what is not as it must be."""
    seeds = range(first, first + levels)
    wrong: list[str] = []
    said: list[str] = []

    def check(holds: bool, what: str) -> None:
        if not holds:
            wrong.append(what)

    began = time.monotonic()
    watch = Watch(levels)
    full = run(seeds, jobs, cache_in(folder / "one", said.append), watch=watch)
    took = time.monotonic() - began
    print(f"{levels} levels, {jobs} workers: {took:.1f} s; {len(full.digests)} reported, {len(full.failed)} failed")
    print(f"parent: {watch.memory[0]:.1f} MiB after {levels // 10} outcomes, {watch.memory[-1]:.1f} MiB after all")
    check(len(full.digests) == levels and not full.failed, f"not every level was reported: {full.failed}")
    check(watch.growth_mib < FLAT_MIB, f"the parent grew by {watch.growth_mib:.1f} MiB")

    began = time.monotonic()
    again = run(seeds, jobs, cache_in(folder / "one", said.append))
    ratio = took / (time.monotonic() - began)
    print(f"from the cache: {took / ratio:.2f} s, {ratio:.0f} times faster (expected: {LEAST_RATIO:.0f} or more)")
    check(again.cached == levels and again.digests == full.digests, "the run from the cache says something else")

    watch = Watch(levels, kills=5)
    hurt = run(seeds, jobs, cache_in(folder / "two", said.append), watch=watch)
    print(f"{len(watch.killed)} workers killed: {len(hurt.failed)} levels failed, {len(hurt.digests)} reported")
    check(hurt.failed.keys() == watch.killed and len(hurt.digests) == levels, f"others failed too: {hurt.failed}")
    same = all(full.digests[level] == found for level, found in hurt.digests.items() if level not in hurt.failed)
    check(same, "beside killed workers something else was reported")
    mended = run(seeds, jobs, cache_in(folder / "two", said.append))
    print(f"the next run: {levels - mended.cached} levels checked, {mended.cached} from the cache")
    check(mended.cached == levels - len(watch.killed) and mended.digests == full.digests, "the next run is not clean")

    told = killed_parent(folder / "three", first, levels, jobs)
    after = run(seeds, jobs, cache_in(folder / "three", said.append))
    print(f"parent killed after {told} outcomes: the next run took {after.cached} from the cache")
    check(after.digests == full.digests and not after.failed, "after the killed parent something else was reported")
    check(after.cached >= told, "what the killed parent had reported was not kept")
    check(not said, f"it was said: {said}")
    return wrong


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.world_soak")
    parser.add_argument("--levels", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        wrong = soak(options.first, options.levels, options.jobs, Path(folder))
    for each in wrong:
        print(f"wrong: {each}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
