"""Every mistake that is planted in the exploration is noticed, and nothing is where there is none."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from tests.checkout import ROOT
from tests.planted_bugs import BUGS, HARMLESS


@pytest.fixture(scope="module")
def noticed() -> dict[str, bool]:
    """Runs in a process of its own, because without the compiler every module must be loaded anew."""
    ran = subprocess.run(
        [sys.executable, "-W", "ignore", "-m", "tests.planted_bugs"],
        cwd=ROOT,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    found = json.loads(ran.stdout)
    assert isinstance(found, dict)
    return found


def test_nothing_is_noticed_where_nothing_is_planted(noticed: dict[str, bool]) -> None:
    assert noticed[""] is False
    assert not any(noticed[one.name] for one in HARMLESS)


@pytest.mark.parametrize("name", [one.name for one in BUGS])
def test_a_planted_bug_is_noticed(noticed: dict[str, bool], name: str) -> None:
    assert noticed[name]


def test_bugs_have_names_of_their_own(noticed: dict[str, bool]) -> None:
    assert len(noticed) == len(BUGS) + len(HARMLESS) + 1
