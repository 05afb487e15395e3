"""Every sentence of the motion model on moves and contact (rules 3b and 4 to 7), on the smallest map."""

from __future__ import annotations

import pytest

from reach.kernels.params import State
from reach.kernels.step import initial_state
from tests.builders import make_state, make_terrain, play, standing
from tests.kernels.one_tick import FLOOR, FLOOR_Y, PLAIN, SKY, H, T, W, in_sky, motion_of, on_floor, tick

pytestmark = pytest.mark.small

LEDGE = make_terrain(["......"] * 4 + ["##....", "##....", "######"], tile=T)


# --- 3b: dropping ---

DROPPER = motion_of(drop_through=1, coyote_ticks=3)
SLATS = make_terrain(["......", "......", "#====#", "......", "......", "######"], tile=T)


def test_down_on_one_way_tiles_drops_past_their_top() -> None:
    state = standing(2, 1, DROPPER, SLATS, vx=5)
    first = tick(state, "rd", DROPPER, SLATS)
    assert (first.y, first.vy, first.grounded, first.takeoff, first.coyote) == (state.y + 1, 0, 0, 7, 0)
    assert first.held == 0
    assert tick(state._replace(vx=-5), "ld", DROPPER, SLATS).takeoff == 7
    states = play(first, DROPPER, SLATS, (40, ""))
    assert states[1].vy == 4
    assert states[-1].y == 5 * T - H
    assert states[-1].grounded


def test_down_needs_the_option_and_only_one_way_tiles_underfoot() -> None:
    assert tick(standing(2, 1, PLAIN, SLATS), "d", PLAIN, SLATS).grounded
    assert tick(make_state(T - 1, 2 * T - H, grounded=1), "d", DROPPER, SLATS).grounded  # one spx over the solid tile
    assert not tick(make_state(T, 2 * T - H, grounded=1), "d", DROPPER, SLATS).grounded
    assert tick(on_floor(), "d", DROPPER).grounded


def test_empty_tiles_and_hazards_beside_a_one_way_tile_do_not_hinder_a_drop() -> None:
    gap = make_terrain(["...", "=.=", "..."], tile=T)
    state = make_state(T - 10, T - H, grounded=1)
    assert not tick(state, "d", DROPPER, gap).grounded
    spikes = make_terrain(["...", "=^=", "..."], tile=T)
    assert tick(state, "", DROPPER, spikes).lost == 0  # flush above the hazard
    assert tick(state, "d", DROPPER, spikes).lost == 1  # the feet are past the top now


def test_a_spring_underfoot_hinders_a_drop() -> None:
    terrain = make_terrain(["...", "=S=", "..."], tile=T, launch=25)
    assert tick(make_state(T - 10, T - H, grounded=1), "d", DROPPER, terrain).y == T - H


def test_jumping_goes_before_dropping() -> None:
    assert tick(standing(2, 1, DROPPER, SLATS), "dj", DROPPER, SLATS).vy == -30


def test_after_a_drop_the_row_below_blocks_sideways_at_once() -> None:
    state = make_state(T + 2, 2 * T - H, grounded=1, vx=-9)
    dropped = tick(state, "ld", DROPPER, SLATS)
    assert (dropped.x, dropped.vx) == (T, 0)
    assert tick(state, "l", DROPPER, SLATS).x == T + 2 - 10


def test_down_in_the_air_and_during_coyote_time_does_nothing() -> None:
    assert tick(in_sky(vy=8), "d", DROPPER, SKY) == tick(in_sky(vy=8), "", DROPPER, SKY)


# --- 4: sideways ---

WALLS = make_terrain(["#....#", "#....#", "######"], tile=T)


@pytest.mark.parametrize(("gap", "x_left", "vx"), [(11, 1, 10), (10, 0, 10), (9, 0, 0), (0, 0, 0)])
def test_a_wall_stops_what_would_overlap_it_and_exactly_flush_is_no_hit(gap: int, x_left: int, vx: int) -> None:
    right = tick(make_state(5 * T - W - gap, 2 * T - H, grounded=1, vx=10), "r", PLAIN, WALLS)
    assert (5 * T - W - right.x, right.vx) == (x_left, vx)
    left = tick(make_state(T + gap, 2 * T - H, grounded=1, vx=-10), "l", PLAIN, WALLS)
    assert (left.x - T, left.vx) == (x_left, -vx)


