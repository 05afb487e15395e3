"""Every sentence of the motion model on buttons and speeds (start, rules 1 to 3a and 3c, 8), on the smallest map."""

from __future__ import annotations

import pytest

from reach.kernels.params import Motion, State
from reach.kernels.step import approach, band1, band2, initial_state
from tests.builders import inputs, make_state, make_terrain, play, standing
from tests.kernels.one_tick import FLOOR, FLOOR_Y, PLAIN, SKY, T, in_sky, mirrored, motion_of, on_floor, tick

pytestmark = pytest.mark.small


# --- approach and bands ---


@pytest.mark.parametrize(
    ("value", "target", "rate", "result"),
    [(0, 10, 3, 3), (8, 10, 3, 10), (10, 10, 3, 10), (12, 10, 3, 10), (20, 10, 3, 17), (-1, 10, 30, 10), (5, 0, 0, 5)],
)
def test_approach_moves_by_at_most_the_rate_and_never_past(value: int, target: int, rate: int, result: int) -> None:
    assert approach(value, target, rate) == result
    assert approach(-value, -target, rate) == -result


def test_a_band_is_the_last_entry_whose_threshold_is_at_most_the_speed() -> None:
    thresholds = motion_of(jump_from=[0, 5, 9], jump_launch=[1, 2, 3]).jump_from
    assert [band1(thresholds, s) for s in (0, 4, 5, 8, 9, 99)] == [0, 0, 1, 1, 2, 2]


def test_a_band_of_two_speeds_needs_both_thresholds() -> None:
    motion = motion_of(air_reverse_from_speed=[0, 0, 5], air_reverse_from_takeoff=[0, 7, 3], air_reverse=[1, 2, 3])
    lists = motion.air_reverse_from_speed, motion.air_reverse_from_takeoff
    assert band2(*lists, 4, 6) == 0
    assert band2(*lists, 4, 7) == 1
    assert band2(*lists, 5, 2) == 0
    assert band2(*lists, 5, 3) == 2
    assert band2(*lists, 5, 7) == 2  # the last that fits, not the nearest


# --- start ---


def test_a_start_is_centred_with_its_feet_on_the_bottom_of_the_tile() -> None:
    state = initial_state(3, 3, PLAIN, FLOOR)
    assert state == State(3 * T + 12, FLOOR_Y, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0)


@pytest.mark.parametrize(("width", "x"), [(39, 3 * T + 12), (65, 3 * T - 1), (67, 3 * T - 2)])
def test_the_half_of_an_odd_difference_is_rounded_down(width: int, x: int) -> None:
    assert initial_state(3, 3, motion_of(body_w=width), FLOOR).x == x


def test_a_start_over_nothing_falls_and_one_over_any_overlapped_carrying_column_stands() -> None:
    terrain = make_terrain(["....", ".#=."], tile=T)
    assert initial_state(0, 0, PLAIN, terrain).grounded == 0
    assert initial_state(0, 0, motion_of(body_w=66), terrain).grounded == 1
    assert initial_state(2, 0, PLAIN, terrain).grounded == 1
    assert initial_state(3, 1, PLAIN, terrain).grounded == 0  # nothing below the map carries


def test_a_jump_button_down_in_the_first_tick_is_a_press() -> None:
    assert tick(State(*initial_state(3, 3, PLAIN, FLOOR)), "j").vy == -30


def test_a_start_that_touches_an_end_has_ended() -> None:
    terrain = make_terrain(["!", "#"], tile=T)
    assert initial_state(0, 0, PLAIN, terrain).ended == 1
    terrain = make_terrain(["+", "#"], tile=T)
    assert initial_state(0, 0, PLAIN, terrain).ended == 0


# --- 1, 8: buttons and buffer ---


def test_a_press_fills_the_buffer_and_holding_does_not() -> None:
    motion = motion_of(buffer_ticks=2)
    states = play(in_sky(), motion, SKY, (5, "j"))
    assert [s.buffer for s in states] == [0, 2, 1, 0, 0, 0]
    assert [s.jump_was_down for s in states] == [0, 1, 1, 1, 1, 1]


def test_releasing_does_not_empty_the_buffer_and_a_second_press_refills_it() -> None:
    states = play(in_sky(), motion_of(buffer_ticks=3), SKY, (1, "j"), (1, ""), (1, "j"), (1, ""))
    assert [s.buffer for s in states] == [0, 3, 2, 3, 2]


def landing_tick(motion: Motion) -> int:
    states = play(standing(3, 1, motion, FLOOR, grounded=0), motion, FLOOR, (40, ""))
    return next(t for t, s in enumerate(states) if s.grounded)


