"""Tiny worlds, each made for one rule of the exploration, on both sides of the last subpixel that works.

A world is a function of one number. At `works` its target can be reached and at `fails` it cannot; the two are
neighbours wherever a limit can be computed, and the arithmetic stands beside them. A tile is 16 subpixels unless a
world says otherwise, so that an exhaustive search can judge the same question (`exhaustive.every_state`).

Distances over a gap count positions of the body's left edge: from the last carried spot on this side to the first on
the far side, gap * T - W + 2. A jump of launch L and gravity g is n * L - g * n(n-1)/2 above the ground after n ticks;
the first n for which that is negative is the tick of landing, whose sideways move still counts.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from reach.kernels.params import SOLID, Motion, State, Terrain
from tests.builders import make_motion, make_terrain, standing

T = 16


@dataclass(frozen=True)
class Scene:
    """A world, a start at rest, and the tile (column, row) that is to carry the body."""

    motion: Motion
    terrain: Terrain
    start: State
    target: tuple[int, int]

    def mirrored(self) -> Scene:
        """The same with left and right exchanged."""
        terrain = self.terrain
        columns = terrain.material.shape[1]
        return Scene(
            self.motion,
            terrain._replace(
                material=np.ascontiguousarray(terrain.material[:, ::-1]),
                launch=np.ascontiguousarray(terrain.launch[:, ::-1]),
                place_column=columns - 1 - terrain.place_column,
            ),
            self.start._replace(x=columns * terrain.tile - self.motion.body_w - self.start.x),
            (columns - 1 - self.target[0], self.target[1]),
        )


@dataclass(frozen=True)
class MicroMap:
    """A world of one number; `works` or `fails` is None where there is no such side."""

    name: str
    rule: int
    make: Callable[[int], Scene]
    works: int | None
    fails: int | None


MICRO_MAPS: list[MicroMap] = []


def micro_map(rule: int, works: int | None, fails: int | None) -> Callable[[Callable[[int], Scene]], Any]:
    """Enter a world under the number of the rule that it is made for."""

    def enter(make: Callable[[int], Scene]) -> Callable[[int], Scene]:
        MICRO_MAPS.append(MicroMap(make.__name__, rule, make, works, fails))
        return make

    return enter


def body(**values: int | Sequence[int]) -> Motion:
    """A slow little body that hops nowhere: a jump of launch speed 0, rates of 1, speeds up to 4."""
    defaults: dict[str, Any] = {
        "body_w": 10,
        "body_h": 16,
        "walk_accel": 1,
        "walk_cap": 4,
        "coast": 1,
        "reverse": 1,
        "jump_launch": 0,
        "jump_gravity_held": 4,
        "jump_gravity": 4,
        "terminal": 64,
        "air_accel": 1,
        "air_reverse": 1,
        "air_cap": 4,
    }
    return make_motion(**(defaults | values))


def scene(motion: Motion, rows: Sequence[str], *, tile: int = T, **terrain: Any) -> Scene:
    """A scene from rows in which `A` marks the start, `X` a solid target and `x` a one_way target."""
    found = {c: (line.index(c), r) for r, line in enumerate(rows) for c in "AXx" if c in line}
    plain = [line.replace("A", ".").replace("X", "#").replace("x", "=") for line in rows]
    column, row = found["A"]
    built = make_terrain(plain, tile=tile, **terrain)
    carried = row + 1 < len(plain) and plain[row + 1][column] in "#=S"
    start = standing(column, row, motion, built, grounded=int(carried))
    return Scene(motion, built, start, found["X"] if "X" in found else found["x"])


def flat_gap(motion: Motion, run_up: int, gap: int, distance: int) -> Scene:
    """Two grounds with a bottomless gap; the body is as wide as makes the jump so many positions far."""
    body_w = gap * T + 2 - distance
    assert body_w >= 1
    width = run_up + gap + 3
    floor = "#" * run_up + "." * gap + "X##"
    return scene(motion._replace(body_w=body_w), ["." * width] * 2 + [".A".ljust(width, "."), floor])


# Rule 1: zones -----------------------------------------------------------------------------------------------------


@micro_map(1, works=60, fails=61)
def speed_over_the_air_cap_lives_on(n: int) -> Scene:
    """Ten ticks (8n - n(n-1) < 0 at n = 10) at the run's 6, though the air would not push beyond 2."""
    motion = body(walk_cap=2, run_cap=6, jump_launch=8, jump_gravity_held=2, jump_gravity=2, air_cap=2)
    return flat_gap(motion, run_up=5, gap=4, distance=n)


