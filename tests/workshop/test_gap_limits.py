"""Limits of gaps against two judges from outside: an exhaustive search of single states by the second reading of the
model, and a general-purpose solver (z3, theory Ints of SMT-LIB) that answers about every script, to the last subpixel.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from reach.kernels.params import SOLID, Motion, State, Terrain
from reach.kernels.step import run_script
from reach.movement import load_movement
from reach.reachability.explore import Explorer
from reach.workshop.gap_limits import over_limits
from reach.workshop.gap_scripts import Flights
from tests.builders import make_motion, make_state, random_motion
from tests.checkout import ROOT
from tests.exhaustive import every_state
from tests.z3_script import Z3Script

LEDGE = 16
HEIGHTS = (9, 4, 1, 0, -1, -5, -12)


def two_ledges(motion: Motion, ledge: int, height: int, gap: int) -> tuple[Terrain, int]:
    """A world of tiles of 1 spx, and the row of the near ledge's top: all of it is solid below the tops."""
    over = max(0, height) + motion.body_h + 2
    rows, far = over + max(0, -height) + motion.body_h + motion.terminal + 2, ledge + gap
    material = np.zeros((rows, far + motion.body_w + 2), np.uint8)
    material[over:, :ledge] = SOLID
    material[over - height :, far:] = SOLID
    none = np.zeros(0, np.int64)
    return Terrain(1, material, np.zeros(material.shape, np.int64), none, none, none), over


def crosses(motion: Motion, ledge: int, height: int, gap: int, x: int = 0) -> bool | None:
    """Whether any state stands on the far ledge, by exhaustion from rest at x; None where there are too many."""
    terrain, top = two_ledges(motion, ledge, height, gap)
    if height > 0:
        x = max(0, min(x, ledge + gap - motion.body_w))  # clear of the far ledge's side
    start = make_state(x, top - motion.body_h, grounded=1)
    found = every_state(motion, terrain, start, limit=150_000)
    if any(row == top - height and column >= ledge + gap for column, row in found.tiles):
        return True
    return False if found.ended else None


QUICK = (5, 6, 8, 9, 15, 21, 25, 27, 29, 38)
"""Of random motions with every option, those of which all states are soon listed."""

SLOW = tuple(seed for seed in range(40) if seed not in QUICK)


@pytest.mark.parametrize(
    "seed", [*QUICK, *(pytest.param(seed, marks=pytest.mark.long) for seed in SLOW)], ids=lambda seed: f"seed{seed}"
)
def test_no_state_crosses_more_than_the_upper_bound_and_some_cross_the_lower_one(seed: int) -> None:
    motion = random_motion(np.random.default_rng(seed), 6)
    over = over_limits(motion, LEDGE, HEIGHTS)
    flights = Flights(motion, HEIGHTS)
    assert not over.why
    assert flights.step_up_spx <= over.step_up_spx
    for index, height in enumerate(HEIGHTS):
        most = over.gaps_spx[index]
        assert not crosses(motion, LEDGE, height, most + 1)
        assert not crosses(motion, LEDGE, height, most + 1, LEDGE - 1)
        crossing = flights.widest(index, LEDGE)
        if crossing is not None:
            assert crossing.gap_spx <= most
            x = LEDGE - crossing.ledge_spx
            assert crosses(motion, LEDGE, height, crossing.gap_spx, x) is not False
            assert not crosses(motion, LEDGE, height, most + 1, x)


def test_the_random_motions_have_every_option() -> None:
    motions = [random_motion(np.random.default_rng(seed), 6) for seed in QUICK]
    assert any(m.coyote_ticks for m in motions) and any(m.buffer_ticks for m in motions)
    assert any(m.run_cap > m.walk_cap for m in motions) and any(m.launch_tick_gravity for m in motions)
    assert any(m.cut_speed >= 0 for m in motions) and any(m.drag for m in motions)
    assert any((np.diff(m.jump_launch) < 0).any() for m in motions)
    assert any((m.jump_gravity_held > m.jump_gravity).any() for m in motions)
    assert any(m.air_cap.max() > max(m.walk_cap, m.run_cap) for m in motions)


