"""Windows against `step`, against closed forms and against the normal distribution; cures on maps drawn anew."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from reach.findings import MoveKind
from reach.kernels.course import compile_course
from reach.kernels.params import Motion, State, Terrain
from reach.kernels.script_grid import script_grid
from reach.kernels.step import run_script
from reach.movement import load_movement
from reach.reachability.cures import Cure, least_cure
from reach.reachability.explore import explore
from reach.reachability.footholds import find_footholds
from reach.reachability.plan_answers import alone
from reach.reachability.plan_search import find_window, landing_room_spx
from reach.reachability.plan_task import Ground, foothold_ground, make_task
from reach.reachability.result import Foothold
from reach.reachability.windows import (
    Plan,
    PlanEnd,
    Window,
    measure_move,
    measure_script_window,
)
from reach.reachability.witness import UnderMove
from tests.builders import PX, TILE, inputs, make_motion, make_state, make_terrain, standing

TICK_MS = 1000 / 60
SPREAD_MS = 25.0
LAMPLIGHTER = Path(__file__).parents[2] / "sample_levels" / "movement" / "lamplighter.json"
EMPTY_ROW = "." * 40


def foothold_at(footholds: tuple[Foothold, ...], column: int, row: int) -> Foothold:
    return next(f for f in footholds if f.row == row and f.columns[0] <= column <= f.columns[1])


def measure(
    rows: list[str],
    kind: MoveKind,
    source: tuple[int, int],
    target: tuple[int, int] | int,
    motion: Motion,
    cap: int = 30,
    spread_ms: float = SPREAD_MS,
) -> Window:
    terrain = make_terrain(rows)
    footholds = find_footholds(motion, terrain)
    goal = target if isinstance(target, int) else foothold_at(footholds, *target)
    return measure_move(
        motion,
        terrain,
        foothold_at(footholds, *source),
        goal,
        kind,
        tick_ms=TICK_MS,
        spread_ms=spread_ms,
        cap=cap,
    )


def gap(tiles: int, rise: int = 0) -> list[str]:
    far = "." * (10 + tiles) + "#" * (30 - tiles)
    return [EMPTY_ROW] * (6 - rise) + [far] * rise + ["#" * 10 + far[10:]] * 2


def landing(
    plan: Plan, row: int, press: int, hold: int, steer: int, motion: Motion, terrain: Terrain, target: Foothold
) -> int | None:
    """Where a jump off a row with other ticks lands if it comes to rest on the target, x in spx, by `run_script`."""
    rows = [[plan.facing, 0, int(plan.run), 0]] * max(press, 0)
    for t in range(200):
        direction = plan.facing if max(-press, 0) <= t < steer else 0
        if t >= steer and plan.end is PlanEnd.OPPOSITE:
            direction = -plan.facing
        rows.append([direction, 0, int(plan.run), int(t < hold)])
    start = make_state(plan.x_spx, row * terrain.tile - motion.body_h, grounded=1)
    states = run_script(start, np.array(rows, np.int64), motion, terrain)
    airborne = np.flatnonzero(states[:, 4] == 0)
    # takeoff by the press itself, not by walking off the edge for good
    first = airborne[0]
    landed = first + np.flatnonzero(states[first:, 4] == 1)[0] if (states[first:, 4] == 1).any() else None
    if landed is None or landed <= max(press, 0) or not on(states[landed], target, motion, terrain):
        return None
    state = State(*(int(n) for n in states[landed]))
    while state.vx:
        braking = np.array([[-1 if state.vx > 0 else 1, 0, 0, 0]], np.int64)
        state = State(*(int(n) for n in run_script(state, braking, motion, terrain)[-1]))
        if not state.grounded:
            return None
    return int(states[landed, 0]) if on(np.array(state), target, motion, terrain) else None


def succeeds(plan: Plan, press: int, hold: int, steer: int, motion: Motion, terrain: Terrain, target: Foothold) -> bool:
    """Whether a jump off the other foothold with other ticks still comes to rest on the target."""
    row = next(f.row for f in find_footholds(motion, terrain) if f is not target)
    return landing(plan, row, press, hold, steer, motion, terrain, target) is not None


def on(state: np.ndarray, target: Foothold, motion: Motion, terrain: Terrain) -> bool:
    same_row = state[1] + motion.body_h == target.row * terrain.tile
    return bool(same_row and target.left_spx <= state[0] <= target.right_spx and state[4])


@pytest.mark.parametrize("tiles", [7, 8, 9])
def test_every_combination_of_a_tight_window_succeeds_and_no_larger_box_does(tiles: int):
    """All w^3 combinations around the plan through `step`; and around it no larger box in the neighbourhood."""
    motion = make_motion(run_cap=180000, coyote_ticks=3)
    terrain = make_terrain(gap(tiles))
    footholds = find_footholds(motion, terrain)
    source, target = footholds
    window = measure(gap(tiles), MoveKind.JUMP, (9, 6), (10 + tiles, 6), motion)
    plan = window.plan
    assert plan is not None
    assert 0 < window.window_ticks < 30
    reach = 3
    w = window.window_ticks
    near = range(plan.press_tick - (w - 1) // 2 - reach, plan.press_tick + w // 2 + reach + 1)
    holds = range(plan.hold_ticks - 2, plan.hold_ticks + 1)
    steers = range(plan.steer_until - 2, plan.steer_until + 3)
    works = [
        all(succeeds(plan, press, hold, steer, motion, terrain, target) for hold, steer in product(holds, steers))
        for press in near
    ]
    assert longest_run(works) >= min(w, len(works))
    full = [succeeds(plan, press, plan.hold_ticks, plan.steer_until, motion, terrain, target) for press in near]
    assert longest_run(full) == w
    assert source.index == 0


def test_where_a_wall_stops_every_flight_the_window_is_wide_and_the_landings_lie_close():
    """Into a slot of one tile behind a block: each flight that clears the block slides down the wall behind the slot.

    Before the press the run-up only pushes against the block, so that the press may come on any tick.
    """
    rows = ["." * 12] * 2 + ["......######"] * 3 + ["....#.######", "#" * 12]
    motion = make_motion()
    terrain = make_terrain(rows)
    footholds = find_footholds(motion, terrain)
    source, target = foothold_at(footholds, 2, 6), foothold_at(footholds, 5, 6)
    grounds = [foothold_ground(one, motion, terrain) for one in (source, target)]
    task = make_task(motion, compile_course(terrain), MoveKind.JUMP, grounds[0], grounds[1])
    found = alone(find_window(task, (), 30))
    assert found is not None and found.window_ticks == 30
    plan = measure(rows, MoveKind.JUMP, (2, 6), (5, 6), motion).plan
    assert plan is not None
    ticks = [(first, first + 11, first + 22, first + 29) for first in found.low]
    spots = [landing(plan, 6, *combination, motion, terrain, target) for combination in product(*ticks)]
    assert None not in spots
    lands = [spot for spot in spots if spot is not None]
    room = alone(landing_room_spx(task, found))
    assert max(lands) == target.right_spx and max(lands) - min(lands) <= room < PX
    assert room < (target.right_spx - target.left_spx) // 2


def under_a_ceiling(tiles: int) -> list[str]:
    """A gap of three tiles, so many tiles below a ceiling."""
    return ["#" * 21, *["." * 21] * tiles, "####...##############", "####...##############"]


def test_under_a_low_ceiling_a_window_is_what_the_best_of_all_starts_leaves():
    """Starts all along the run-up leave the press at most four ticks, and most of them fewer."""
    motion = load_movement(LAMPLIGHTER).motion
    terrain = make_terrain(under_a_ceiling(3))
    _, source, target = find_footholds(motion, terrain)
    window = measure_move(
        motion, terrain, source, target, MoveKind.JUMP, tick_ms=TICK_MS, spread_ms=SPREAD_MS, wanted=4
    )
    plan, w = window.plan, window.window_ticks
    assert plan is not None
    centre = (plan.press_tick, plan.hold_ticks, plan.steer_until)
    box = product(*(range(tick - (w - 1) // 2, tick + w // 2 + 1) for tick in centre))
    assert all(landing(plan, 4, *combination, motion, terrain, target) is not None for combination in box)
    most = []
    for x in np.linspace(source.left_spx, source.right_spx, 400):
        start = replace(plan, x_spx=int(x), run=True)
        edge = run_up_ticks(start.x_spx, source, motion, terrain)
        presses = range(max(edge - 8, 0), edge + 1)
        most.append(longest_run([landing(start, 4, n, 40, 200, motion, terrain, target) is not None for n in presses]))
    assert w == max(most) == 4
    assert 0 < most.count(4) < most.count(3)


def run_up_ticks(x: int, source: Foothold, motion: Motion, terrain: Terrain) -> int:
    """The most ticks of a run to the right after which the body is still on the source, by `run_script`."""
    start = make_state(x, source.row * terrain.tile - motion.body_h, grounded=1)
    states = run_script(start, np.array([[1, 0, 1, 0]] * 120, np.int64), motion, terrain)
    return int(np.flatnonzero((states[:, 4] == 1) & (states[:, 0] <= source.right_spx))[-1])


def test_under_a_ceiling_lower_by_a_tile_the_same_gap_is_too_wide():
    motion = load_movement(LAMPLIGHTER).motion
    terrain = make_terrain(under_a_ceiling(2))
    _, source, target = find_footholds(motion, terrain)
    window = measure_move(
        motion, terrain, source, target, MoveKind.JUMP, tick_ms=TICK_MS, spread_ms=SPREAD_MS, wanted=4
    )
    assert (window.window_ticks, window.plan) == (0, None)
    seen = explore(motion, terrain, standing(1, 2, motion, terrain))
    assert seen.complete and seen.landed.tolist() == [False, True, False]


def longest_run(flags: list[bool]) -> int:
    best = run = 0
    for flag in flags:
        run = run + 1 if flag else 0
        best = max(best, run)
    return best


@pytest.mark.parametrize("tiles", [5, 6, 7, 8, 9])
@pytest.mark.parametrize("coyote", [0, 4])
def test_press_ticks_over_a_gap_are_counted_by_the_closed_form(tiles: int, coyote: int):
    """At top speed v a flight of N ticks covers N*v (motion model, section 6); the press may come on each tick that
    takes off late enough to clear the gap, up to the edge and through coyote time; hold and steering are open-ended.
    Where the takeoff is slower, it speeds up in the air by 3500 a tick."""
    speed = 150000
    held, launch = 9000, 270000
    motion = make_motion(
        walk_cap=speed,
        walk_accel=10000,
        air_cap=[speed],
        jump_launch=[launch],
        jump_gravity_held=[held],
        jump_gravity=[held],
        terminal=400000,
        coyote_ticks=coyote,
    )
    # y after n ticks: n*launch - g*n(n-1)/2; landing on the same height: the first n with y < 0
    ticks = next(n for n in range(1, 200) if n * launch - held * (n * (n - 1) // 2) < 0)
    terrain = make_terrain(gap(tiles))
    source, target = find_footholds(motion, terrain)
    window = measure(gap(tiles), MoveKind.JUMP, (9, 6), (10 + tiles, 6), motion)
    plan = window.plan
    assert plan is not None
    xs, speeds = [plan.x_spx], [0]
    while xs[-1] <= source.right_spx + (coyote + 2) * speed:
        speeds.append(min(speeds[-1] + 10000, speed))
        xs.append(xs[-1] + speeds[-1])
    # xs[n]: where the body stands when the press comes after n ticks; the last tick on the ground is the edge's
    edge = next(n for n, x in enumerate(xs) if x > source.right_spx)
    presses = []
    for n in range(edge + coyote):
        takeoff = min(speeds[n] + (10000 if n < edge else 3500), speed)
        flown = sum(min(takeoff + 3500 * t, speed) for t in range(ticks))
        if xs[n] + flown >= target.left_spx:
            presses.append(n)
    assert window.window_ticks == min(len(presses), 30)


TOP_SPEED_FOR_PRESSES = {1: 154000, 2: 157000, 3: 160000}
"""With this top speed a gap of 8 tiles is cleared on so many press ticks; the tests make sure of it."""


# Derived values: the chances of a window of k ticks at 60 Hz for a spread of 10, 25 and 50 ms, aimed at its middle.
CHANCE_OF_TICKS = {
    1: {10.0: 0.5953, 25.0: 0.2611, 50.0: 0.1324},
    2: {10.0: 0.9044, 25.0: 0.4950, 50.0: 0.2611},
    3: {10.0: 0.9876, 25.0: 0.6827, 50.0: 0.3829},
}


@pytest.mark.parametrize("presses", [1, 2, 3])
def test_a_window_of_the_press_alone_has_the_derived_chance(presses: int):
    speed = TOP_SPEED_FOR_PRESSES[presses]
    motion, rows = make_motion(walk_cap=speed, walk_accel=10000, air_cap=[speed]), gap(8)
    for spread_ms, chance in CHANCE_OF_TICKS[presses].items():
        window = measure(rows, MoveKind.JUMP, (9, 6), (18, 6), motion, spread_ms=spread_ms)
        assert window.window_ticks == presses
        assert window.chance_step_ticks == 1
        # hold and steering are nearly open-ended, not quite: an early release or turn costs a little
        assert window.chance == pytest.approx(chance, abs=0.03)
        width = presses * TICK_MS
        assert window.chance <= norm.cdf(width / 2, scale=spread_ms) - norm.cdf(-width / 2, scale=spread_ms) + 1e-9


def test_the_chance_is_of_the_joint_grid_and_at_least_that_of_the_box():
    """The box's three windows, each hit with the normal chance, are a subset of what succeeds."""
    motion = make_motion(run_cap=180000)
    window = measure(gap(8), MoveKind.JUMP, (9, 6), (18, 6), motion)
    one = norm.cdf(window.window_ticks * TICK_MS / 2, scale=SPREAD_MS) * 2 - 1
    assert one**3 - 1e-6 <= window.chance <= 1.0