@micro_map(1, works=30, fails=31)
def drag_takes_what_is_over_the_cap(n: int) -> Scene:
    """6 + 5 + 4 + 3 and then six ticks at the cap of 2."""
    motion = body(walk_cap=2, run_cap=6, jump_launch=8, jump_gravity_held=2, jump_gravity=2, air_cap=2, drag=1)
    return flat_gap(motion, run_up=5, gap=2, distance=n)


@micro_map(1, works=30, fails=31)
def turning_round_may_keep_more_than_drag(n: int) -> Scene:
    """As before with a drag of 3: over the cap, pushing back at a rate of 1 loses least."""
    motion = body(walk_cap=2, run_cap=6, jump_launch=8, jump_gravity_held=2, jump_gravity=2, air_cap=2, drag=3)
    return flat_gap(motion, run_up=5, gap=2, distance=n)


@micro_map(1, works=51, fails=52)
def the_push_of_a_speed_band_begins_at_its_threshold(n: int) -> Scene:
    """From a takeoff at 2 the air pushes by 1 below 4 and by 2 from 4 on: 2 + 3 + 4 and then 6 in seven ticks."""
    bands = {"air_accel_from": [0, 4], "air_accel": [1, 2]}
    # no speed over the cap survives a landing
    slow = {"walk_cap": 2, "coast": 6, "reverse": 6}
    motion = body(jump_launch=8, jump_gravity_held=2, jump_gravity=2, air_cap=6, **slow, **bands)
    return flat_gap(motion, run_up=4, gap=4, distance=n)


@micro_map(1, works=2, fails=1)
def turning_round_takes_the_band_of_speed_and_takeoff(n: int) -> Scene:
    """Out from under a shelf at 11 a tick in the three ticks that the head is lower, and back onto it in 18 more.

    The air turns round by 1 a tick, but by n from a speed of 5 on after a takeoff at 5 or more: 9 + 7 + 5 + 3 + 2 + 1
    + 0 - 1 - 2 - 3 - 4 - 5 - 6 - 7 gets back, 10 + 9 + ... - 6 - 7 does not.
    """
    turn = {"air_reverse_from_speed": [0, 5], "air_reverse_from_takeoff": [0, 5], "air_reverse": [1, n]}
    jump = {"jump_launch": 12, "jump_gravity_held": 1, "jump_gravity": 1}
    motion = body(body_h=8, walk_accel=11, walk_cap=11, air_cap=11, **jump, **turn)
    return scene(motion, ["........", "XXX.....", "........", "A.......", "#......."])


@micro_map(1, works=3, fails=2)
def turning_round_in_the_air_stops_for_a_tick(n: int) -> Scene:
    """Out from under a shelf in three ticks, and back onto it in the six that the feet are no lower.

    The air turns round by n, then pushes by 5: after 12 + 12 + 9, which is just out, 6 + 3 + 0 - 5 - 10 - 12 is back;
    after 12 + 12 + 10, 8 + 6 + 4 + 2 + 0 - 5 is not.
    """
    jump = {"jump_launch": 13, "jump_gravity_held": 2, "jump_gravity": 2}
    motion = body(body_h=8, walk_accel=12, walk_cap=12, air_cap=12, air_accel=5, air_reverse=n, **jump)
    return scene(motion, ["........", "XXX.....", "........", "A.......", "#......."])


@micro_map(1, works=1, fails=None)
def from_rest_one_walks_to_either_side(n: int) -> Scene:
    """The speed 0 belongs to the zones on both its sides."""
    return scene(body(walk_cap=n), ["......", "..A...", "..#...", "......", "XX...."])


@micro_map(1, works=7, fails=8)
def braking_ends_at_rest(n: int) -> Scene:
    """A brake of 9 a tick does not throw the body to the other side: the perch gives a takeoff speed of 7, not of 8."""
    return perch(n, reverse=9)


# Rule 2: the takeoff tick -------------------------------------------------------------------------------------------


