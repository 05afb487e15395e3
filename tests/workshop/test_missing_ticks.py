"""Buttons for missing ticks: found where some explain what follows; all are tried before a difference is proved."""

import numpy as np
import pytest

from reach.movement import load_movement
from reach.workshop.flat_ground import at_rest, flat_ground, play_flat
from reach.workshop.missing_ticks import Rows, fill_missing
from tests.builders import PX, inputs
from tests.checkout import ROOT
from tests.workshop.recorded import EVERYTHING

MOTION = load_movement(ROOT / "sample_levels" / "movement" / "lamplighter.json").motion
ALL = ("left", "right", "down", "run", "jump")
TAP = inputs((5, ""), (20, "r"), (1, "rj"), (40, "r"))


def rows_of(script, missing, rounding_spx=1):
    path = play_flat(MOTION, script)[:, :2]
    shift = np.floor_divide(path - path[0] + rounding_spx // 2, rounding_spx) * rounding_spx
    kept = np.array([tick for tick in range(len(path)) if tick not in missing])
    pressed = np.concatenate([np.zeros((1, 4), np.int64), script])
    return Rows(kept, shift[kept].astype(float), pressed[kept], ALL)


def filled(rows, rounding_spx=1):
    allowance = (rounding_spx / 2 if rounding_spx > 1 else 0.0, 0.0)
    return fill_missing(rows, at_rest(MOTION), MOTION, flat_ground(), allowance)


def explains(rows, found, rounding_spx=1):
    path = play_flat(MOTION, found.inputs)[:, :2]
    off = rows.shift_spx - (path - path[0])[rows.at]
    return bool(np.abs(off).max() < rounding_spx)


def test_without_gaps_the_buttons_are_the_rows_own():
    found = filled(rows_of(TAP, ()))
    assert np.array_equal(found.inputs, TAP)
    assert found.is_exhaustive


@pytest.mark.parametrize("rounding_spx", [1, PX])
@pytest.mark.parametrize("missing", [(26,), (25, 26), (5, 6), (30, 31, 32, 40)], ids=str)
def test_buttons_that_explain_the_rows_after_are_found(missing, rounding_spx):
    # tick 26 is the only one with jump down: no row before or after says so
    rows = rows_of(TAP, missing, rounding_spx)
    assert explains(rows, filled(rows, rounding_spx), rounding_spx)


@pytest.mark.parametrize("seed", range(4))
def test_many_gaps_of_play_with_everything_are_gone_past(seed):
    dice = np.random.default_rng(seed)
    missing = set((1 + dice.choice(len(EVERYTHING) - 2, 30, replace=False)).tolist())
    rows = rows_of(EVERYTHING, missing)
    assert explains(rows, filled(rows))


def test_a_change_anywhere_in_a_long_gap_is_found():
    script = inputs((5, ""), (30, "r"), (40, ""))
    rows = rows_of(script, range(20, 50))
    found = filled(rows)
    assert explains(rows, found)
    assert np.array_equal(found.inputs, script)


@pytest.mark.parametrize(("missing", "exhaustive"), [((20,), True), ((20, 21), True), ((20, 21, 22), False)])
def test_only_short_gaps_prove_a_difference(missing, exhaustive):
    rows = rows_of(TAP, missing)
    rows.shift_spx[-20:] += 3
    found = filled(rows)
    assert found.is_exhaustive == exhaustive
    assert not explains(rows, found)


def test_a_button_without_a_column_is_not_pressed():
    rows = rows_of(TAP, (26,))
    found = filled(rows._replace(buttons=("left", "right")))
    assert not found.inputs[:, 3].any()
    assert found.is_exhaustive