def test_a_spread_of_many_ticks_is_summed_in_steps_and_says_so():
    motion = make_motion(run_cap=180000)
    fine = measure(gap(8), MoveKind.JUMP, (9, 6), (18, 6), motion, spread_ms=60.0)
    coarse = measure(gap(8), MoveKind.JUMP, (9, 6), (18, 6), motion, spread_ms=200.0)
    assert fine.chance_step_ticks == 1
    assert coarse.chance_step_ticks > 1
    assert 0 < coarse.chance < fine.chance


@pytest.mark.parametrize(
    ("rows", "kind", "source", "target"),
    [
        (gap(4), MoveKind.JUMP, (9, 6), (14, 6)),
        (gap(8, 2), MoveKind.JUMP, (9, 6), (18, 4)),
        (gap(0, 2), MoveKind.JUMP, (9, 6), (10, 4)),
        ([EMPTY_ROW] * 4 + ["." * 10 + "==" + "." * 28, EMPTY_ROW, "#" * 40], MoveKind.JUMP, (9, 6), (10, 4)),
        ([EMPTY_ROW] * 4 + ["." * 10 + "##" + "." * 28, EMPTY_ROW, "#" * 40], MoveKind.JUMP, (9, 6), (10, 4)),
        ([EMPTY_ROW] * 4 + ["." * 10 + "==" + "." * 28, EMPTY_ROW, "#" * 40], MoveKind.DROP, (10, 4), (9, 6)),
        ([EMPTY_ROW] * 4 + ["." * 10 + "##" + "." * 28, EMPTY_ROW, "#" * 40], MoveKind.WALK_OFF, (10, 4), (9, 6)),
        ([EMPTY_ROW] * 4 + ["." * 10 + "S#" + "." * 28, EMPTY_ROW, "#" * 40], MoveKind.SPRING, (10, 4), (9, 6)),
        ([EMPTY_ROW] * 4 + ["." * 10 + "##.##S" + "." * 24, EMPTY_ROW, "#" * 40], MoveKind.JUMP, (10, 4), (15, 4)),
    ],
)
def test_the_plan_in_the_middle_of_the_box_replays_from_rest_to_rest(rows, kind, source, target):
    motion = make_motion(run_cap=180000, coyote_ticks=3, drop_through=1)
    terrain = make_terrain(rows)
    footholds = find_footholds(motion, terrain)
    start_ground = foothold_ground(foothold_at(footholds, *source), motion, terrain)
    goal = foothold_at(footholds, *target)
    window = measure(rows, kind, source, target, motion)
    assert window.window_ticks > 1
    assert window.plan is not None
    assert start_ground.left <= window.plan.x_spx <= start_ground.right
    launch = int(terrain.launch.max()) if kind is MoveKind.SPRING else 0
    start = make_state(window.plan.x_spx, start_ground.y, grounded=int(not launch), vy=-launch)
    states = run_script(start, window.inputs, motion, terrain)
    last = states[-1]
    assert last[1] + motion.body_h == goal.row * terrain.tile
    assert goal.left_spx <= last[0] <= goal.right_spx
    if not goal.is_spring:
        assert last[4] == 1
        assert last[2] == 0
    assert int((states[1:, 4] == 0).sum()) in range(window.air_ticks - 1, window.air_ticks + 1)
    centre = [((s[0] * 2 + motion.body_w) / (2 * PX), (s[1] + motion.body_h) / PX) for s in states]
    length = len(window.arc_px)
    assert length == window.air_ticks + 1
    assert any(tuple(centre[i : i + length]) == window.arc_px for i in range(len(centre) - length + 1))