def perch(n: int, body_w: int = 6, **values: int) -> Scene:
    """A perch of one tile, and a shelf that only a takeoff at speed n or more gets to.

    The perch has 21 spots. A hop off and back lands at one end with the 1 that the air allows; 2 + 3 + 4 + 5 + 6 = 20
    then leads to the other end with a speed of 6, and the next tick's 7 takes off. A 7 before it would need 27.
    """
    slow = {"air_cap": 1, "drag": 20, "air_reverse": 20}
    bands = {"jump_from": [0, n], "jump_launch": [4, 16], "jump_gravity_held": [2, 2], "jump_gravity": [2, 2]}
    motion = body(body_w=body_w, walk_cap=20, **bands, **slow, **values)
    return scene(motion, [".......", ".......", "....X..", ".......", "..A....", "..#...."])


@micro_map(2, works=7, fails=8)
def the_band_is_that_of_the_speed_after_the_tick(n: int) -> Scene:
    return perch(n)


@micro_map(2, works=3, fails=4)
def a_takeoff_into_a_wall_keeps_its_band(n: int) -> Scene:
    """In a pit as wide as the body every push is against a wall; from rest it is 3."""
    motion = body(
        body_w=16,
        walk_accel=3,
        jump_from=[0, n],
        jump_launch=[4, 9],
        jump_gravity_held=[1, 1],
        jump_gravity=[1, 1],
    )
    return scene(motion, [".....", ".....", ".....", "#XA##", "#####"])


@micro_map(2, works=5, fails=6)
def a_coyote_jump_is_ruled_by_the_air(n: int) -> Scene:
    """Walking gives a speed of 4 at once and no more; the air adds 1 in the tick after the edge, and there it is 5."""
    bands = {"jump_from": [0, n], "jump_launch": [4, 16], "jump_gravity_held": [2, 2], "jump_gravity": [2, 2]}
    at_once = {"walk_accel": 4, "walk_cap": 4, "coast": 20, "reverse": 20}
    motion = body(body_w=6, air_cap=8, air_reverse=20, coyote_ticks=1, **at_once, **bands)
    return scene(motion, [".......", ".......", "....X..", ".......", "..A....", "..#...."])


# Rule 3: the vertical tree ------------------------------------------------------------------------------------------


@micro_map(3, works=27, fails=28)
def a_button_let_go_in_time_makes_a_low_hop(n: int) -> Scene:
    """Onto a step of 16 under deadly spikes 48 above the ground.

    Let go after the takeoff tick the jump rises 9 + 5 + 1 = 15, after one tick more 9 + 8 + 4 = 21, and 48 - 27 = 21.
    """
    motion = body(body_h=n, jump_launch=9, jump_gravity_held=1, jump_gravity=4)
    return scene(motion, ["......", "^^^^^^", "......", "......", ".A..X#", "######"])


def under_spikes(n: int, buffer_ticks: int) -> Scene:
    """A gap under spikes that leave 8 to rise: the lowest hop with the button held rises 10, a cut one 5 + 1 = 6.

    The cut one has 4 ticks (5, 6, 3, -4) of the speed 6.
    """
    motion = body(
        body_w=2 * T + 2 - n,
        body_h=24,
        walk_cap=6,
        air_cap=6,
        jump_launch=9,
        jump_gravity_held=4,
        jump_gravity=4,
        cut_speed=5,
        buffer_ticks=buffer_ticks,
    )
    rows = ["...............", ".......^^^^^^^^", "...............", ".A.............", "#######..X#####"]
    return scene(motion, ["." * 15] * 2 + rows)


@micro_map(3, works=24, fails=25)
def a_buffered_jump_may_never_be_held(n: int) -> Scene:
    return under_spikes(n, buffer_ticks=1)


@micro_map(3, works=None, fails=24)
def without_a_buffer_every_jump_is_held_for_a_tick(n: int) -> Scene:
    return under_spikes(n, buffer_ticks=0)


def coyote_gap(n: int, ticks: int) -> Scene:
    """A jump of launch 8 and gravity 1 at speed 6 to a ground 32 lower: 21 ticks, 8n - n(n-1)/2 + 32 < 0.

    The tick of walking off and each tick of falling before the takeoff add 6; one tick of falling costs 1 of height,
    which the landing tick (10 below) does not notice.
    """
    motion = body(
        body_w=9 * T + 2 - n,
        walk_cap=6,
        air_cap=6,
        jump_launch=8,
        jump_gravity_held=1,
        jump_gravity=1,
        coyote_ticks=ticks,
    )
    width = 15
    rows = [".A".ljust(width, "."), "####".ljust(width, "."), "." * width, "X#".rjust(width, ".")]
    return scene(motion, ["." * width] * 3 + rows)


