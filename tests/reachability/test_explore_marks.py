"""What an exploration marks: moves with their flags, places, losses, where the body can be, nearest misses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from reach.findings import MoveKind
from reach.kernels.params import SOLID, State
from reach.reachability.aims import find_aims
from reach.reachability.result import Exploration, NearestMiss
from tests.builders import PX, make_motion, make_state, make_terrain, standing
from tests.exhaustive import every_state
from tests.explorations import explored
from tests.micro_maps import MICRO_MAPS, MicroMap, Scene, body


def moves(seen: Exploration) -> dict[tuple[int, int, MoveKind], tuple[set[bool], bool, int]]:
    """By source, target and kind: from rest or not, or both; whether some comes to rest; the least ticks."""
    found: dict[tuple[int, int, MoveKind], tuple[set[bool], bool, int]] = {}
    for move in seen.moves:
        key = (move.source, move.target, move.kind)
        ways, rests, ticks = found.get(key, (set(), False, move.air_ticks))
        found[key] = (ways | {move.from_rest}, rests or move.comes_to_rest, min(ticks, move.air_ticks))
    return found


def pillar() -> Scene:
    """Two gaps of 64 spots with a pillar of 17 between, and a jump of six ticks (8n - 2n(n-1) < 0 at n = 6).

    The air only slows down, by 1. From rest the pillar's run-up ends at 5, six ticks of which are 36. At 12 one crosses
    a gap, and with 12 + 12 + 12 + 11 + 10 + 9 lands on the pillar with 9, too fast to stop in 16. The next jump still
    has what it takes.
    """
    motion = body(
        body_w=2, walk_cap=12, air_cap=1, jump_launch=8, jump_gravity_held=4, jump_gravity=4, air_accel=1, air_reverse=1
    )
    rows = ["." * 17] * 3 + ["#####....#....###"]
    terrain = make_terrain(rows, tile=16, places=[(14, 2, 0), (0, 2, 0)])
    return Scene(motion, terrain, standing(0, 2, motion, terrain), (14, 3))


@pytest.mark.small
def test_moves_say_whether_they_need_speed_brought_in_and_whether_one_comes_to_rest() -> None:
    seen = explored(pillar())
    assert moves(seen) == {
        (0, 1, MoveKind.JUMP): ({True}, False, 6),
        (1, 0, MoveKind.JUMP): ({False}, True, 6),
        (1, 2, MoveKind.JUMP): ({False}, True, 6),
        (2, 1, MoveKind.JUMP): ({True}, False, 6),
    }
    assert seen.landed.tolist() == [True, True, True]
    assert seen.rested.tolist() == [True, False, True]


@pytest.mark.small
@pytest.mark.parametrize("wall", [True, False])
def test_too_fast_to_stop_one_comes_to_rest_at_a_wall_but_not_at_an_edge(wall: bool) -> None:
    """Onto the pillar with 9 and its 16 spots; from there only a wall beyond it makes a way back from rest."""
    scene = pillar()
    if wall:
        scene.terrain.material[2, 10] = SOLID
    for each in (scene, scene.mirrored()):
        seen = explored(each)
        (on,) = (f for f in seen.footholds if f.row == 3 and f.columns[0] in (7, 9) and f.columns[0] == f.columns[1])
        found = every_state(each.motion, each.terrain, each.start)
        x, y, vx, grounded = (found.states[:, State._fields.index(name)] for name in ("x", "y", "vx", "grounded"))
        over = (on.left_spx <= x) & (x <= on.right_spx) & (y == 32)
        assert found.ended and bool((over & (vx == 0) & (grounded != 0)).any()) == wall
        assert seen.landed[on.index] and seen.rested[on.index] == wall
        assert any(move.comes_to_rest for move in seen.moves if move.target == on.index) == wall


@pytest.mark.small
def test_places_are_touched_from_rest_or_only_with_speed_brought_in() -> None:
    """The far place is in the way of those who land beside it; the start's own is touched before the first move."""
    touches = explored(pillar()).place_moves
    assert {way for way in touches if way[1] == 0} >= {(1, 0, False), (2, 0, True)}
    assert (1, 0, True) not in touches and not any(source == 0 for source, place, _ in touches if place == 0)
    assert (-1, 1, True) in touches and (0, 1, True) in touches
    assert touches == tuple(sorted(touches))