def test_holding_and_steering_on_are_open_ended():
    """Straight up through a one_way tile: no tick matters but that the button is held long enough."""
    rows = [EMPTY_ROW] * 4 + ["." * 10 + "====" + "." * 26, EMPTY_ROW, "#" * 40]
    window = measure(rows, MoveKind.JUMP, (9, 6), (11, 4), make_motion())
    assert window.open
    assert window.window_ticks == 30
    assert window.chance == pytest.approx(1.0, abs=1e-6)
    assert measure(rows, MoveKind.JUMP, (9, 6), (11, 4), make_motion(), cap=12).window_ticks == 12


def test_walking_off_an_edge_needs_no_timing():
    rows = [EMPTY_ROW] * 4 + ["##########" + "." * 30, EMPTY_ROW, "#" * 40]
    window = measure(rows, MoveKind.WALK_OFF, (5, 4), (20, 6), make_motion())
    assert window.open
    assert window.plan is not None
    assert window.plan.press_tick == 0


def test_a_stride_over_a_narrow_gap_is_measured_on_its_stopping_ticks():
    """At 24 px a tick the body steps over a gap of one tile without being off the ground in between."""
    motion = make_motion(body_w=4 * PX, walk_accel=300000, walk_cap=24 * PX, coast=300000, reverse=300000)
    rows = [EMPTY_ROW] * 3 + ["#" * 12 + "." + "#" * 27, EMPTY_ROW]
    terrain = make_terrain(rows)
    source, target = find_footholds(motion, terrain)
    window = measure(rows, MoveKind.STRIDE, (5, 3), (20, 3), motion)
    assert window.window_ticks > 3
    assert window.air_ticks == 0
    assert window.plan is not None
    start = make_state(window.plan.x_spx, 3 * TILE - motion.body_h, grounded=1)
    states = run_script(start, window.inputs, motion, terrain)
    assert states[:, 4].all()
    assert target.left_spx <= states[-1][0] <= target.right_spx
    assert source.right_spx < target.left_spx


