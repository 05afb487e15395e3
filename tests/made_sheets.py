"""Movement sheets for tests of what is written and drawn: the samples', each measured once."""

from __future__ import annotations

from functools import cache

from reach.movement import load_movement
from reach.workshop.sheet import MovementSheet, SheetOptions, make_sheet
from tests.checkout import ROOT


@cache
def sample_sheet(name: str, tile_px: int = 16) -> MovementSheet:
    """The sheet of a sample profile."""
    return make_sheet(load_movement(ROOT / f"sample_levels/movement/{name}.json"), SheetOptions(tile_px))
