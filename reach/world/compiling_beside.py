"""A second process that compiles kernels while the first is busy compiling others: the first run takes half as long.

While a check compiles the kernels of its exploration, the second process compiles those of all that follows, the search
for scripts and the measuring of moves. It does just that on the warm-up's tiny levels, as if time had been up before
their exploration began, so it comes to call the same kernels with the same types. What it compiles it keeps, as
everybody does, and the first process finds it when it comes so far, or waits for it. Whatever may go wrong with the
second process, the first one then compiles all by itself.
"""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator

from reach.compiler.kernel_cache import when_compiling

PROGRAM = "import sys; sys.path[:] = sys.argv[1:]; from reach.world.compiling_beside import work; work()"


@contextlib.contextmanager
def compiling_beside() -> Iterator[None]:
    """Within it, a second process helps as soon as a kernel of a check has to be compiled; it ends at the end.

    There is none where only one processor can be used.
    """
    with contextlib.ExitStack() as running:

        def begin() -> None:
            from reach.world.process_runner import usable_cores

            if sys.executable and usable_cores() > 1:
                with contextlib.suppress(OSError, ValueError):
                    process = running.enter_context(_process())
                    running.callback(process.kill)

        with when_compiling(begin):
            yield


def _process() -> subprocess.Popen[bytes]:
    """Start the second process: it says nothing, and hears of the end of this one by the end of its input."""
    return subprocess.Popen(
        [sys.executable, *(["-I"] if sys.flags.isolated else []), "-c", PROGRAM, *sys.path],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def work() -> None:
    """Be the second process."""
    threading.Thread(target=_end_with_input, daemon=True).start()
    compile_what_follows()


def _end_with_input() -> None:
    """Wait for the end of the process that started this one, however it comes, and end at once as well."""
    with contextlib.suppress(OSError):
        os.read(0, 1)
    os.kill(os.getpid(), signal.SIGTERM)


def compile_what_follows() -> None:
    """Load all kernels but those of an exploration into this process; those that are not kept are compiled."""
    from reach.measures import cures, measure
    from reach.options import CheckOptions
    from reach.proofs import search
    from reach.reachability.problem import pose
    from reach.world.warm_up import tiny_checks

    for level, movement in tiny_checks():
        problem = pose(level, movement, CheckOptions(), None)
        seen = problem.explorer.explore(problem.start, deadline=time.monotonic())
        proofs = search(problem, seen)
        measures = measure(problem, seen, proofs.passages)
        cures(problem, measures, range(len(measures.moves)))
