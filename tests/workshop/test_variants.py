"""The tick in plain Python: the reference's to the bit without a switch, and what each switch changes."""

import dataclasses

import numpy as np
import pytest

from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.workshop.flat_ground import at_rest, flat_ground
from reach.workshop.variants import SHARE, Player, Variant, to_grid
from tests.builders import PX, inputs, make_motion, random_inputs, random_motion, random_start, random_terrain

TILES = (16, 24, 4096, 16 * PX)


@pytest.mark.small
@pytest.mark.parametrize("seed", range(60))
def test_without_a_switch_it_is_the_reference_to_the_bit(seed):
    dice = np.random.default_rng(seed)
    tile = TILES[seed % len(TILES)]
    for _ in range(6):
        motion, terrain = random_motion(dice, tile), random_terrain(dice, tile)
        if motion.body_w > tile * terrain.material.shape[1]:
            continue
        start = next((s for s in (random_start(dice, motion, terrain) for _ in range(20)) if s is not None), None)
        if start is None:
            continue
        script = random_inputs(dice, 80)
        states = [State(*row) for row in run_script(start, script, motion, terrain).tolist()]
        player = Player(motion, terrain)
        for before, buttons, after in zip(states, script.tolist(), states[1:], strict=False):
            assert player.tick(before, buttons) == after
        assert player.play(start, script).tolist() == [[state.x, state.y] for state in states]


def test_the_comparison_sees_thousands_of_ticks_of_every_kind():
    """A check of the check: what the test above plays has landings, walls, springs and losses in it."""
    moved = landed = lost = 0
    for seed in range(60):
        dice = np.random.default_rng(seed)
        tile = TILES[seed % len(TILES)]
        motion, terrain = random_motion(dice, tile), random_terrain(dice, tile)
        start = next((s for s in (random_start(dice, motion, terrain) for _ in range(20)) if s is not None), None)
        if start is None:
            continue
        states = run_script(start, random_inputs(dice, 80), motion, terrain)
        moved += int((np.diff(states[:, :2], axis=0) != 0).any(axis=1).sum())
        landed += int((np.diff(states[:, 4]) > 0).sum())
        lost += int(states[-1, 11])
    assert moved > 800
    assert landed > 20
    assert lost > 2


MOTION = make_motion(
    walk_accel=4000,
    walk_cap=100000,
    coast=3000,
    reverse=9000,
    run_cap=150000,
    jump_launch=260000,
    jump_gravity_held=9000,
    jump_gravity=20000,
    terminal=150000,
)


def speeds(variant, *steps, motion=MOTION, start=None):
    """(vx, vy, grounded) after every tick on flat ground."""
    player = Player(motion, flat_ground(), variant)
    state = start or at_rest(motion)
    told = []
    for row in inputs(*steps).tolist():
        state = player.tick(state, row)
        told.append((state.vx, state.vy, state.grounded))
    return told


def path(variant, *steps, motion=MOTION):
    rest = at_rest(motion)
    return (Player(motion, flat_ground(), variant).play(rest, inputs(*steps)) - [rest.x, rest.y]).tolist()


def test_moving_first_uses_the_speed_of_the_tick_before():
    assert [x for x, _ in path(Variant(move_first=True), (4, "r"))] == [0, 0, 4000, 12000, 24000]
    assert [y for _, y in path(Variant(move_first=True), (3, "j"))] == [0, 0, -260000, -511000]


def test_the_mean_speed_is_half_way_between():
    assert [x for x, _ in path(Variant(mean_speed=True), (3, "r"))] == [0, 2000, 8000, 18000]


def test_a_delay_of_input_shifts_what_the_buttons_do():
    late = path(Variant(input_delay_ticks=2), (10, "r"), (10, "rj"))
    assert late == [[0, 0], [0, 0], *path(Variant(), (10, "r"), (8, "rj"))]


def test_reversing_may_pass_through_zero():
    assert speeds(Variant(), (2, "r"), (2, "l"))[-2:] == [(0, 0, 1), (-4000, 0, 1)]
    assert speeds(Variant(reverse_through_zero=True), (2, "r"), (2, "l"))[-2:] == [(-1000, 0, 1), (-5000, 0, 1)]


def test_a_speed_above_the_top_speed_may_be_cut_at_once():
    assert speeds(Variant(), (60, "rR"), (1, "r"))[-1][0] == 147000
    assert speeds(Variant(excess_cut=True), (60, "rR"), (1, "r"))[-1][0] == 100000