def test_a_place_in_the_air_counts_when_touched():
    rows = [EMPTY_ROW] * 3 + ["." * 14 + "+" + "." * 25, EMPTY_ROW, EMPTY_ROW, "#" * 40]
    window = measure(rows, MoveKind.JUMP, (9, 6), 0, make_motion())
    assert window.window_ticks > 3
    terrain = make_terrain(rows)
    motion = make_motion()
    assert window.plan is not None
    start = make_state(window.plan.x_spx, 6 * TILE - motion.body_h, grounded=1)
    last = run_script(start, window.inputs, motion, terrain)[-1]
    assert last[0] < 15 * TILE and last[0] + motion.body_w > 14 * TILE
    assert last[1] < 4 * TILE and last[1] + motion.body_h > 3 * TILE


def test_ice_too_short_to_stop_on_is_passing_only():
    """A stop from v takes about v^2 / 2d: far longer than two tiles here, whatever the plan."""
    slippery = make_motion(coast=30, reverse=30, air_reverse=[30], air_accel=[2000])
    rows = [EMPTY_ROW] * 6 + ["#" * 10 + "...##" + "." * 25, "#" * 10 + "." * 30]
    window = measure(rows, MoveKind.JUMP, (9, 6), (13, 6), slippery)
    assert window.passing_only
    assert window.window_ticks > 0
    firm = measure(rows, MoveKind.JUMP, (9, 6), (13, 6), make_motion())
    assert not firm.passing_only


