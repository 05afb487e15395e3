"""The zones' bounds of new speeds against rule 5.2 of the scalar tick, over all its inputs."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from numba import njit

from reach.kernels import heap
from reach.kernels.params import Motion
from reach.kernels.step import air_speed, ground_speed
from reach.kernels.zones import Zones, make_zones, takeoff_thresholds
from reach.movement import movement_from_dict
from tests.builders import PX, make_motion, random_motion
from tests.random_levels import generate

pytestmark = pytest.mark.small

AIRBORNE = -1


@njit
def rule_bounds(speeds, takeoff, motion):
    """Least and greatest new speed over all inputs, int64 [speeds, 2]; takeoff AIRBORNE - 1 or less: on the ground."""
    bounds = np.empty((speeds.shape[0], 2), np.int64)
    for i in range(speeds.shape[0]):
        low = 1 << 60
        high = -low
        for direction in (-1, 0, 1):
            if takeoff >= 0:
                new = air_speed(speeds[i], direction, takeoff, motion)
                low = min(low, new)
                high = max(high, new)
                continue
            for running in (False, True):
                if running and motion.has_run == 0:
                    continue
                new = ground_speed(speeds[i], direction, running, motion)
                low = min(low, new)
                high = max(high, new)
        bounds[i, 0] = low
        bounds[i, 1] = high
    return bounds


def table_of(zones: Zones, number: int) -> list[list[int]]:
    return zones.zone[zones.at[number] : zones.at[number + 1]].tolist()


def tried_speeds(zone: list[int], dice: np.random.Generator) -> np.ndarray:
    """Every speed that matters in a zone: its ends, the next ones inside, where a piece is cut, and random ones."""
    low, high = zone[: heap.Z_PIECES]
    tried = {low, low + 1, high - 1, high, *dice.integers(low, high + 1, 4).tolist()}
    for piece in range(zone[heap.Z_PIECES]):
        down, up, least, most = zone[heap.Z_DOWN + 4 * piece : heap.Z_DOWN + 4 * piece + 4]
        tried |= {end + d for end in (least - down, most - up) for d in (-1, 0, 1)}
    return np.array(sorted(v for v in tried if low <= v <= high), np.int64)


def zone_bounds(zone: list[int], v: int) -> tuple[int, int]:
    """The least and greatest new speed that a zone gives; its pieces leave no whole number between out."""
    spans = []
    for piece in range(zone[heap.Z_PIECES]):
        down, up, least, most = zone[heap.Z_DOWN + 4 * piece : heap.Z_DOWN + 4 * piece + 4]
        low, high = max(v + down, least), min(v + up, most)
        assert low <= high, "no new speed between the cuts"
        spans.append((low, high))
    spans.sort()
    assert all(a[1] + 1 >= b[0] for a, b in itertools.pairwise(spans))
    return spans[0][0], max(span[1] for span in spans)


def check_table(table: list[list[int]], takeoff: int, top: int, motion: Motion, dice: np.random.Generator) -> int:
    """Compare a table with the rule; returns how many speeds were compared."""
    assert table[0][heap.Z_LOW] == -top and table[-1][heap.Z_HIGH] == top
    assert all(a[heap.Z_HIGH] == b[heap.Z_LOW] for a, b in itertools.pairwise(table)), "zones share their ends"
    assert any(zone[heap.Z_LOW] == 0 for zone in table), "cut at 0"
    compared = 0
    for zone in table:
        low, high = zone[: heap.Z_PIECES]
        assert low < high or abs(low) == top, "only the greatest speed may be a band of its own"
        speeds = tried_speeds(zone, dice)
        for v, (least, most) in zip(speeds.tolist(), rule_bounds(speeds, takeoff, motion).tolist(), strict=True):
            # of what can become of 0, each zone has its own side
            if v == 0:
                least, most = (0, most) if low == 0 else (least, 0)
            # bands begin at their threshold: the end that is farther from 0 has its bounds in the next zone
            far = max(abs(low), abs(high))
            if abs(v) < far or low == high or (far == top and top not in motion.air_reverse_from_speed):
                assert zone_bounds(zone, v) == (least, most), (zone, v, takeoff, motion)
                compared += 1
    return compared


def check_motion(motion: Motion, dice: np.random.Generator) -> int:
    zones = make_zones(motion)
    top = max(motion.walk_cap, motion.run_cap, int(motion.air_cap.max()))
    compared = check_table(table_of(zones, 0), AIRBORNE, top, motion, dice)
    for number, (low, high, *_) in enumerate(zones.takeoff_class.tolist()):
        for takeoff in {low, high, int(dice.integers(low, high + 1))}:
            compared += check_table(table_of(zones, 1 + number), takeoff, top, motion, dice)
    return compared


def test_bounds_of_random_motions() -> None:
    dice = np.random.default_rng(20)
    compared = 0
    for tile in (8, 16, 40, 4096):
        compared += sum(check_motion(random_motion(dice, tile), dice) for _ in range(120))
    assert compared > 50_000


def test_bounds_of_random_profiles() -> None:
    dice = np.random.default_rng(21)
    compared = sum(check_motion(movement_from_dict(generate(seed)[1]).motion, dice) for seed in range(60))
    assert compared > 5_000


@pytest.mark.parametrize(
    ("coast", "reverse"),
    [(1, 4), (4, 1), (3, 3)],
    ids=["coasting keeps most", "turning round keeps most", "both keep as much"],
)
def test_over_the_cap_the_weakest_slowing_bounds_what_is_left(coast: int, reverse: int) -> None:
    motion = make_motion(
        walk_cap=10,
        coast=coast,
        reverse=reverse,
        drag=coast,
        air_reverse=reverse,
        air_cap_from=[0, 11],
        air_cap=[12, 40],
    )
    check_motion(motion, np.random.default_rng(1))
    zones = make_zones(motion)
    for number in (0, 1):
        zone = next(z for z in table_of(zones, number) if z[heap.Z_LOW] <= 30 < z[heap.Z_HIGH])
        assert zone_bounds(zone, 30) == (30 - max(coast, reverse), 30 - min(coast, reverse))


def test_a_band_may_begin_at_the_greatest_speed() -> None:
    motion = make_motion(
        walk_cap=10, air_cap=10, air_reverse_from_speed=[0, 10], air_reverse_from_takeoff=[0, 0], air_reverse=[2, 7]
    )
    check_motion(motion, np.random.default_rng(1))
    found = [zone_bounds(zone, 10) for zone in table_of(make_zones(motion), 1) if zone[heap.Z_HIGH] == 10]
    assert found == [(8, 10), (3, 10)]


def test_the_run_counts_only_where_the_profile_has_one() -> None:
    walking = make_motion(walk_accel=2, walk_cap=10, air_cap=[10])
    assert walking.has_run == 0
    assert max(zone[heap.Z_HIGH] for zone in table_of(make_zones(walking), 0)) == 10


@pytest.mark.parametrize("seed", range(40))
def test_takeoff_classes_are_the_bands_of_every_list(seed: int) -> None:
    dice = np.random.default_rng(seed)
    motion = random_motion(dice, 40)
    top = max(motion.walk_cap, motion.run_cap, int(motion.air_cap.max()))
    classes = make_zones(motion).takeoff_class
    assert classes[0, heap.C_LOW] == 0 and classes[-1, heap.C_HIGH] == top
    assert (classes[1:, heap.C_LOW] == classes[:-1, heap.C_HIGH] + 1).all(), "each whole speed is in one class"
    inner = {
        int(t)
        for one in (motion.jump_from, motion.air_cap_from, motion.air_reverse_from_takeoff)
        for t in one
        if 0 < t <= top
    }
    assert set(classes[1:, heap.C_LOW].tolist()) == inner
    assert takeoff_thresholds(motion)[: len(classes)] == classes[:, heap.C_LOW].tolist()
    for low, high, launch, held, released in classes.tolist():
        for speed in (low, high):
            band = int(np.searchsorted(motion.jump_from, speed, side="right")) - 1
            jump = (motion.jump_launch[band], motion.jump_gravity_held[band], motion.jump_gravity[band])
            assert jump == (launch, held, released)


def test_the_brake_is_the_strongest_slowing() -> None:
    assert make_zones(make_motion(coast=3 * PX, reverse=PX)).brake == 3 * PX
    assert make_zones(make_motion(coast=PX, reverse=2 * PX)).brake == 2 * PX