def test_the_ground_s_rules_may_hold_in_the_air():
    steps = (40, "rR"), (5, "rRj"), (10, "j")
    assert speeds(Variant(), *steps)[-1][0] == 150000
    assert speeds(Variant(ground_rules_in_air=True), *steps)[-1][0] == 120000
    assert speeds(Variant(air_coasts=True), *steps)[-1][0] == 120000


def test_gravity_may_stay_low_after_the_apex_or_come_back_with_the_button():
    falling = speeds(Variant(), (45, "j"))
    assert falling[30][1] - falling[29][1] == 20000
    falling = speeds(Variant(held_after_apex=True), (45, "j"))
    assert falling[31][1] - falling[30][1] == 9000
    steps = (3, "j"), (2, ""), (3, "j")
    assert np.diff([vy for _, vy, _ in speeds(Variant(), *steps)])[-1] == 20000
    assert np.diff([vy for _, vy, _ in speeds(Variant(held_anew=True), *steps)])[-1] == 9000


def test_a_release_may_cut_a_share_of_the_speed():
    before, after = speeds(Variant(release_share=SHARE // 2), (3, "j"), (1, ""))[-2:]
    assert after[1] == before[1] // 2 + 20000
    assert speeds(Variant(release_share=0), (3, "j"), (1, ""))[-1][1] == 20000


def test_the_terminal_speed_may_be_passed_by_a_tick_of_gravity():
    assert max(vy for _, vy, _ in speeds(Variant(), (60, "j"))) == 150000
    assert max(vy for _, vy, _ in speeds(Variant(terminal_before_gravity=True), (60, "j"))) == 170000


def test_bands_may_go_by_the_current_speed():
    motion = MOTION._replace(
        **{
            name: np.array(values)
            for name, values in {
                "jump_from": [0, 90000],
                "jump_launch": [260000, 260000],
                "jump_gravity_held": [9000, 5000],
                "jump_gravity": [20000, 20000],
            }.items()
        }
    )
    steps = (40, "r"), (2, "rj"), (3, "lj")
    assert np.diff([vy for _, vy, _ in speeds(Variant(), *steps, motion=motion)])[-1] == 5000
    assert np.diff([vy for _, vy, _ in speeds(Variant(bands_by_current_speed=True), *steps, motion=motion)])[-1] == 9000


def test_a_landing_may_stop_the_body():
    steps = (40, "r"), (60, "rj")
    assert min(vx for vx, _, _ in speeds(Variant(), *steps)[40:]) == 100000
    assert min(vx for vx, _, _ in speeds(Variant(landing_stops=True), *steps)[40:]) == 0


def test_a_touch_may_count_as_a_landing():
    motion = MOTION._replace(jump_launch=np.array([40000]), jump_gravity_held=np.array([20000]), terminal=900000)
    # 40000, then up 20000, then an apex tick, then down 20000 and 40000: exactly on the ground again
    grounded = [row[2] for row in speeds(Variant(), (7, "j"), motion=motion)]
    touching = [row[2] for row in speeds(Variant(lands_on_touch=True), (7, "j"), motion=motion)]
    assert grounded.index(1) == touching.index(1) + 1


def test_grids_round_positions_and_speeds():
    assert [to_grid(7, 4, False), to_grid(5, 4, False), to_grid(7, 4, True), to_grid(-1, 4, True)] == [8, 4, 4, -4]
    assert all(x % PX == 0 for x, _ in path(Variant(position_grid=PX), (30, "r")))
    assert [vx for vx, _, _ in speeds(Variant(speed_grid=5000), (3, "r"))] == [5000, 10000, 15000]
    assert [vx for vx, _, _ in speeds(Variant(speed_grid=5000, rounds_down=True), (3, "r"))] == [0, 0, 0]


def test_drag_takes_a_share_of_both_speeds_in_the_air():
    steps = (40, "r"), (2, "rj")
    vx, vy, _ = speeds(Variant(drag_share=SHARE // 10), *steps)[-1]
    first = -260000 + 26000
    assert vx < 100000
    assert abs(vy - (first + 9000) * 9 // 10) < 20


def test_every_switch_has_a_test_here():
    source = __import__("pathlib").Path(__file__).read_text(encoding="utf-8")
    for field in dataclasses.fields(Variant):
        assert f"{field.name}=" in source, field.name