@micro_map(3, works=126, fails=127)
def without_coyote_time_one_jumps_from_the_edge(n: int) -> Scene:
    return coyote_gap(n, 0)


@micro_map(3, works=132, fails=133)
def one_coyote_tick_lengthens_the_jump(n: int) -> Scene:
    return coyote_gap(n, 1)


@micro_map(3, works=138, fails=139)
def a_second_coyote_tick_lengthens_it_again(n: int) -> Scene:
    return coyote_gap(n, 2)


@micro_map(3, works=18, fails=19)
def a_ceiling_ends_the_rise_and_the_holding(n: int) -> Scene:
    """A jump that bumps 4 above the ground falls with the released gravity: 4, 2, -2, three ticks of 6."""
    motion = body(body_h=28, walk_cap=6, air_cap=6, jump_launch=8, jump_gravity_held=1, jump_gravity=2)
    low = flat_gap(motion, run_up=5, gap=2, distance=n)
    material = low.terrain.material.copy()
    material[0] = SOLID
    return replace(low, terrain=low.terrain._replace(material=material))


@micro_map(3, works=28, fails=29)
def gravity_acts_from_a_springs_first_tick(n: int) -> Scene:
    """A launch of 8 under gravity 1 rises 8n - n(n+1)/2 = 28; the ledge is a tile of n up."""
    motion = body(body_w=8, body_h=8, jump_gravity_held=1, jump_gravity=1)
    return scene(motion, ["....", "....", ".A.X", ".S##"], tile=n, launch=8)


def spring_gap(n: int) -> Scene:
    """Off a spring at a speed of 6: 8 ticks (8n - n(n+1) < 0 at n = 8)."""
    motion = body(
        body_w=3 * T + 2 - n,
        walk_cap=6,
        jump_launch=6,
        jump_gravity_held=2,
        jump_gravity=2,
        air_cap_from=[0, 5],
        air_cap=[1, 6],
        drag=1,
    )
    return scene(motion, ["." * 12] * 3 + [".A" + "." * 10, "######S...X#"], launch=8)


@micro_map(3, works=48, fails=49)
def a_spring_keeps_the_band_of_the_speed_on_it(n: int) -> Scene:
    return spring_gap(n)


@micro_map(3, works=16, fails=17)
def one_drops_only_where_all_that_carries_is_one_way(n: int) -> Scene:
    return scene(body(body_w=n, body_h=10, drop_through=1), ["......", ".A....", "##=###", "......", "..X..."])


@micro_map(3, works=1, fails=0)
def one_drops_only_if_the_profile_can(n: int) -> Scene:
    return scene(body(drop_through=n), ["......", ".A....", "#===##", "......", "..X..."])


# Rule 4: sideways first, then vertically ------------------------------------------------------------------------------


@micro_map(4, works=28, fails=29)
def the_feet_must_be_at_the_top_before_the_move(n: int) -> Scene:
    """A jump of apex 7 * 8 / 2 = 28 gets onto a step of 28 by an exact touch, and not onto one of 29."""
    motion = body(body_w=8, body_h=8, jump_launch=7, jump_gravity_held=1, jump_gravity=1)
    return scene(motion, ["....", "....", ".A.X", "####"], tile=n)


@micro_map(4, works=12, fails=13)
def into_a_niche_as_high_as_the_body_between_two_ticks(n: int) -> Scene:
    """Falling n a tick past a niche 48 below, as high as the body: 48 must be a whole number of ticks down."""
    motion = body(jump_gravity=64, terminal=n)
    return scene(motion, ["#A####", "#.####", "#.####", "#...##", "#.XX##", "#.####", "#^####"])


# Rule 5: contact is open --------------------------------------------------------------------------------------------


@micro_map(5, works=16, fails=17)
def through_a_hole_as_wide_as_the_body(n: int) -> Scene:
    return scene(body(body_w=n, body_h=10), ["......", ".A....", "##.###", "......", "..X..."])


@micro_map(5, works=32, fails=33)
def through_a_hole_of_two_tiles(n: int) -> Scene:
    return scene(body(body_w=n, body_h=10), [".......", ".A.....", "###..##", ".......", "...X..."])


@micro_map(5, works=32, fails=33)
def under_spikes_as_high_as_the_body(n: int) -> Scene:
    return scene(body(body_h=n), ["..^^..", "......", ".A....", "#####X"])