def test_a_gap_too_wide_has_no_window_and_says_why():
    window = measure(gap(14), MoveKind.JUMP, (9, 6), (24, 6), make_motion())
    assert window.window_ticks == 0
    assert window.why_not
    assert window.chance is None


def known(kind: MoveKind, from_rest: bool, start: State, script: np.ndarray) -> UnderMove:
    return UnderMove(0, 1, None, kind, from_rest, True, start, script, 3)


def with_speed(tiles: int) -> tuple[Motion, Terrain, State, np.ndarray]:
    """A short ledge before a gap, reached at full run: its jump needs the speed brought in."""
    motion = make_motion(run_cap=220000, run_accel=2500, coyote_ticks=2)
    rows = [EMPTY_ROW] * 6 + ["#" * 10 + "." * tiles + "#" * (30 - tiles)] * 2
    terrain = make_terrain(rows)
    state = make_state(9 * TILE - 4 * PX, 6 * TILE - motion.body_h, grounded=1, vx=220000)
    return motion, terrain, state, inputs((3, "rR"), (40, "rRj"), (60, "l"))


def test_a_move_with_speed_brought_in_is_measured_on_its_script():
    motion, terrain, state, script = with_speed(8)
    footholds = find_footholds(motion, terrain)
    # braking: opposite until rest, then nothing
    states = run_script(state, script, motion, terrain)
    rest = int(np.flatnonzero((states[:, 2] == 0) & (np.arange(len(states)) > 43))[0])
    script = script[:rest]
    window = measure_script_window(motion, terrain, state, script, footholds[1], tick_ms=TICK_MS, spread_ms=SPREAD_MS)
    assert not window.why_not
    assert 0 < window.window_ticks < 30
    # by hand: shift the press alone, through `step`
    works = []
    for press in range(12):
        rows = [[1, 0, 1, 0]] * press + [[1, 0, 1, int(t < 40)] for t in range(120)]
        flown = run_script(state, np.array(rows, np.int64), motion, terrain)
        jumped = flown[:, 3].min() < -200000
        landed = np.flatnonzero((flown[1:, 4] == 1) & (flown[:-1, 4] == 0)) + 1
        works.append(bool(jumped and landed.size and on(flown[landed[0]], footholds[1], motion, terrain)))
    assert window.window_ticks == longest_run(works)


