"""Runs over random levels, in this process's workers or in a process of their own that can be killed.

`python -m tests.world_runs --first 0 --levels 8 --jobs 2 --cache DIR` prints a line for each outcome as it comes: the
level, how it ended, the hash of its report's bytes, whether it was kept from earlier; and one for each worker as it is
seen at work.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

from reach.level import PlaceKind, level_from_dict
from reach.movement import movement_from_dict
from reach.options import CheckOptions
from reach.world.cache import Cache, Say, open_cache
from reach.world.process_runner import ProcessRunner
from reach.world.result import Job, Outcome
from reach.world.stored_report import to_bytes
from reach.world.task import Task, task_for
from tests.random_levels import generate

QUICK_SEEDS = (1, 3, 6, 14, 16, 21, 22, 27)
"""Levels whose check takes some hundredths of a second."""
INTERRUPTED = 130


def drawn_job(seed: int) -> Job:
    """The job that `drawn_task` knows as a seed's."""
    return Job(str(seed), "start-1")


def drawn_task(job: Job, options: CheckOptions = CheckOptions()) -> Task:  # noqa: B008
    """The task of a job whose level is a seed of `generate`."""
    level, movement = generate(int(job.level))
    made = level_from_dict(level, f"level {job.level}")
    assert made.start.id == job.entrance and made.start.kind is PlaceKind.START
    return task_for(job, made, movement_from_dict(movement, f"movement {job.level}"), options)


def digest(outcome: Outcome) -> str:
    """The hash of an outcome's report, "-" where it has none."""
    return "-" if outcome.report is None else hashlib.sha256(to_bytes(outcome.report)).hexdigest()


@dataclass
class Seen:
    """What a run handed out: the outcomes' hashes by level, and how many came from the cache."""

    digests: dict[str, str] = field(default_factory=dict)
    failed: dict[str, str] = field(default_factory=dict)
    cached: int = 0

    def add(self, outcome: Outcome) -> None:
        """Take an outcome in; each level comes once."""
        assert outcome.job.level not in self.digests
        self.digests[outcome.job.level] = digest(outcome)
        self.cached += outcome.cached
        if outcome.report is None:
            self.failed[outcome.job.level] = outcome.why


def run(
    seeds: Iterable[int],
    jobs: int,
    cache: Cache | None = None,
    task_of: Callable[[Job], Task] = drawn_task,
    watch: Callable[[ProcessRunner, Seen], None] = lambda runner, seen: None,
) -> Seen:
    """Check random levels; `watch` is called after each outcome."""
    seen = Seen()
    with ProcessRunner(task_of, jobs, cache) as runner:
        for seed in seeds:
            runner.submit(drawn_job(seed))
        for outcome in runner.as_completed():
            seen.add(outcome)
            watch(runner, seen)
    return seen


def _say(message: str) -> None:
    print(f"said: {message}", flush=True)


def cache_in(folder: Path | None, say: Say = _say) -> Cache | None:
    """The cache in a folder, none without one."""
    return None if folder is None else open_cache(folder, say)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.world_runs")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--levels", type=int, default=0, help="how many; 0: the quick ones")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--cache", type=Path)
    options = parser.parse_args()
    seeds = range(options.first, options.first + options.levels) if options.levels else QUICK_SEEDS
    workers: set[int] = set()
    try:
        with ProcessRunner(drawn_task, options.jobs, cache_in(options.cache)) as runner:
            for seed in seeds:
                runner.submit(drawn_job(seed))
            for outcome in runner.as_completed():
                print(outcome.job.level, outcome.state, digest(outcome), outcome.cached, flush=True)
                for worker in set(runner.at_work.values()) - workers:
                    workers.add(worker)
                    print("worker", worker, flush=True)
    except KeyboardInterrupt:
        return INTERRUPTED
    return 0


if __name__ == "__main__":
    sys.exit(main())