@pytest.mark.parametrize("buffer_ticks", [0, 1, 3])
@pytest.mark.parametrize("early", range(6))
def test_a_press_in_the_air_jumps_on_the_tick_after_landing_if_buffered_so_long(buffer_ticks: int, early: int) -> None:
    motion = motion_of(buffer_ticks=buffer_ticks)
    landed = landing_tick(motion)
    assert landed > 6
    # The tick after the landing is the first that can take off; the press comes `early` ticks before it.
    states = play(standing(3, 1, motion, FLOOR, grounded=0), motion, FLOOR, (landed - early, ""), (early + 2, "j"))
    assert states[landed].grounded == 1
    assert (states[landed + 1].vy == -30) == (early <= buffer_ticks)


def test_a_jump_uses_the_buffer_up() -> None:
    assert tick(on_floor(buffer=1), "", motion_of(buffer_ticks=3)).buffer == 0
    assert tick(on_floor(), "j", motion_of(buffer_ticks=3)).buffer == 0


def test_a_button_held_through_a_landing_does_not_jump_again() -> None:
    states = play(on_floor(), motion_of(buffer_ticks=3), FLOOR, (60, "j"))
    assert sum(s.vy == -30 for s in states) == 1


# --- 2: horizontal speed ---

RUNNER = motion_of(run_accel=4, run_cap=20, run_memory=2)


@pytest.mark.parametrize(
    ("vx", "text", "result"),
    [
        (0, "", 0),
        (7, "", 4),
        (-2, "", 0),
        (0, "r", 2),
        (9, "r", 10),
        (10, "r", 10),
        (15, "r", 12),  # faster than the cap: slowed by coasting
        (11, "r", 10),
        (-7, "r", -2),
        (-3, "r", 0),  # reversing stops at rest
        (7, "l", 2),
        (3, "l", 0),
        (0, "l", -2),
        (7, "lr", 4),  # left and right together are no direction
    ],
)
def test_speed_on_the_ground(vx: int, text: str, result: int) -> None:
    assert tick(on_floor(vx=vx), text).vx == result
    assert tick(on_floor(vx=-vx), mirrored(text)).vx == -result


@pytest.mark.parametrize(
    ("vx", "memory", "text", "result", "memory_after"),
    [
        (0, 0, "rR", 4, 2),
        (0, 0, "r", 2, 0),
        (0, 1, "r", 4, 0),  # the memory counts in the tick in which it runs out
        (0, 2, "r", 4, 1),
        (12, 0, "rR", 16, 2),
        (12, 0, "r", 10, 0),
        (19, 1, "r", 20, 0),
        (0, 2, "", 0, 1),  # it runs down without a direction too
        (0, 0, "R", 0, 2),
        (-7, 0, "rR", -2, 2),
    ],
)
def test_running_on_the_ground(vx: int, memory: int, text: str, result: int, memory_after: int) -> None:
    state = tick(on_floor(vx=vx, run_memory=memory), text, RUNNER)
    assert (state.vx, state.run_memory) == (result, memory_after)


def test_in_the_air_only_a_run_button_that_is_down_is_remembered() -> None:
    assert tick(in_sky(run_memory=2), "R", RUNNER, SKY).run_memory == 2
    assert tick(in_sky(run_memory=2), "", RUNNER, SKY).run_memory == 0
    assert tick(in_sky(run_memory=0), "R", RUNNER, SKY).run_memory == 2


def test_the_run_button_down_at_touchdown_counts_on_the_ground() -> None:
    landed = landing_tick(RUNNER)
    states = play(standing(3, 1, RUNNER, FLOOR, grounded=0), RUNNER, FLOOR, (landed, "R"), (3, "r"))
    assert [s.vx for s in states[landed:]] == [0, 4, 8, 10]  # two ticks of run from memory, then the walk's cap


def test_without_a_run_the_button_does_nothing() -> None:
    assert tick(on_floor(), "rR") == tick(on_floor(), "r")
    assert tick(in_sky(), "rR", terrain=SKY) == tick(in_sky(), "r", terrain=SKY)


FLYER = motion_of(
    air_accel_from=[0, 5],
    air_accel=[1, 3],
    air_cap_from=[0, 8],
    air_cap=[9, 15],
    air_reverse_from_speed=[0, 6],
    air_reverse_from_takeoff=[0, 8],
    air_reverse=[2, 4],
)