def test_a_direction_held_until_the_landing_is_let_go_of_sooner():
    """A walk off a ledge with speed brought in, right held all along: letting go too soon misses, too late does not."""
    motion = make_motion(run_cap=180000)
    terrain = make_terrain([EMPTY_ROW] * 6 + ["####" + "." * 36] + [EMPTY_ROW] * 3 + ["####.." + "#" * 34])
    target = find_footholds(motion, terrain)[-1]
    state = make_state(0, 6 * TILE - motion.body_h, grounded=1)
    script = inputs((200, "r"))
    works = []
    for ticks in range(1, 60):
        flown = run_script(state, inputs((ticks, "r"), (200, "")), motion, terrain)
        landed = np.flatnonzero((flown[1:, 4] == 1) & (flown[:-1, 4] == 0)) + 1
        works.append(bool(landed.size and on(flown[landed[0]], target, motion, terrain)))
    assert any(works) and not all(works)
    goal = foothold_ground(target, motion, terrain)
    task = make_task(motion, compile_course(terrain), MoveKind.WALK_OFF, Ground(state.x, state.x, state.y), goal)
    first = np.array([*state[:11], 0, 0], np.int64)
    one, ticks = np.array([0], np.int64), np.arange(1, 60, dtype=np.int64)
    worths, _ = script_grid(first, script, -1, 0, 199, one, one, ticks, task.scene, 400)
    assert (worths[0, 0] > 0).tolist() == works
    window = measure_script_window(motion, terrain, state, script, target, tick_ms=TICK_MS, spread_ms=SPREAD_MS)
    assert window.open and window.chance is not None and window.chance > 0.999


def test_a_script_that_does_not_make_the_move_says_so():
    motion, terrain, state, script = with_speed(20)
    footholds = find_footholds(motion, terrain)
    window = measure_script_window(motion, terrain, state, script, footholds[1], tick_ms=TICK_MS, spread_ms=SPREAD_MS)
    assert window.window_ticks == 0
    assert window.why_not


