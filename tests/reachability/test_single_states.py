"""A search of all single states proves that a place is out of reach only where it kept all that it found."""

from __future__ import annotations

import json

import pytest

from reach.checker import prove
from reach.level import level_from_dict
from reach.movement import movement_from_dict
from reach.verdicts import Verdict
from tests.checkout import ROOT


@pytest.mark.parametrize(("rows", "expected"), [(30, Verdict.REACHABLE), (78, Verdict.UNDECIDED)])
def test_a_fall_longer_than_any_script_is_no_proof(rows: int, expected: Verdict) -> None:
    """At 1/32 px a tick, 78 rows of 16 px take more ticks than the search can write down for a script."""
    movement = json.loads((ROOT / "sample_levels/movement/ferryman.json").read_text())
    movement["body"] = {"width_px": 16, "height_px": 16}
    movement["fall"]["terminal_speed"] = 0.03125
    level = {"format": "reach-level/1", "name": "Shaft", "tile_px": 16, "rows": ["@", *["."] * rows, "!", "#"]}
    proof = prove(level_from_dict(level), movement_from_dict(movement), "goal-1")
    assert proof.verdict is expected
    if expected is Verdict.REACHABLE:
        assert proof.script is not None