def test_the_first_wall_in_the_way_stops_a_body_faster_than_a_tile() -> None:
    terrain = make_terrain(["....#.#.", "########"], tile=T)
    fast = motion_of(walk_cap=500, coast=1)
    assert tick(make_state(10, T - H, grounded=1, vx=400), "r", fast, terrain).x == 4 * T - W
    assert tick(make_state(7 * T, T - H, grounded=1, vx=-400), "l", fast, terrain).x == 7 * T


def test_walls_count_at_the_rows_overlapped_and_only_there() -> None:
    terrain = make_terrain(["..#...", "......", "......", "######"], tile=T)
    state = make_state(2 * T - W, T, vx=5)  # flush under the wall's bottom
    assert tick(state, "r", PLAIN, terrain).x == 2 * T - W + 6
    assert tick(state._replace(y=T - 1), "r", PLAIN, terrain).x == 2 * T - W


def test_one_way_tiles_and_hazards_do_not_block_sideways_and_springs_do() -> None:
    for material, through in (("=", True), ("^", True), ("S", False), ("#", False)):
        terrain = make_terrain([f"..{material}...", "######"], tile=T)
        state = tick(make_state(2 * T - W, T - H, grounded=1, vx=5), "r", PLAIN, terrain)
        assert (state.x > 2 * T - W) == through, material


@pytest.mark.parametrize("y", [-500, T, 39 * T + 50, 41 * T])
def test_the_maps_sides_are_walls_at_every_height(y: int) -> None:
    assert tick(make_state(3, y, vx=-9), "", PLAIN, SKY).x == 0
    right = tick(make_state(8 * T - W - 3, y, vx=9), "", PLAIN, SKY)
    assert (right.x, right.vx) == (8 * T - W, 0)


def test_above_the_map_a_body_passes_over_walls_and_stands_on_the_top_row() -> None:
    terrain = make_terrain(["..##..", "......"], tile=T)
    over = tick(make_state(2 * T - W, -H, vx=9, vy=-4), "r", PLAIN, terrain)
    assert over.x == 2 * T - W + 10
    landed = tick(make_state(2 * T, -H - 3, vy=5), "", PLAIN, terrain)
    assert (landed.y, landed.grounded) == (-H, 1)


# --- 5: vertically ---


@pytest.mark.parametrize(("above", "grounded", "left"), [(9, 0, 1), (8, 0, 0), (7, 1, 0), (0, 1, 0)])
def test_landing_needs_the_feet_strictly_past_the_top(above: int, grounded: int, left: int) -> None:
    state = tick(make_state(T, FLOOR_Y - above, vy=4, held=0, coyote=2), "")
    assert (state.grounded, FLOOR_Y - state.y) == (grounded, left)
    assert (state.vy, state.coyote) == ((0, 0) if grounded else (8, 1))


def test_landing_ends_the_hold() -> None:
    state = tick(make_state(T, FLOOR_Y, vy=-1, held=1), "j")
    assert (state.grounded, state.held) == (1, 0)


def test_losing_the_ground_leftward_takes_off_with_the_speed_not_its_sign() -> None:
    terrain = make_terrain(["..##", "..##"], tile=T)
    state = tick(make_state(2 * T - W + 3, -H, vx=-9, grounded=1), "l", PLAIN, terrain)
    assert (state.grounded, state.vx, state.takeoff) == (0, -10, 10)


def test_landing_keeps_the_takeoff_speed_and_the_speed_sideways() -> None:
    state = tick(make_state(T, FLOOR_Y - 2, vy=4, vx=6, takeoff=5), "")
    assert (state.grounded, state.vx, state.takeoff) == (1, 6, 5)


@pytest.mark.parametrize(("material", "lands"), [("#", True), ("=", True), ("^", False), (".", False)])
def test_what_carries(material: str, lands: bool) -> None:
    terrain = make_terrain(["...", "...", material * 3], tile=T)
    assert bool(tick(make_state(T, 2 * T - H, vy=4), "", PLAIN, terrain).grounded) == lands


def test_feet_already_past_a_one_way_top_fall_on_through_it() -> None:
    assert not tick(make_state(2 * T, 2 * T - H + 1, vy=4), "", PLAIN, SLATS).grounded
    assert tick(make_state(2 * T, 2 * T - H, vy=4), "", PLAIN, SLATS).grounded


