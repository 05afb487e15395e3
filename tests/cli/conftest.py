"""A quay to play on, its movement, and a way to run `reach` inside the test."""

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from reach.__main__ import main
from reach.script import Script, Step
from tests.made_reports import ATTIC, LAMP, START, make_report

LEVEL = {
    "format": "reach-level/1",
    "name": "Quay",
    "tile_px": 16,
    "rows": ["........", "........", "........", ".@....!.", "########"],
}
MOVEMENT = {
    "format": "reach-movement/1",
    "name": "stroller",
    "units": "per_second",
    "tick_rate_hz": 50,
    "body": {"width_px": 10, "height_px": 20},
    "ground": {
        "walk": {"acceleration": 250, "top_speed": 100},
        "coast_deceleration": 250,
        "reverse_deceleration": 500,
    },
    "jump": {"bands": [{"from_takeoff_speed": 0, "launch_speed": 200, "gravity_held": 500, "gravity": 1000}]},
    "fall": {"terminal_speed": 250},
    "air": {"acceleration": 200, "reverse_deceleration": 200, "top_speed": 100},
}
WALK = Script("Quay", "stroller", "start-1", (Step(12, ("right",)), Step(3, ())))


@dataclass
class Ran:
    """What a run of `reach` did."""

    code: int
    out: str
    err: str


@pytest.fixture
def run(capsys, monkeypatch, tmp_path):
    """A function that runs `reach` with the words given, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("REACH_DEBUG", raising=False)

    def run_reach(*words: str) -> Ran:
        code = main(list(words))
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return run_reach


@pytest.fixture
def quay(tmp_path) -> list[str]:
    """The words that name a level and its movement."""
    (tmp_path / "quay.json").write_text(json.dumps(LEVEL), encoding="utf-8")
    (tmp_path / "stroller.json").write_text(json.dumps(MOVEMENT), encoding="utf-8")
    return ["quay.json", "-m", "stroller.json"]


@dataclass
class Checker:
    """Stands in for the checker: keeps what it was called with, and answers with `report`."""

    report: Any = field(default_factory=lambda: make_report(scripts={"start-1": WALK, "lamp": WALK}))
    calls: list[tuple[Any, ...]] = field(default_factory=list)

    def check(self, level, movement, options, progress, memory=None):
        """Answer as `reach.checker.check` does."""
        self.calls.append((level, movement, options))
        progress("exploring", None)
        progress("proving", 0.5)
        return self.report


@pytest.fixture
def checker(monkeypatch) -> Checker:
    """The checker replaced by one that answers at once."""
    stand_in = Checker()
    monkeypatch.setattr("reach.checker.check", stand_in.check)
    return stand_in


@pytest.fixture
def places():
    """The places of the made report."""
    return START, LAMP, ATTIC


@pytest.fixture
def here(tmp_path) -> Path:
    """The folder in which `reach` runs."""
    return tmp_path


class Clock:
    """Stands in for the module `time`: whoever sleeps sees one more of the things happen that are to happen."""

    def __init__(self):
        self.now = 1000.0
        self._waiting = []

    def then(self, *happenings):
        """Let these happen at the next sleeps, one at each; None is nothing."""
        self._waiting += happenings

    @property
    def done(self):
        """Whether all has happened."""
        return not self._waiting

    def sleep(self, seconds):
        self.now += seconds
        if self._waiting:
            happening = self._waiting.pop(0)
            if happening is not None:
                happening()
        elif self.now > 1100:
            raise AssertionError("nothing more happens, and it is still waited for")

    def monotonic(self):
        return self.now

    def perf_counter(self):
        return self.now

    def time(self):
        import time

        return time.time()