def test_some_of_the_random_limits_are_exact_and_reached_beyond_standing() -> None:
    exact = 0
    for seed in QUICK:
        motion = random_motion(np.random.default_rng(seed), 6)
        over, flights = over_limits(motion, LEDGE, HEIGHTS), Flights(motion, HEIGHTS)
        for index, most in enumerate(over.gaps_spx):
            crossing = flights.widest(index, LEDGE)
            exact += crossing is not None and crossing.gap_spx == most > motion.body_w
    assert exact > 20


T = 16 * 65536
PLAIN = make_motion(
    body_w=12 * 65536,
    body_h=16 * 65536,
    walk_accel=40960,
    walk_cap=163840,
    coast=40960,
    reverse=81920,
    jump_launch=350000,
    jump_gravity_held=100000,
    jump_gravity=150000,
    terminal=900000,
    air_accel=20000,
    air_reverse=30000,
    air_cap=163840,
)


def as_wide_as(gap_tiles: int, motion: Motion, height: int, tile: int = T) -> Motion:
    """The motion with a body just so wide that the widest gap is whole tiles: every subpixel of width is one of gap."""
    over = over_limits(motion, 20 * tile, (height * tile,))
    crossing = Flights(motion, (height * tile,)).widest(0, 20 * tile)
    assert crossing is not None and crossing.gap_spx == over.gaps_spx[0]
    return motion._replace(body_w=motion.body_w + gap_tiles * tile - crossing.gap_spx)


@pytest.mark.parametrize(("height", "coyote", "launch"), [(0, 1, 350000), (1, 0, 450000), (-1, 0, 250000)])
def test_z3_finds_a_script_to_the_last_subpixel_and_none_beyond(height: int, coyote: int, launch: int) -> None:
    fits = as_wide_as(2, PLAIN._replace(coyote_ticks=coyote, jump_launch=np.array([launch])), height)
    flights = Flights(fits, (height * T,))
    crossing = flights.widest(0, 2 * T)
    assert crossing is not None and crossing.gap_spx == 2 * T
    rows = ["......", "......", "......", "##....", "##...."]
    far = 3 - height
    rows = [line[:4] + "##" if row >= far else line for row, line in enumerate(rows)]
    # a body that is narrower by a subpixel is farther away by one
    for motion, works in ((fits, True), (fits._replace(body_w=fits.body_w - 1), False)):
        start = (2 * T - crossing.ledge_spx, 3 * T - motion.body_h)
        script = Z3Script(motion, rows, T, start, len(crossing.inputs) + 1)
        assert (script.find(script.standing_on(4, far)) is not None) == works


EVERYTHING = {"coyote_ticks": 5, "buffer_ticks": 4, "launch_tick_gravity": 1, "cut_speed": 90000, "drag": 500}
SLOW_JUMPS_HIGHER = {"jump_launch": np.array([250000, 240000, 200000])}
SAMPLES = [
    ("lamplighter", 4, {}),
    ("lamplighter", 0, {}),
    ("lamplighter", -2, EVERYTHING),
    ("lamplighter", 0, EVERYTHING | SLOW_JUMPS_HIGHER),
    ("courier", 0, {}),
    ("courier", -8, {"has_run": 1, "run_accel": 9000, "run_cap": 190000}),
    ("ferryman", 2, {}),
]