def test_the_nearest_carrying_row_is_landed_on_by_a_fall_of_several_tiles() -> None:
    terrain = make_terrain(["....", "....", "=...", "====", "####"], tile=T)
    fast = motion_of(terminal=900)
    assert tick(make_state(10, 0, vy=500), "", fast, terrain).y == 2 * T - H
    assert tick(make_state(T, 0, vy=500), "", fast, terrain).y == 3 * T - H


def test_landing_counts_the_columns_after_the_sideways_move() -> None:
    terrain = make_terrain(["....", "....", "..##"], tile=T)
    before = make_state(2 * T - W, 2 * T - H, vx=0, vy=4)
    assert not tick(before, "", PLAIN, terrain).grounded
    assert tick(before._replace(vx=1), "", PLAIN, terrain).grounded
    assert not tick(
        make_state(2 * T, 2 * T - H, vx=-W, vy=4), "", PLAIN, make_terrain(["....", "....", "..#."], tile=T)
    ).grounded


@pytest.mark.parametrize(("below", "y_left", "vy"), [(31, 1, -30), (30, 0, -30), (29, 0, 0), (0, 0, 0)])
def test_a_ceiling_stops_the_rise_and_ends_the_hold(below: int, y_left: int, vy: int) -> None:
    terrain = make_terrain(["###", "...", "...", "..."], tile=T)
    state = tick(make_state(T, T + below, vy=-32, held=1), "j", PLAIN, terrain)
    assert (state.y - T, state.vy, state.held) == (y_left, vy, int(vy != 0))


@pytest.mark.parametrize(("material", "stops"), [("#", True), ("S", True), ("=", False), ("^", False), (".", False)])
def test_what_stops_a_rise(material: str, stops: bool) -> None:
    terrain = make_terrain(["...", material * 3, "...", "..."], tile=T)
    assert (tick(make_state(T, 2 * T, vy=-20), "", PLAIN, terrain).y == 2 * T) == stops


def test_the_nearest_ceiling_stops_a_rise_of_several_tiles() -> None:
    terrain = make_terrain(["####", "....", "#...", "....", "...."], tile=T)
    assert tick(make_state(10, 4 * T, vy=-400), "", PLAIN, terrain).y == 3 * T
    assert tick(make_state(T, 4 * T, vy=-400), "", PLAIN, terrain).y == T


def test_a_body_rises_out_of_the_top_of_the_map() -> None:
    assert tick(make_state(T, 2, vy=-34), "", PLAIN, FLOOR).y == 2 - 30


def test_the_last_overlapped_column_carries_and_one_spx_further_the_ground_is_lost() -> None:
    assert tick(make_state(2 * T - 1, FLOOR_Y, grounded=1), "", PLAIN, LEDGE).grounded
    assert not tick(make_state(2 * T, FLOOR_Y, grounded=1), "", PLAIN, LEDGE).grounded


def test_walking_between_carrying_tiles_of_one_height_keeps_the_ground() -> None:
    terrain = make_terrain(["....", "....", "#=S#"], tile=T, launch=20)
    assert tick(make_state(T - 5, 2 * T - H, grounded=1, vx=8), "r", PLAIN, terrain).grounded


# --- 6: springs ---

SPRINGS = make_terrain(["......"] * 3 + ["##SS##"], tile=T, launch={(2, 3): 50, (3, 3): 70})


def test_landing_on_a_spring_launches_in_the_next_ticks_move() -> None:
    state = tick(make_state(2 * T, 3 * T - H - 1, vy=8, vx=3, coyote=2), "", PLAIN, SPRINGS)
    assert (state.y, state.vy, state.grounded, state.takeoff, state.held, state.coyote) == (3 * T - H, -50, 0, 3, 0, 0)
    assert tick(make_state(2 * T, 3 * T - H - 1, vy=8, vx=-3), "", PLAIN, SPRINGS).takeoff == 3
    following = play(state, PLAIN, SPRINGS, (2, "j"))
    assert [s.vy for s in following] == [-50, -46, -42]  # the released gravity, held or not
    assert following[1].y == 3 * T - H - 46


def test_the_strongest_spring_underfoot_launches() -> None:
    assert tick(make_state(3 * T - 1, 3 * T - H, grounded=1), "", PLAIN, SPRINGS).vy == -70
    assert tick(make_state(3 * T - W, 3 * T - H, grounded=1), "", PLAIN, SPRINGS).vy == -50