def test_a_move_without_a_plan_is_measured_on_its_hint():
    """With hardly any acceleration nobody runs up on the ledge; the script brings its speed along."""
    motion, terrain, state, script = with_speed(8)
    footholds = find_footholds(motion, terrain)
    states = run_script(state, script, motion, terrain)
    rest = int(np.flatnonzero((states[:, 2] == 0) & (np.arange(len(states)) > 43))[0])
    hint = known(MoveKind.JUMP, True, state, script[:rest])
    slow = motion._replace(run_accel=10, walk_accel=10, air_accel=np.array([10]))
    window = measure_move(
        slow, terrain, footholds[0], footholds[1], MoveKind.JUMP, hint, tick_ms=TICK_MS, spread_ms=SPREAD_MS
    )
    assert window.plan is None
    assert window.window_ticks > 0


def moved_by_tiles(rows: list[str], nearer: int, lower: int) -> list[str]:
    """The map of `gap` with its far ground drawn anew."""
    near = [line[:10] for line in rows]
    far = [line[10:] for line in rows]
    far = [line[nearer:] + line[-1] * nearer for line in far]
    far = ["." * len(far[0])] * lower + far[: len(far) - lower]
    return [a + b for a, b in zip(near, far, strict=True)]


def test_a_cure_is_the_least_shift_that_passes():
    motion = make_motion(run_cap=180000, coyote_ticks=3)
    rows = gap(9)
    terrain = make_terrain(rows)
    source, target = find_footholds(motion, terrain)
    before = measure(rows, MoveKind.JUMP, (9, 6), (19, 6), motion).window_ticks
    cure = least_cure(motion, terrain, source, target, MoveKind.JUMP, before + 5)
    assert cure.nearer_px is not None
    assert 1 < cure.nearer_px <= 16
    # one tile nearer, drawn as a map of its own, is enough as well; as it is, it is not
    assert measure(moved_by_tiles(rows, 1, 0), MoveKind.JUMP, (9, 6), (18, 6), motion).window_ticks >= before + 5
    # each press tick at top speed is worth about 2.75 px
    assert cure.nearer_px == pytest.approx(5 * 180000 / PX, abs=3)
    assert least_cure(motion, terrain, source, target, MoveKind.JUMP, before) == Cure(1, 1)


def test_a_cure_of_whole_tiles_is_confirmed_on_a_map_drawn_anew():
    motion = make_motion(run_cap=180000, coyote_ticks=3)
    rows = gap(9, 1)
    terrain = make_terrain(rows)
    footholds = find_footholds(motion, terrain)
    source, target = foothold_at(footholds, 9, 6), foothold_at(footholds, 19, 5)
    for wanted in (4, 8):
        cure = least_cure(motion, terrain, source, target, MoveKind.JUMP, wanted)
        for kind, px in (("nearer", cure.nearer_px), ("lower", cure.lower_px)):
            for tiles in (0, 1, 2):
                nearer, lower = (tiles, 0) if kind == "nearer" else (0, tiles)
                drawn = moved_by_tiles(rows, nearer, lower)
                window = measure(drawn, MoveKind.JUMP, (9, 6), (19 - nearer, 5 + lower), motion)
                if px is not None and tiles * 16 >= px:
                    assert window.window_ticks >= wanted, (kind, px, tiles)
                if px is None or tiles * 16 < px:
                    assert window.window_ticks < wanted, (kind, px, tiles)


def test_ground_that_hangs_together_is_lowered_only_under_the_target():
    motion = make_motion()
    rows = [EMPTY_ROW] * 3 + ["." * 10 + "#" * 30] * 4 + ["#" * 40] * 2
    terrain = make_terrain(rows)
    footholds = find_footholds(motion, terrain)
    source, target = foothold_at(footholds, 5, 7), foothold_at(footholds, 20, 3)
    assert measure(rows, MoveKind.JUMP, (5, 7), (20, 3), motion).window_ticks == 0
    cure = least_cure(motion, terrain, source, target, MoveKind.JUMP, 4)
    assert cure.lower_px is not None
    # the apex of a held jump: g*q*(q+1)/2 and a rest, for launch = q*g + rest (motion model, section 6)
    launch, held = 260000, 9000
    apex = max(n * launch - held * (n * (n - 1) // 2) for n in range(60))
    needed = (4 * TILE - apex) / PX
    assert needed < cure.lower_px < needed + 4