@micro_map(5, works=16, fails=17)
def between_spikes_as_far_apart_as_the_body_is_wide(n: int) -> Scene:
    motion = body(body_w=n, body_h=10, drop_through=1, walk_cap=1)
    return scene(motion, [".....", "..A..", "..=..", ".^.^.", ".....", "..X.."])


# Rule 6: a wall leaves the point ------------------------------------------------------------------------------------


@micro_map(6, works=16, fails=17)
def down_a_shaft_beside_the_wall_that_stops_the_body(n: int) -> Scene:
    """Speeds of 5 and nothing between: only the wall brings the body to rest above the shaft."""
    fives = dict.fromkeys(("walk_accel", "walk_cap", "coast", "reverse", "air_accel", "air_cap", "air_reverse"), 5)
    motion = body(body_w=n, body_h=10, **fives)
    return scene(motion, ["....#", ".A..#", "###.#", "....#", "...X#"])


# Rule 7: strides ----------------------------------------------------------------------------------------------------


@micro_map(7, works=16, fails=15)
def a_gap_narrower_than_the_body_is_none(n: int) -> Scene:
    """At a speed of 1 over a gap of 16: a body of 16 is uncarried at one spot and lands beyond it in the next tick."""
    return scene(body(body_w=n, walk_cap=1, air_cap=1), ["......", ".A....", "###.X#"])


@micro_map(7, works=21, fails=22)
def a_stride_passes_a_gap_in_one_tick(n: int) -> Scene:
    """At 20 a tick on the ground and 1 in the air: a stride of 20, or a tick of walking off and one of falling."""
    motion = body(body_w=2 * T + 2 - n, walk_accel=20, walk_cap=20, air_cap=1, drag=20, air_reverse=20)
    return scene(motion, ["........", ".A......", "####..X#"])


# Rule 8: joining ----------------------------------------------------------------------------------------------------


@micro_map(8, works=None, fails=0)
def nothing_gets_into_a_closed_chamber(n: int) -> Scene:
    """A jump flies over a pillar and comes down on both its sides at the same heights; the pillar is hollow."""
    motion = body(body_w=8 + n, body_h=8, walk_cap=8, air_cap=8, jump_launch=16, jump_gravity_held=2, jump_gravity=2)
    rows = ["...###...", "...#.#...", ".A.#X#...", "####.####"]
    return scene(motion, ["." * 9] * 4 + rows)


@micro_map(8, works=None, fails=0)
def nothing_gets_under_a_shelf_that_catches_the_middle(n: int) -> Scene:
    """Falling past both ends of a shelf of five tiles at full speed; a post stands under its middle, a row below."""
    motion = body(body_w=8 + n, body_h=8, walk_cap=4, terminal=16, jump_gravity=16)
    return scene(motion, ["....A....", "....=....", ".........", "..=====..", "....X....", "^^^^^^^^^"])


# Rule 10: rest anywhere ---------------------------------------------------------------------------------------------


def coarse_steps(n: int) -> Scene:
    """A hole from 34 to 51 between walls at 0 and 102, and a body of n that moves by 4 or not at all."""
    fours = dict.fromkeys(("walk_accel", "coast", "reverse", "air_accel", "air_reverse"), 4)
    motion = body(body_w=n, body_h=10, **fours)
    found = scene(motion, ["......", ".A....", "##.###", "......", "..X..."], tile=17)
    return replace(found, start=found.start._replace(x=0))


@micro_map(10, works=None, fails=0)
def nobody_jumps_from_a_spring(n: int) -> Scene:
    """A pit with a floor of springs: each landing launches, 5 * 4 / 2 = 10 high, and no jump (36 high) begins there."""
    motion = body(body_w=8 + n, body_h=8, jump_launch=8, jump_gravity_held=1, jump_gravity=1)
    return scene(motion, ["......", "......", ".A...X", "#....#", "#SSSS#"], launch=5)


# Rule 11: ends ------------------------------------------------------------------------------------------------------


@micro_map(11, works=26, fails=25)
def past_a_place_that_ends_the_level(n: int) -> Scene:
    """Only what overlaps at the end of a tick counts: a stride of tile and body passes over."""
    return scene(body(walk_accel=n, walk_cap=n), ["########", ".A...!..", "#######X"])


@micro_map(11, works=26, fails=25)
def past_a_hazard(n: int) -> Scene:
    return scene(body(walk_accel=n, walk_cap=n), ["########", ".A...^..", "######X#"])
