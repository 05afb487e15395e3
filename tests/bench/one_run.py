"""Measures one case in a process of its own, so that its peak of memory is its own: `python -m tests.bench.one_run`.

What is asked comes as JSON on standard input, what was found goes out as JSON.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

from reach import checker
from reach.level import Level, compile_terrain
from reach.movement import Movement
from reach.options import CheckOptions
from reach.reachability.explore import Explorer
from reach.reachability.problem import Problem
from reach.report import json_report
from reach.report.png_overlay import draw_overlay, save_image
from reach.simulator import start_state
from tests.bench.levels import Case, read_case
from tests.checkout import ROOT

EXPLORATION = "exploration"
DRAWING = "drawing"
REST = "graph, report"
PARTS: tuple[tuple[Any, str, str], ...] = (
    (Problem, "explore", EXPLORATION),
    (checker, "search", "scripts"),
    (checker, "measure", "plans, windows"),
    (checker, "cures", "plans, windows"),
    (checker, "find_outlooks", "stuck, barriers"),
    (checker, "first_barriers", "stuck, barriers"),
)
"""The functions that a check calls, and the part of its time that each counts to; the others are the rest."""
COLUMNS = (EXPLORATION, "scripts", "plans, windows", "stuck, barriers", REST, DRAWING)


class Parts:
    """How the processor time of one check divides; what a function's own callees take is its own."""

    def __init__(self) -> None:
        self.taken = dict.fromkeys(COLUMNS, 0.0)
        self._inside = False

    def counted(self, function: Callable[..., Any], part: str) -> Callable[..., Any]:
        """The function, which counts to a part wherever no other that counts called it."""

        def call(*values: Any, **named: Any) -> Any:
            if self._inside:
                return function(*values, **named)
            self._inside = True
            began = time.process_time()
            try:
                return function(*values, **named)
            finally:
                self.taken[part] += time.process_time() - began
                self._inside = False

        return call

    @contextmanager
    def watching(self) -> Iterator[None]:
        """Within it the parts of checks count."""
        with ExitStack() as stack:
            for owner, name, part in PARTS:
                stack.enter_context(patch.object(owner, name, self.counted(getattr(owner, name), part)))
            yield


def measure_exploration(level: Level, movement: Movement, runs: int) -> dict[str, Any]:
    """Explorations from the start, each with an Explorer of its own."""
    terrain = compile_terrain(level, movement)
    start = start_state(level, movement, level.start.id)
    Explorer(movement.motion, terrain).explore(start, deadline=time.monotonic() + 0.01)
    values, waited = [], []
    for _ in range(runs):
        began, at = time.process_time(), time.perf_counter()
        found = Explorer(movement.motion, terrain).explore(start)
        values.append(time.process_time() - began)
        waited.append(time.perf_counter() - at)
    return {
        "seconds": values,
        "waited_s": waited,
        "footholds": len(found.footholds),
        "landed": int(found.landed.sum()),
        "polygon_ticks": found.polygon_ticks,
    }


def measure_check(level: Level, movement: Movement, runs: int) -> dict[str, Any]:
    """Whole checks with their reports and pictures, divided into parts."""
    checker.check(level, movement, CheckOptions(time_limit_s=2))
    found: dict[str, list[float]] = {name: [] for name in COLUMNS}
    for _ in range(runs):
        parts = Parts()
        began = time.process_time()
        with parts.watching():
            report = checker.check(level, movement)
        json_report.dump(report)
        checked = time.process_time()
        with tempfile.TemporaryDirectory() as folder:
            save_image(draw_overlay(level, report), Path(folder) / "picture.png")
        parts.taken[DRAWING] = time.process_time() - checked
        parts.taken[REST] = checked - began - sum(parts.taken.values()) + parts.taken[DRAWING]
        for name in COLUMNS:
            found[name].append(parts.taken[name])
    return {"parts": found}


MEASURES = {"exploration": measure_exploration, "check": measure_check}


def run_alone(what: str, case: Case, runs: int) -> dict[str, Any]:
    """Measure a case in a new process; also says `peak_mib`, the most memory that it held."""
    asked = json.dumps({"what": what, "case": vars(case), "runs": runs})
    command = [sys.executable, "-m", "tests.bench.one_run"]
    ran = subprocess.run(command, input=asked, capture_output=True, text=True, cwd=ROOT, check=False)
    if ran.returncode:
        raise RuntimeError(f"{case}: {ran.stderr}")
    found: dict[str, Any] = json.loads(ran.stdout)
    return found


def main() -> int:
    """Measure what standard input asks for."""
    asked = json.load(sys.stdin)
    level, movement = read_case(Case(**asked["case"]))
    found = MEASURES[asked["what"]](level, movement, asked["runs"])
    json.dump(found | {"peak_mib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