@pytest.mark.parametrize(
    ("vx", "takeoff", "text", "drag", "result"),
    [
        (0, 0, "r", 0, 1),
        (4, 0, "r", 0, 5),
        (5, 0, "r", 0, 8),  # the second band, by speed now
        (8, 0, "r", 0, 9),  # the cap
        (9, 0, "r", 0, 9),
        (8, 8, "r", 0, 11),  # the higher cap, by takeoff speed
        (14, 8, "r", 0, 15),
        (12, 0, "r", 0, 12),  # above the cap, drag 0 keeps it
        (12, 0, "r", 2, 10),
        (10, 0, "r", 2, 9),  # drag stops at the cap
        (9, 0, "r", 2, 9),  # at the cap drag does nothing
        (12, 0, "", 0, 12),
        (12, 0, "", 2, 10),
        (1, 0, "", 2, 0),
        (7, 0, "l", 0, 5),  # fast now, but taken off slowly
        (7, 8, "l", 0, 3),
        (6, 8, "l", 0, 2),
        (5, 8, "l", 0, 3),
        (1, 0, "l", 0, 0),
        (7, 0, "l", 5, 5),  # drag does not join in
    ],
)
def test_speed_in_the_air(vx: int, takeoff: int, text: str, drag: int, result: int) -> None:
    motion = FLYER._replace(drag=drag)
    assert tick(in_sky(vx=vx, takeoff=takeoff), text, motion, SKY).vx == result
    assert tick(in_sky(vx=-vx, takeoff=takeoff), mirrored(text), motion, SKY).vx == -result


def test_landing_and_jumping_at_once_keeps_speed_but_for_one_tick_on_the_ground() -> None:
    motion = motion_of(buffer_ticks=1)
    before = standing(3, 3, motion, FLOOR, vx=10)._replace(grounded=0, vy=9, y=FLOOR_Y - 3)
    states = play(before, motion, FLOOR, (1, "rj"), (1, "r"))
    assert (states[1].grounded, states[1].vx) == (1, 10)
    assert (states[2].grounded, states[2].vx, states[2].takeoff) == (0, 10, 10)


# --- 3: vertical speed ---

JUMPER = motion_of(
    jump_from=[0, 6], jump_launch=[30, 33], jump_gravity_held=[2, 3], jump_gravity=[4, 7], walk_accel=5, walk_cap=50
)


def test_a_jump_takes_the_band_of_the_speed_after_this_ticks_buttons() -> None:
    state = tick(on_floor(vx=4), "rj", JUMPER)
    assert (state.takeoff, state.vy, state.held, state.grounded) == (9, -33, 1, 0)
    state = tick(on_floor(vx=-4), "rj", JUMPER)
    assert (state.takeoff, state.vy) == (0, -30)
    state = tick(on_floor(vx=-4), "lj", JUMPER)
    assert (state.takeoff, state.vy) == (9, -33)


def test_gravity_follows_the_takeoff_band_and_whether_the_button_is_held() -> None:
    held = play(on_floor(vx=1), JUMPER, FLOOR, (4, "rj"))
    assert [s.vy for s in held[1:]] == [-33, -30, -27, -24]
    released = play(on_floor(vx=1), JUMPER, FLOOR, (2, "rj"), (2, "r"))
    assert [s.vy for s in released[1:]] == [-33, -30, -23, -16]
    assert [s.held for s in released[1:]] == [1, 1, 0, 0]


def test_pressing_again_in_the_air_does_not_hold_again() -> None:
    states = play(on_floor(), PLAIN, FLOOR, (1, "j"), (1, ""), (2, "j"))
    assert [s.vy for s in states[1:]] == [-30, -26, -22, -18]


def test_a_buffered_jump_after_release_is_not_held() -> None:
    state = tick(on_floor(buffer=2), "", JUMPER)
    assert (state.vy, state.held) == (-30, 0)


def test_releasing_cuts_the_upward_speed_once() -> None:
    motion = motion_of(cut_speed=10)
    states = play(on_floor(), motion, FLOOR, (2, "j"), (2, ""), (1, "j"))
    assert [s.vy for s in states[1:]] == [-30, -28, -6, -2, 2]  # cut to 10, then the released gravity
    slow = tick(in_sky(vy=-7, held=1), "", motion, SKY)
    assert slow.vy == -3  # slower already: not cut
    never_held = tick(in_sky(vy=-30), "", motion, SKY)
    assert never_held.vy == -26


def test_a_cut_speed_of_zero_stops_the_rise() -> None:
    assert tick(in_sky(vy=-30, held=1), "", motion_of(cut_speed=0), SKY).vy == 4


def test_a_jump_that_is_not_held_is_cut_at_once() -> None:
    assert tick(on_floor(buffer=1), "", motion_of(cut_speed=10)).vy == -10
    assert tick(on_floor(buffer=1), "", motion_of(cut_speed=50)).vy == -30