@pytest.mark.parametrize(("name", "height", "changes"), SAMPLES)
def test_the_product_reaches_a_far_ledge_to_the_last_subpixel_and_not_beyond(
    name: str, height: int, changes: dict[str, Any]
) -> None:
    """A body that is wider by a subpixel crosses a gap that is wider by one."""
    motion = load_movement(ROOT / f"sample_levels/movement/{name}.json").motion._replace(**changes)
    (most,) = over_limits(motion, 20 * T, (height * T,)).gaps_spx
    crossing = Flights(motion, (height * T,)).widest(0, 20 * T)
    assert crossing is not None
    assert crossing.gap_spx == most or changes.get("jump_launch") is not None
    tiles = -(-most // T)
    wide = motion._replace(body_w=motion.body_w + tiles * T - crossing.gap_spx)
    narrow = motion._replace(body_w=motion.body_w + tiles * T - 1 - most)
    top, far = 10 + max(0, height), 20 + tiles
    material = np.zeros((top + max(0, -height) + 4, far + 20), np.uint8)
    material[top:, :20] = SOLID
    material[top - height :, far:] = SOLID
    none = np.zeros(0, np.int64)
    terrain = Terrain(T, material, np.zeros(material.shape, np.int64), none, none, none)
    for each, works in ((wide, True), (narrow, False)):
        seen = Explorer(each, terrain).explore(make_state(0, top * T - each.body_h, grounded=1))
        assert seen.complete
        assert seen.carried[top - height, far:].any() == works
    start = make_state(20 * T - crossing.ledge_spx, top * T - wide.body_h, grounded=1)
    landed = State(*run_script(start, crossing.inputs, wide, terrain)[-1].tolist())
    assert landed.grounded and landed.y + wide.body_h == (top - height) * T
    assert landed.x + wide.body_w - 1 == far * T


def test_a_limit_of_time_leaves_no_figure() -> None:
    limited = over_limits(PLAIN, 20 * T, (0,), deadline=0.0)
    assert limited.gaps_spx == () and limited.why == "time limit"


def test_a_world_that_turns_out_too_narrow_is_widened(monkeypatch: pytest.MonkeyPatch) -> None:
    known = over_limits(PLAIN, 20 * T, (0, -T))
    monkeypatch.setattr("reach.workshop.gap_limits._farthest_flight", lambda motion, depth: T)
    assert over_limits(PLAIN, 2 * T, (0, -T)) == known


def test_the_void_begins_below_the_fastest_landing_on_the_lowest_ledge() -> None:
    motion = make_motion(
        body_w=4,
        body_h=1,
        walk_accel=4,
        walk_cap=4,
        jump_launch=10,
        jump_gravity_held=10,
        jump_gravity=10,
        terminal=100,
        air_accel=4,
        air_cap=4,
    )
    crossing = Flights(motion, (-210,)).widest(0, LEDGE)
    assert crossing is not None
    assert over_limits(motion, LEDGE, (-210,)).gaps_spx == (crossing.gap_spx,)
    x = LEDGE - crossing.ledge_spx
    assert crosses(motion, LEDGE, -210, crossing.gap_spx, x)
    assert not crosses(motion, LEDGE, -210, crossing.gap_spx + 1, x)


def test_no_landing_is_higher_than_the_highest_jump() -> None:
    """The launch is three and a half times the gravity: 350000 + 250000 + 150000 + 50000 up."""
    over = over_limits(PLAIN, 20 * T, (800000, 800001))
    assert over.step_up_spx == 800000
    assert over.gaps_spx[0] > 0 and over.gaps_spx[1] == -1


def test_the_far_ledges_side_may_help_who_has_coyote_time() -> None:
    """Walking off fast, being stopped by the far ledge's side, and jumping up along it: only who is slow jumps high.

    Three ticks at 8 take the body 24 beyond the last spot, where its right edge comes to 26, and 6 down. From there a
    launch of 7 leads 16 up, 10 above the near ledge: a gap of 25 keeps one subpixel to go.
    """
    motion = make_motion(
        body_w=3,
        body_h=5,
        walk_accel=2,
        walk_cap=8,
        coast=2,
        reverse=2,
        jump_from=[0, 2],
        jump_launch=[7, 0],
        jump_gravity_held=[2, 2],
        jump_gravity=[2, 2],
        terminal=12,
        air_accel=1,
        air_reverse=1,
        air_cap=1,
        coyote_ticks=3,
    )
    height = 10
    most = max(gap for gap in range(40) if crosses(motion, LEDGE, height, gap))
    alone = Flights(motion, (height,)).widest(0, LEDGE)
    assert alone is not None and alone.takeoff_spx_per_tick == 0
    (over,) = over_limits(motion, LEDGE, (height,)).gaps_spx
    assert alone.gap_spx + 9 < most == over == 25


@pytest.mark.parametrize("tick", [0, 1, 2])
def test_what_a_body_gets_to_is_read_off_the_tick_that_passes_the_top(tick: int) -> None:
    """A jump of 350000 falls to the ground in its eighth tick; each tick of terminal fall is one more at full speed."""
    motion = PLAIN._replace(terminal=500000, jump_gravity=np.array([100000]))
    fallen = 350000 * 8 - 100000 * 28
    assert fallen == 0
    # 450000 in the ninth, and 500000 in every tick after it
    height = -(450000 + 500000 * tick)
    at, beyond = over_limits(motion, 20 * T, (height, height - 1)).gaps_spx
    assert at == (10 + tick) * 163840 + motion.body_w - 2
    assert beyond == at
    (above,) = over_limits(motion, 20 * T, (height + 1,)).gaps_spx
    assert above == at - 163840