def test_walking_onto_a_spring_launches_and_one_spx_before_it_does_not() -> None:
    assert tick(make_state(2 * T - W - 2, 3 * T - H, grounded=1), "r", PLAIN, SPRINGS).grounded
    assert tick(make_state(2 * T - W - 1, 3 * T - H, grounded=1), "r", PLAIN, SPRINGS).vy == -50


def test_a_start_on_a_spring_stands_until_the_first_tick() -> None:
    start = State(*initial_state(2, 2, PLAIN, SPRINGS))
    assert (start.grounded, start.vy) == (1, 0)
    assert tick(start, "", PLAIN, SPRINGS).vy == -50
    assert tick(start, "j", PLAIN, SPRINGS).vy == -30  # in the air already: not launched


def test_a_spring_launch_keeps_the_buffer() -> None:
    assert tick(make_state(2 * T, 3 * T - H, vy=4, buffer=3), "", PLAIN, SPRINGS).buffer == 2


def test_a_spring_launch_takes_the_gravity_of_its_takeoff_speed() -> None:
    motion = motion_of(
        jump_from=[0, 6], jump_launch=[30, 33], jump_gravity_held=[2, 3], jump_gravity=[4, 7], walk_cap=50
    )
    state = tick(make_state(2 * T, 3 * T - H, grounded=1, vx=12), "", motion, SPRINGS)
    assert (state.takeoff, tick(state, "", motion, SPRINGS).vy) == (9, -43)


# --- 7: contact ---


@pytest.mark.parametrize(("x", "lost"), [(2 * T - W, 0), (2 * T - W + 1, 1), (3 * T - 1, 1), (3 * T, 0)])
def test_a_hazard_overlapped_at_the_end_of_a_tick_loses_the_body(x: int, lost: int) -> None:
    terrain = make_terrain(["......", "..^...", "######"], tile=T)
    assert tick(make_state(x, 2 * T - H, grounded=1), "", PLAIN, terrain).lost == lost


def test_a_hazard_jumped_across_within_a_tick_does_nothing() -> None:
    terrain = make_terrain(["..^.....", "########"], tile=T)
    fast = motion_of(walk_cap=200)
    state = tick(make_state(2 * T - W, T - H, grounded=1, vx=150), "r", fast, terrain)
    assert (state.x, state.lost) == (2 * T - W + 152, 0)


@pytest.mark.parametrize(("y", "lost"), [(40 * T - 1, 0), (40 * T, 1)])
def test_a_body_is_lost_when_its_top_reaches_the_void(y: int, lost: int) -> None:
    assert tick(make_state(T, y - 4, vy=0), "", PLAIN, SKY).lost == lost


def test_below_the_map_a_body_can_jump_within_coyote_time() -> None:
    state = tick(make_state(T, 40 * T - 10, coyote=1), "j", PLAIN, SKY)
    assert (state.vy, state.lost) == (-30, 0)


def test_an_end_overlapped_by_one_spx_ends_the_level_and_flush_does_not() -> None:
    terrain = make_terrain(["......", "...!..", "######"], tile=T)
    assert tick(make_state(3 * T - W, 2 * T - H, grounded=1), "", PLAIN, terrain).ended == 0
    assert tick(make_state(3 * T - W + 1, 2 * T - H, grounded=1), "", PLAIN, terrain).ended == 1


def test_a_place_that_does_not_end_the_level_changes_nothing() -> None:
    terrain = make_terrain(["......", "...+..", "######"], tile=T)
    assert tick(make_state(3 * T - 9, 2 * T - H, grounded=1), "", PLAIN, terrain).ended == 0


def test_losing_wins_over_ending() -> None:
    terrain = make_terrain(["......", "..^!..", "######"], tile=T)
    state = tick(make_state(3 * T - 20, 2 * T - H, grounded=1), "", PLAIN, terrain)
    assert (state.lost, state.ended) == (1, 0)


@pytest.mark.parametrize("field", ["lost", "ended"])
def test_nothing_changes_after_losing_or_ending(field: str) -> None:
    state = on_floor(vx=5, buffer=2, **{field: 1})
    assert tick(state, "rRj") == state


def test_the_tick_of_the_end_still_notes_the_buttons() -> None:
    terrain = make_terrain(["......", "..!...", "######"], tile=T)
    state = tick(make_state(2 * T, 2 * T - H - 40, vy=4), "j", motion_of(buffer_ticks=3), terrain)
    assert (state.ended, state.jump_was_down, state.buffer) == (1, 1, 3)