def test_gravity_in_the_tick_of_the_takeoff_is_an_option() -> None:
    motion = motion_of(launch_tick_gravity=1)
    assert tick(on_floor(), "j", motion).vy == -28
    assert tick(on_floor(buffer=1), "", motion).vy == -26
    assert tick(on_floor(buffer=1), "", motion._replace(cut_speed=10)).vy == -6  # cut first
    fast_fall = motion_of(launch_tick_gravity=1, jump_launch=0, jump_gravity=90)
    assert tick(in_sky(buffer=1, coyote=1), "", fast_fall, SKY).vy == 40  # the terminal speed


def test_held_ends_when_the_rise_does() -> None:
    states = play(on_floor(), PLAIN, FLOOR, (18, "j"))
    rising = [s.vy for s in states[1:]]
    assert rising[14:18] == [-2, 0, 4, 8]  # at 0 the hold is over: released gravity
    assert [s.held for s in states[1:]][14:18] == [1, 1, 0, 0]


def test_the_fall_stops_speeding_up_at_the_terminal_speed() -> None:
    states = play(in_sky(), PLAIN, SKY, (12, ""))
    assert [s.vy for s in states] == [0, 4, 8, 12, 16, 20, 24, 28, 32, 36, 40, 40, 40]


def test_a_jump_with_launch_speed_zero_hangs_a_tick_then_falls_back() -> None:
    states = play(on_floor(), motion_of(jump_launch=0), FLOOR, (3, "j"))
    assert [(s.grounded, s.vy, s.y) for s in states[1:]] == [(0, 0, FLOOR_Y), (1, 0, FLOOR_Y), (1, 0, FLOOR_Y)]


LEDGE = make_terrain(["......"] * 4 + ["##....", "##....", "######"], tile=T)


def walked_off(motion: Motion) -> list[State]:
    """Until the tick in which the ground is lost."""
    states = play(make_state(2 * T - 10, FLOOR_Y, grounded=1, vx=8), motion, LEDGE, (40, "r"))
    lost = next(t for t, s in enumerate(states) if not s.grounded)
    return states[: lost + 1]


@pytest.mark.parametrize("coyote_ticks", [0, 1, 3])
@pytest.mark.parametrize("late", range(1, 6))
def test_coyote_time_allows_a_jump_so_many_ticks_after_the_ground_is_lost(coyote_ticks: int, late: int) -> None:
    motion = motion_of(coyote_ticks=coyote_ticks)
    states = play(walked_off(motion)[-1], motion, LEDGE, (late - 1, "r"), (1, "rj"))
    assert (states[-1].vy == -30) == (late <= coyote_ticks)


def test_losing_the_ground_sets_takeoff_coyote_and_a_fall_from_the_next_tick() -> None:
    motion = motion_of(coyote_ticks=3)
    lost = walked_off(motion)[-1]
    assert (lost.takeoff, lost.coyote, lost.vy, lost.held, lost.y) == (10, 3, 0, 0, FLOOR_Y)
    following = play(lost, motion, LEDGE, (4, "r"))
    assert [s.vy for s in following] == [0, 4, 8, 12, 16]
    assert [s.coyote for s in following] == [3, 2, 1, 0, 0]


def test_a_coyote_jump_takes_off_with_the_speed_of_the_air() -> None:
    motion = motion_of(coyote_ticks=3, jump_from=[0, 11], jump_launch=[30, 44], air_accel=5, air_cap=12)
    state = play(walked_off(motion)[-1], motion, LEDGE, (1, "rj"))[-1]
    assert (state.vx, state.takeoff, state.vy, state.coyote) == (12, 12, -44, 0)


def test_a_jump_ends_coyote_time() -> None:
    motion = motion_of(coyote_ticks=3)
    assert tick(on_floor(), "j", motion).coyote == 0
    states = play(walked_off(motion)[-1], motion, LEDGE, (1, "rj"), (1, "r"), (1, "rj"))
    assert [s.vy for s in states[1:]] == [-30, -26, -22]


# --- batch ---


def test_a_script_is_its_ticks_one_by_one() -> None:
    steps = (9, "r"), (6, "rj"), (20, "l"), (3, "d"), (9, "")
    states = play(on_floor(), PLAIN, FLOOR, *steps)
    assert len(states) == 48
    for before, after, row in zip(states, states[1:], inputs(*steps).tolist(), strict=False):
        text = "rl"[row[0] < 0] * abs(row[0]) + "d" * row[1] + "R" * row[2] + "j" * row[3]
        assert tick(before, text) == after
