"""Rule 5.2 for sets: in a zone of vx every input leads to a new speed between two affine bounds with clips.

A *table* (the ground's, or the air's for one takeoff class) lists zones ascending in v. A zone has one or more pieces
(down, up, least, most): from v the new speeds lie in [max(v + down, least), min(v + up, most)]. Zones share their end
values. Cutting the sum at `least` and `most` afterwards is exact, because from every v of the zone some new speed lies
between them.

A *takeoff class* is a maximal range of takeoff speeds in the same band of every takeoff list.
"""

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from reach.kernels import heap
from reach.kernels.params import Motion


class Zones(NamedTuple):
    """Tables by number: 0 the ground's, 1 + k the air's for class k. int64, spx per tick; records as in heap.py.

    `at[t]:at[t + 1]` are the zones of table t. `brake` is the strongest slowing on the ground.
    """

    at: np.ndarray
    zone: np.ndarray
    takeoff_class: np.ndarray
    brake: int


def takeoff_thresholds(motion: Motion) -> list[int]:
    """The union of all takeoff thresholds, ascending from 0."""
    lists = (motion.jump_from, motion.air_reverse_from_takeoff, motion.air_cap_from)
    return sorted({0, *(int(t) for a in lists for t in a)})


def _band(thresholds: np.ndarray, s: int) -> int:
    return max(i for i in range(len(thresholds)) if thresholds[i] <= s)


def _band2(first: np.ndarray, second: np.ndarray, s: int, t: int) -> int:
    return max(i for i in range(len(first)) if first[i] <= s and second[i] <= t)


Piece = tuple[int, int, int, int]


def _pruned(pieces: list[Piece]) -> list[Piece]:
    """Without pieces that another covers for every v."""
    kept: list[Piece] = []
    for p in sorted(set(pieces), key=lambda p: (-p[1], -p[3])):
        if not any(q[1] >= p[1] and q[3] >= p[3] and q[0] <= p[0] and q[2] <= p[2] for q in kept):
            kept.append(p)
    return kept


def _forward(v_low: int, v_high: int, accel: int, cap: int, slowing: tuple[int, int], top: int) -> Piece:
    """(down, up, least, most) of a zone of speeds to the right, with the rates of both ways of `slowing` down."""
    weakest, strongest = min(slowing), max(slowing)
    if v_high <= cap:
        return -strongest, accel, 0, cap
    if v_low >= cap + weakest:
        # above the cap pushing on slows down as well, so that turning round may be what keeps the most speed
        return -strongest, -weakest, 0, top
    return -strongest, 0, 0, cap


def _merged(zones: list[tuple[int, int, list[Piece]]]) -> list[tuple[int, int, list[Piece]]]:
    """With one zone instead of neighbours between which nothing changes."""
    kept: list[tuple[int, int, list[Piece]]] = []
    for low, high, pieces in zones:
        if kept and kept[-1][2] == pieces:
            kept[-1] = (kept[-1][0], high, pieces)
        else:
            kept.append((low, high, pieces))
    return kept


def _mirrored(zones: list[tuple[int, int, list[Piece]]]) -> list[tuple[int, int, list[Piece]]]:
    left = [(-hi, -lo, [(-up, -down, -most, -least) for down, up, least, most in ps]) for lo, hi, ps in reversed(zones)]
    return left + zones


def _zones(cuts: set[int], top: int) -> list[tuple[int, int]]:
    ends = sorted({c for c in cuts if 0 < c < top} | {0, top})
    return list(pairwise(ends)) or [(0, top)]


def make_zones(motion: Motion) -> Zones:
    """Build the tables of a compiled movement.

    Approximation: over (a value on a boundary belongs to both zones).
    """
    modes = [(motion.walk_accel, motion.walk_cap)]
    if motion.has_run:
        modes.append((motion.run_accel, motion.run_cap))
    top = max([c for _, c in modes] + [int(c) for c in motion.air_cap])
    slowing = (motion.coast, motion.reverse)
    ground = []
    for lo, hi in _zones({e for _, c in modes for e in (c, c + min(slowing))}, top):
        pieces = [_forward(lo, hi, a, c, slowing, top) for a, c in modes]
        ground.append((lo, hi, _pruned(pieces)))
    tables = [_mirrored(_merged(ground))]
    thresholds = [t for t in takeoff_thresholds(motion) if t <= top]
    for t in thresholds:
        cap = int(motion.air_cap[_band(motion.air_cap_from, t)])
        cuts = {int(f) for f in motion.air_accel_from} | {int(f) for f in motion.air_reverse_from_speed}
        cuts |= {cap} | {cap + min(motion.drag, int(reverse)) for reverse in motion.air_reverse}
        spans = _zones(cuts, top)
        if top in motion.air_reverse_from_speed:
            # a band that begins at the greatest speed there is
            spans.append((top, top))
        air = []
        for lo, hi in spans:
            accel = int(motion.air_accel[_band(motion.air_accel_from, lo)])
            reverse = int(
                motion.air_reverse[_band2(motion.air_reverse_from_speed, motion.air_reverse_from_takeoff, lo, t)]
            )
            air.append((lo, hi, [_forward(lo, hi, accel, cap, (motion.drag, reverse), top)]))
        tables.append(_mirrored(_merged(air)))
    flat = [z for table in tables for z in table]
    zone = np.zeros((len(flat), heap.ZONE_WIDTH), np.int64)
    for i, (lo, hi, pieces) in enumerate(flat):
        zone[i, :3] = lo, hi, len(pieces)
        for j, p in enumerate(pieces):
            zone[i, heap.Z_DOWN + 4 * j : heap.Z_DOWN + 4 * j + 4] = p
    highs = [t - 1 for t in thresholds[1:]] + [top]
    takeoff_class = np.array(
        [
            (t, high, motion.jump_launch[b], motion.jump_gravity_held[b], motion.jump_gravity[b])
            for t, high in zip(thresholds, highs, strict=True)
            for b in [_band(motion.jump_from, t)]
        ],
        np.int64,
    )
    return Zones(np.cumsum([0] + [len(table) for table in tables]).astype(np.int64), zone, takeoff_class, max(slowing))