@pytest.mark.small
def test_walking_off_dropping_and_jumping_down_take_their_ticks() -> None:
    """Falling by 4, 8, 12 and so on: 16 down in three ticks, 48 less one in five; a jump of no speed adds a tick."""
    motion = body(body_w=8, drop_through=1, jump_launch=0, walk_cap=2, air_cap=2)
    terrain = make_terrain(["......", "......", "#==#..", "....#.", "#...#.", "####.."], tile=16)
    seen = explored(Scene(motion, terrain, standing(1, 1, motion, terrain), (1, 5)))
    found = {key: ticks for key, (_, _, ticks) in moves(seen).items()}
    assert found == {
        (0, 1, MoveKind.WALK_OFF): 3,
        (0, 1, MoveKind.JUMP): 4,
        (0, 3, MoveKind.DROP): 5,
    }


@pytest.mark.small
@pytest.mark.parametrize(("body_w", "strides"), [(14, True), (13, False)])
def test_a_stride_takes_no_tick_in_the_air(body_w: int, strides: bool) -> None:
    """At 20 a tick over two tiles less the body, with the two spots at the ends: 20, or 21."""
    motion = body(body_w=body_w, walk_accel=20, walk_cap=20, coast=20, air_cap=1)
    terrain = make_terrain(["........", "........", "####..##"], tile=16)
    found = moves(explored(Scene(motion, terrain, standing(1, 1, motion, terrain), (6, 2))))
    assert ((0, 1, MoveKind.STRIDE) in found) == strides
    if strides:
        assert found[0, 1, MoveKind.STRIDE] == ({True}, True, 0)


@pytest.mark.small
def test_a_spring_throws_whoever_lands_on_it() -> None:
    """Launched at 9 under a gravity of 1 the body is 9n - n(n+1)/2 up: over 16 until tick 14, back down in tick 18."""
    motion = body(body_w=8, body_h=8, jump_gravity_held=1, jump_gravity=1)
    terrain = make_terrain(["....", "....", "...#", ".S##"], tile=16, launch=9)
    seen = explored(Scene(motion, terrain, standing(2, 2, motion, terrain), (3, 2)))
    ledge, spring, ground = range(3)
    assert [foothold.is_spring for foothold in seen.footholds] == [False, True, False]
    found = moves(seen)
    assert found[spring, ledge, MoveKind.SPRING] == ({False}, True, 15)
    assert found[spring, ground, MoveKind.SPRING] == ({False}, True, 18)
    assert found[ground, spring, MoveKind.STRIDE] == ({True}, False, 0)
    assert not any(rests for (_, target, _), (_, rests, _) in found.items() if target == spring)
    assert seen.rested.tolist() == [True, False, True]


LOSSES = [
    pytest.param(["....", "....", "####"], (1, 1), [False], False, id="a closed room"),
    pytest.param(["....", "....", "##.."], (0, 1), [True], False, id="an edge over the void"),
    pytest.param(["....", "...^", "####"], (0, 1), [True], False, id="beside spikes"),
    pytest.param(["....", "....", "..##"], (0, 1), [False], True, id="a start over the void"),
]


@pytest.mark.small
@pytest.mark.parametrize(("rows", "start", "losing", "losing_start"), LOSSES)
def test_losses_are_told_by_where_they_begin(
    rows: list[str], start: tuple[int, int], losing: list[bool], losing_start: bool
) -> None:
    motion = body(body_w=8, jump_launch=6, jump_gravity_held=1, jump_gravity=1)
    terrain = make_terrain(rows, tile=16)
    begun = standing(*start, motion, terrain, grounded=int(rows[start[1] + 1][start[0]] == "#"))
    seen = explored(Scene(motion, terrain, begun, (0, 2)))
    assert (seen.losing.tolist(), seen.losing_start) == (losing, losing_start)


def side(made: MicroMap) -> Scene:
    n = made.fails if made.works is None else made.works
    assert n is not None
    return made.make(n)


COARSE = [made for made in MICRO_MAPS if side(made).terrain.tile % 8 == 0]


def cells_of(found: np.ndarray, scene: Scene, shape: Sequence[int]) -> np.ndarray:
    """The cells, an eighth of a tile, that the body overlaps at some (x, y)."""
    cell = scene.terrain.tile // 8
    cells = np.zeros(shape, np.bool_)
    for x, y in np.unique(found, axis=0).tolist():
        rows = slice(max(0, y // cell), max(0, (y + scene.motion.body_h - 1) // cell + 1))
        cells[rows, x // cell : (x + scene.motion.body_w - 1) // cell + 1] = True
    return cells


@pytest.mark.parametrize("made", COARSE, ids=lambda made: made.name)
def test_the_coverage_is_where_the_body_can_be(made: MicroMap) -> None:
    """All of it, and hardly more."""
    scene = side(made)
    coverage = explored(scene).coverage
    found = every_state(scene.motion, scene.terrain, scene.start)
    cells = cells_of(found.states[:, :2], scene, coverage.shape)
    assert not (cells & ~coverage).any()
    assert (coverage & ~cells).sum() <= cells.sum() // 200


@pytest.mark.parametrize("name", ["the_band_is_that_of_the_speed_after_the_tick", "past_a_hazard"])
def test_the_nearest_miss_is_the_least_distance_of_the_body_from_where_it_has_reached_the_place(name: str) -> None:
    """Asked of every tile that no body overlaps, where the target is out of reach."""
    made = next(made for made in MICRO_MAPS if made.name == name)
    assert made.fails is not None
    scene = made.make(made.fails)
    rows, columns = scene.terrain.material.shape
    tiles = [(column, row) for row in range(rows) for column in range(columns)]
    across, down = (np.array(each, np.int64) for each in zip(*tiles, strict=True))
    everywhere = scene.terrain._replace(place_column=across, place_row=down, place_ends=np.zeros_like(across))
    seen = explored(replace(scene, terrain=everywhere))
    found = every_state(scene.motion, scene.terrain, scene.start)
    x, y = np.unique(found.states[:, :2], axis=0).T
    assert len(seen.misses) >= 6
    assert set(seen.misses) == set(np.flatnonzero(~seen.touched).tolist())
    aims = find_aims(scene.motion, everywhere, seen.footholds)
    for index, miss in seen.misses.items():
        _, left, right, top, bottom = aims[aims[:, 0] == index][:, :, None].transpose(1, 0, 2)
        beside = np.maximum(0, np.maximum(left - x, x - right))
        above = np.maximum(0, np.maximum(top - y, y - bottom))
        assert (miss.across_px * PX) ** 2 + (miss.up_px * PX) ** 2 == (beside**2 + above**2).min()


def room_with_places() -> Scene:
    """A room of 4 by 4 tiles of 16 px, in which the body, 12 by 16 px, rises 4 + 3 + 2 + 1 px."""
    motion = make_motion(
        body_w=12 * PX, body_h=16 * PX, jump_launch=4 * PX, jump_gravity_held=PX, jump_gravity=PX, terminal=8 * PX
    )
    rows = [".....", "....#", "....#", "....#", "#####"]
    terrain = make_terrain(rows, places=[(1, 0, 0), (4, 0, 0), (1, 3, 0)])
    return Scene(motion, terrain, standing(0, 3, motion, terrain), (0, 4))


@pytest.mark.small
def test_a_nearest_miss_is_in_px_and_names_the_foothold_it_starts_from() -> None:
    """The head gets up to 48 - 10 = 38 px, 22 under the bottom of the place in the air, the feet up to 64 - 10 = 54.

    To the other place, on the wall, the body has to get up on it: to 16, one subpixel to the side of where it stops.
    """
    scene = room_with_places()
    seen = explored(scene)
    (foothold,) = (each for each in seen.footholds if each.row == 4)
    assert seen.touched.tolist() == [False, False, True]
    in_air, on_wall = seen.misses[0], seen.misses[1]
    assert in_air.source == on_wall.source == foothold.index
    assert (in_air.across_px, in_air.up_px) == (0, 22 + 1 / PX)
    assert (on_wall.across_px, on_wall.up_px) == (1 / PX, 38)
    assert (on_wall.at_px, on_wall.to_px) == ((64, 54), (64 + 1 / PX, 16)), "the lower right corner"
    shaft = make_terrain(["...", "...", "..."], places=[(0, 0, 0)])
    falling = explored(Scene(scene.motion, shaft, make_state(0, 20 * PX), (0, 0)))
    assert falling.misses == {0: NearestMiss(-1, (6.0, 36.0), (6.0, 32 - 1 / PX))}
    assert falling.misses[0].up_px == 4 + 1 / PX


@pytest.mark.small
def test_what_lies_below_is_missed_downwards() -> None:
    """Through a floor of one tile the body would have to get down by two."""
    terrain = make_terrain(["....", "....", "####", "....", "####"], tile=16, places=[(1, 3, 0)])
    motion = body()
    miss = explored(Scene(motion, terrain, standing(2, 1, motion, terrain), (1, 4))).misses[0]
    assert (miss.across_px, miss.up_px) == (0, -32 / PX)
