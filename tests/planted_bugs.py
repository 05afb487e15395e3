"""Mistakes planted in the exploration one at a time, to see that the tests notice each of them.

A bug is a changed line of the source, so that it is planted without the compiler: NUMBA_DISABLE_JIT=1. Each names the
check that must notice it: one of the tiny worlds of `micro_maps`, asked for its two sides as `test_explore` does, or
the closure check on a world. `python -m tests.planted_bugs` plants all in turn and prints, as JSON, which were noticed;
the first is no bug at all, and none of those checks may notice it.
"""

from __future__ import annotations

import importlib
import inspect
import json
import sys
import textwrap
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from reach.kernels.compiling import DISABLED
from reach.reachability.explore import Explorer
from tests.builders import make_state, make_terrain
from tests.closure_check import Stored, check_closure
from tests.micro_maps import MICRO_MAPS, Scene, body, flat_gap, scene
from tests.soundness import level_world

MOST_S = 20.0
MOST_MIB = 200.0
"""After so long, or with so much, an exploration with a bug in it is given up,"""

ENDLESS = 10_000
"""which is wrong if it has followed so many polygons for a tick by then: without a bug no tiny world takes 2,000."""


@dataclass(frozen=True)
class Edit:
    """In the source of a function (`module.name` or `module.Class.name`) every `old` becomes `new`."""

    where: str
    old: str
    new: str


@dataclass(frozen=True)
class Bug:
    """A mistake, and the name of the check that must notice it."""

    name: str
    noticed_by: str
    edits: tuple[Edit, ...]


def bug(name: str, noticed_by: str, *edits: tuple[str, str, str]) -> Bug:
    return Bug(name, noticed_by, tuple(Edit(*edit) for edit in edits))


FLIGHT, GROUND, POST, ZONES = "kernels.flight", "kernels.ground", "kernels.post", "kernels.zones"
INTERVALS = "kernels.intervals"

WALL_POINTS = ("if x0 < left:", "if x1 > right:")
TOUCH_TESTS = (
    ("kernels.pool.touching", "and j[p + B_X0] <= x1", ""),
    ("kernels.pool.touching", "and x0 <= j[p + B_X1]", ""),
    ("kernels.pool.touching", "and j[p + B_V0] <= v1", ""),
    ("kernels.pool.touching", "and v0 <= j[p + B_V1]", ""),
    ("kernels.pool.touching", "if polygon.touches(bx, bv, m, ax, av, n):", "if True:"),
)

SNAPS_SOON = (
    # whoever calls it comes after it
    ("kernels.closure._snap", "_SNAP_AFTER", "2"),
    ("kernels.closure.add", "> _SNAP_AFTER", "> 2"),
)
"""Tiny worlds join no hull as often as makes it snap; so they do it after two joins."""

HARMLESS = (
    bug("snapping soon", "under_spikes_as_high_as_the_body", *SNAPS_SOON),
    bug("snapping soon, for the closure", "closure: cut jumps", *SNAPS_SOON),
)
"""No bugs: what is planted beside some, and may not be noticed alone."""

BUGS = (
    # rule 1
    bug(
        "no cut at 0",
        "turning_round_in_the_air_stops_for_a_tick",
        (
            f"{ZONES}._mirrored",
            "return left + zones",
            "return left[:-1] + [(-zones[0][1], zones[0][1], left[-1][2] + zones[0][2])] + zones[1:]",
        ),
    ),
    bug(
        "no cut at the ground's top speeds",
        "closure: from_rest_one_walks_to_either_side",
        (f"{ZONES}.make_zones", "for e in (c, c + min(slowing))", "for e in (c + min(slowing),)"),
    ),
    bug(
        "no cut at the air's top speed",
        "closure: braking_ends_at_rest",
        (f"{ZONES}.make_zones", "cuts |= {cap} | {cap", "cuts |= {cap"),
    ),
    bug(
        "a speed on the edge of two zones is in the lower alone",
        "the_push_of_a_speed_band_begins_at_its_threshold",
        (f"{POST}.into_zones", "v1 < least or", "v1 <= least or"),
    ),
    bug(
        "a speed on the edge of two zones is in the upper alone",
        "the_push_of_a_speed_band_begins_at_its_threshold",
        (f"{POST}.into_zones", "most < v0", "most <= v0"),
    ),
    bug(
        "over-cap speeds are clipped at the cap",
        "speed_over_the_air_cap_lives_on",
        (f"{ZONES}._forward", "-weakest, 0, top", "-weakest, 0, cap"),
    ),
    bug(
        "a zone just over the cap ends below it",
        "braking_ends_at_rest",
        (f"{ZONES}._forward", "return -strongest, 0, 0, cap", "return -strongest, -weakest, 0, cap"),
    ),
    bug(
        "the edge at 0 is not shared",
        "from_rest_one_walks_to_either_side",
        (f"{ZONES}._mirrored", "-lo, [", "-lo or -1, ["),
    ),
    bug(
        "braking passes through rest",
        "braking_ends_at_rest",
        (f"{ZONES}._forward", "-strongest, accel, 0, cap", "-strongest, accel, -top, cap"),
    ),
    bug(
        "no cut at the thresholds of the air's push",
        "the_push_of_a_speed_band_begins_at_its_threshold",
        (f"{ZONES}.make_zones", "{int(f) for f in motion.air_accel_from} | ", ""),
    ),
    bug(
        "no cut at the thresholds of turning round",
        "turning_round_takes_the_band_of_speed_and_takeoff",
        (f"{ZONES}.make_zones", " | {int(f) for f in motion.air_reverse_from_speed}", ""),
    ),
    bug(
        "no band that begins at the greatest speed",
        "closure: bands of turning round",
        (f"{ZONES}.make_zones", "if top in motion.air_reverse_from_speed:", "if False:"),
    ),
    bug(
        "only coasting slows down",
        "closure: bands of turning round",
        (f"{ZONES}._forward", "max(slowing)", "slowing[0]"),
    ),
    bug(
        "over the cap only drag slows down",
        "turning_round_may_keep_more_than_drag",
        (f"{ZONES}._forward", "min(slowing)", "slowing[0]"),
    ),
    bug(
        "a reverse band by the least takeoff speed alone",
        "turning_round_takes_the_band_of_speed_and_takeoff",
        (f"{ZONES}._band2", "first[i] <= s and second[i] <= t", "first[i] <= s and second[i] <= 0"),
    ),
    bug(
        "no running",
        "speed_over_the_air_cap_lives_on",
        (f"{ZONES}.make_zones", "if motion.has_run:", "if False:"),
    ),
    # rule 2
    bug(
        "the band of the speed before the tick",
        "the_band_is_that_of_the_speed_after_the_tick",
        (
            f"{GROUND}._jumps",
            "push(w, j, ax, av, n, z, low, high, left, right, 1 + c)",
            "m = post.rising.cut_speeds(ax, av, n, low, high, scratch_x(j, 7), scratch_v(j, 7))\n"
            "                if m:\n"
            "                    push(w, j, scratch_x(j, 7), scratch_v(j, 7), m, z, -FAR, FAR, left, right, 1 + c)",
        ),
    ),
    bug(
        "bands for speeds to the right alone",
        "the_band_is_that_of_the_speed_after_the_tick",
        (f"{FLIGHT}.class_speeds", "return -w[r + heap.C_HIGH], -w[r + heap.C_LOW]", "return 1, 0"),
    ),
    bug(
        "a coyote jump's speed is the ground's",
        "a_coyote_jump_is_ruled_by_the_air",
        (
            f"{FLIGHT}._coyote_jumps",
            "push(w, j, ax, av, n, j[r + heap.ZONE], low, high, left, right, 1 + c)",
            "for z in range(w[w[heap.ZONE_AT]], w[w[heap.ZONE_AT] + 1]):\n"
            "                    push(w, j, ax, av, n, z, low, high, left, right, 1 + c)",
        ),
    ),
    bug(
        "a takeoff passes through walls",
        "closure: a_takeoff_into_a_wall_keeps_its_band",
        (f"{GROUND}._jumps", "low, high, left, right, 1 + c", "low, high, -FAR, FAR, 1 + c"),
    ),
    bug(
        "takeoff classes of the jump bands alone",
        "a_spring_keeps_the_band_of_the_speed_on_it",
        (
            f"{ZONES}.takeoff_thresholds",
            "(motion.jump_from, motion.air_reverse_from_takeoff, motion.air_cap_from)",
            "(motion.jump_from,)",
        ),
    ),
    bug(
        "a takeoff into a wall has no band but the first",
        "a_takeoff_into_a_wall_keeps_its_band",
        *((f"{POST}.push", wall, wall.replace(":", " and table <= 1:")) for wall in WALL_POINTS),
    ),
    bug(
        "walking off into a wall takes the speed before it",
        "closure: walking off into a wall",
        (
            f"{GROUND}._walks",
            "m = speed_step(w, j, ax, av, n, z, part, -FAR, FAR)",
            "m = speed_step(w, j, ax, av, n, z, part, *class_speeds(w, 0, 1))\n"
            "                    if m == 0:\n"
            "                        continue",
        ),
    ),
    bug(
        "a spring's launch has no band but the first",
        "a_spring_keeps_the_band_of_the_speed_on_it",
        (f"{GROUND}._bounces", "// 2 == c:", ">= 0 and c == 0:"),
    ),
    bug(
        "a drop has no band but the first",
        "closure: drops and bands",
        (f"{GROUND}._drops", "range(w[heap.CLASSES])", "range(1)"),
    ),
    # rule 3
    bug(
        "the buffer is forgotten",
        "a_buffered_jump_may_never_be_held",
        (f"{FLIGHT}.launch", "if w[heap.BUFFER] > 0:", "if False:"),
    ),
    bug(
        "a buffer where the profile has none",
        "without_a_buffer_every_jump_is_held_for_a_tick",
        (f"{FLIGHT}.launch", "if w[heap.BUFFER] > 0:", "if True:"),
    ),
    bug(
        "coyote time only in its first tick",
        "a_second_coyote_tick_lengthens_it_again",
        (f"{FLIGHT}.fly", "max(0, coyote - 1)", "0"),
    ),
    bug(
        "coyote time does not run out",
        "one_coyote_tick_lengthens_the_jump",
        (f"{FLIGHT}.fly", "max(0, coyote - 1)", "coyote"),
    ),
    bug("no coyote jumps", "one_coyote_tick_lengthens_the_jump", (f"{FLIGHT}.fly", "if coyote > 0:", "if False:")),
    bug(
        "letting go only in the tick after the takeoff",
        "a_button_let_go_in_time_makes_a_low_hop",
        (
            f"{FLIGHT}.fly",
            "if w[heap.CUT_SPEED] >= 0:",
            "if ticks > 2:\n                    continue\n                if w[heap.CUT_SPEED] >= 0:",
        ),
    ),
    bug("letting go cuts nothing", "closure: cut jumps", (f"{FLIGHT}.fly", "if w[heap.CUT_SPEED] >= 0:", "if False:")),
    bug(
        "a jump that was never held is not cut",
        "closure: cut jumps",
        (f"{FLIGHT}.launch", "up = max(up, -w[heap.CUT_SPEED])", "pass"),
    ),
    bug(
        "no gravity in the tick of a takeoff that has it",
        "closure: cut jumps",
        (f"{FLIGHT}.launch", "if w[heap.LAUNCH_TICK_GRAVITY]:", "if False:"),
    ),
    bug(
        "a drop begins on the top, not a subpixel below", "closure: drops and bands", (f"{GROUND}._drops", "y + 1", "y")
    ),
    bug(
        "the row that is dropped through does not block sideways",
        "closure: drops and bands",
        (f"{GROUND}._drops", "span_of(w, y + 1)", "span_of(w, y)"),
    ),
    bug(
        "a drop through whatever carries",
        "one_drops_only_where_all_that_carries_is_one_way",
        (f"{GROUND}._drops", "if t < end:", "if False:"),
    ),
    bug(
        "a ceiling keeps the vertical speed",
        "a_ceiling_ends_the_rise_and_the_holding",
        (f"{FLIGHT}.vertical", "below, 0, 0, 0, contact", "below, vy, 0, 0, contact"),
    ),
    bug(
        "a ceiling stops nobody",
        "a_ceiling_ends_the_rise_and_the_holding",
        (f"{FLIGHT}.vertical", "if not meets(w, heap.CEILING, r, j[q + heap.SET_X0], j[q + heap.SET_X1]):", "if True:"),
    ),
    bug(
        "no gravity in a spring's first tick",
        "gravity_acts_from_a_springs_first_tick",
        (f"{GROUND}._bounces", "-w[t + heap.MORE], s", "-w[t + heap.MORE] - w[heap_class(w, c)], s"),
        ("kernels.ground._bounces", "heap_class(w, c)", "w[heap.CLASS] + c * heap.CLASS_WIDTH + heap.C_GRAVITY"),
    ),
    bug(
        "no terminal speed",
        "into_a_niche_as_high_as_the_body_between_two_ticks",
        (f"{FLIGHT}.fly", "w[heap.TERMINAL]", "1 << 40"),
    ),
    # rule 4
    bug(
        "vertically first, then sideways",
        "into_a_niche_as_high_as_the_body_between_two_ticks",
        (f"{FLIGHT}.fly", "_sideways(w, marks, j, 1 + c, s, y)", "_sideways(w, marks, j, 1 + c, s, y + vy)"),
    ),
    bug(
        "a landing without the sideways move of its tick",
        "speed_over_the_air_cap_lives_on",
        (
            f"{FLIGHT}.fly",
            "s = _sideways(w, marks, j, 1 + c, s, y)",
            "s = _sideways(w, marks, j, 1 + c, s, y) if vy <= 4 else s",
        ),
    ),
    # rule 5
    bug(
        "flush is contact",
        "through_a_hole_as_wide_as_the_body",
        (
            f"{INTERVALS}.cut_pieces",
            "(lines, lines - width + 1)",
            "(lines, lines + 1, lines - width, lines - width + 1)",
        ),
        (f"{INTERVALS}.cut_pieces", "edges[:-1] // tile", "np.maximum(edges[:-1] - 1, 0) // tile"),
        (
            f"{INTERVALS}.cut_pieces",
            "(edges[:-1] + width - 1) // tile",
            "np.minimum((edges[:-1] + width) // tile, columns - 1)",
        ),
    ),
    bug(
        "a subpixel of overlap is no contact",
        "through_a_hole_as_wide_as_the_body",
        (f"{INTERVALS}.cut_pieces", "(lines, lines - width + 1)", "(lines, lines - width + 1, lines - width + 2)"),
        (f"{INTERVALS}.cut_pieces", "edges[:-1] + width - 1", "edges[:-1] + width - 2"),
    ),
    # rule 6
    bug(
        "a wall loses the point",
        "a_takeoff_into_a_wall_keeps_its_band",
        *((f"{POST}.push", wall, "if False:") for wall in WALL_POINTS),
    ),
    bug(
        "a wall on the ground loses the point",
        "closure: walking off into a wall",
        *((f"{GROUND}._walks", wall, "if False:") for wall in WALL_POINTS),
    ),
    bug(
        "points are dropped", "a_takeoff_into_a_wall_keeps_its_band", ("kernels.pool.build", "if n == 0:", "if n < 2:")
    ),
    bug(
        "points and segments are dropped",
        "from_rest_one_walks_to_either_side",
        ("kernels.pool.build", "if n == 0:", "if n < 3:"),
    ),
    # rule 7
    bug(
        "no strides",
        "closure: past_a_place_that_ends_the_level",
        (f"{GROUND}._walked", "arrive(w, marks, carried, cover, j, row, bx, bv, m, heap.STRIDE, 0)", "pass"),
    ),
    bug(
        "nobody walks off an edge",
        "one_coyote_tick_lengthens_the_jump",
        (f"{GROUND}._walked", "elif m > 0:", "elif False:"),
    ),
    bug(
        "one walks on over a gap",
        "turning_round_takes_the_band_of_speed_and_takeoff",
        (f"{GROUND}._walked", "here = t < end and w[t + heap.LOW] <= start", "here = True"),
    ),
    bug(
        "only the column under the left edge carries",
        "a_gap_narrower_than_the_body_is_none",
        (
            "kernels.rows.row_tables",
            "any_overlapped(np.isin(material, CARRYING), pieces)",
            "np.isin(material, CARRYING)[:, pieces.first]",
        ),
    ),
    # rule 8
    bug(
        "hulls are joined across zones",
        "into_a_niche_as_high_as_the_body_between_two_ticks",
        ("kernels.pool.touching", "and j[p + B_ZONE] == zone", ""),
    ),
    bug("hulls are joined across a gap", "nothing_gets_under_a_shelf_that_catches_the_middle", *TOUCH_TESTS),
    bug(
        "hulls are joined across a wall",
        "nothing_gets_into_a_closed_chamber",
        *TOUCH_TESTS,
        ("kernels.pool.touching", "and j[p + B_LANE] == lane", ""),
    ),
    # rule 9
    bug(
        "a cut of x rounds inward",
        "closure: falling past ledges",
        ("kernels.polygon.clip_x", "if ax[j] < ax[i]:", "if ax[j] > ax[i]:"),
    ),
    bug(
        "a cut of v rounds inward",
        "closure: cut between whole numbers",
        ("kernels.rising.cut_speeds", "bx[0] = x + turning", "bx[0] = x"),
        ("kernels.rising.cut_speeds", "m, x + rounded, high)", "m, x, high)"),
        (
            "kernels.rising.cut_speeds",
            "bx[m] = x\n                bv[m] = high",
            "bx[m] = x + turning\n                bv[m] = high",
        ),
        (
            "kernels.rising.cut_speeds",
            "x, _ = cut_x(ax[k], av[k], ax[e], av[e], low)",
            "x, more = cut_x(ax[k], av[k], ax[e], av[e], low)\n        x += more",
        ),
    ),
    bug(
        "a hull that creeps snaps inward",
        "under_spikes_as_high_as_the_body",
        ("kernels.closure._snap", "(ax[i] // grid + right) * grid", "ax[i] // grid * grid"),
        *SNAPS_SOON,
    ),
    # rule 10
    bug(
        "one rests on springs",
        "nobody_jumps_from_a_spring",
        ("reachability.exploration_run.ExplorationRun._queue", "not self.explorer.footholds[f].is_spring\n", "True\n"),
        (f"{GROUND}._leave_closure", "if is_spring(w, node):", "if False:"),
        ("kernels.closure.deliver", "if not is_spring(w, node):", "if True:"),
    ),
    # rule 11
    bug(
        "what has ended goes on",
        "past_a_place_that_ends_the_level",
        (f"{FLIGHT}.contact", "_, alive = split(w, j, heap.ENDING, span, alive)", "pass"),
    ),
    bug(
        "what is lost goes on",
        "past_a_hazard",
        (f"{FLIGHT}.contact", "dead, alive = split(w, j, heap.DEADLY, span, s)", "dead = 0"),
    ),
    bug(
        "what is lost takes all of its set along",
        "between_spikes_as_far_apart_as_the_body_is_wide",
        (f"{FLIGHT}.contact", "dead, alive = split(w, j, heap.DEADLY, span, s)", "dead, alive = s, 0"),
    ),
    # the exploration's memory
    bug(
        "what a set does at one row it does at every row",
        "closure: among pillars",
        (f"{FLIGHT}._slot", "| (row << 3)", ""),
        (f"{FLIGHT}._slot", "+ row * 0x85EBCA6B", ""),
    ),
    bug(
        "what is known of the sets of one foothold is taken for those of the next",
        "gravity_acts_from_a_springs_first_tick",
        (f"{FLIGHT}.new_generation", "j[heap.GENERATION] += 1", "j[heap.GENERATION] = 1"),
    ),
    bug(
        "a landing in the box of what is known is known",
        "closure: bands of turning round",
        ("kernels.ground_lists.held_by", "if polygon.contains(bx, bv, m, ax, av, n):", "if True:"),
    ),
    bug(
        "what lands on a foothold that moves on is not followed",
        "closure: bands of turning round",
        ("reachability.exploration_run.ExplorationRun._queue", "if f not in self.queued:", "if False:"),
    ),
)


def special_scenes() -> dict[str, Scene]:
    """Worlds for the closure alone: what is wrong there need not change which tiles are reached."""
    jump = {"jump_launch": 8, "jump_gravity_held": 2, "jump_gravity": 3}
    bands = {"jump_from": [0, 3], "jump_launch": [6, 8], "jump_gravity_held": [2, 1], "jump_gravity": [3, 2]}
    turning = {
        "air_reverse_from_speed": [0, 2, 4],
        "air_reverse_from_takeoff": [0, 2, 0],
        "air_reverse": [1, 3, 4],
        "reverse": 2,
    }
    wall = body(
        body_w=8, walk_accel=12, walk_cap=12, coast=3, reverse=3, air_cap_from=[0, 4], air_cap=[3, 12], coyote_ticks=1
    )
    return {
        "bands of turning round": flat_gap(body(**jump, **turning), run_up=3, gap=2, distance=24),
        "walking off into a wall": scene(wall, ["......#", ".A....#", "####..#", "......#", "....X.#"]),
        "drops and bands": scene(
            body(body_w=8, body_h=8, drop_through=1, air_cap_from=[0, 2], air_cap=[2, 4], **bands),
            ["......", ".A....", "#===##", "......", "..X#.."],
        ),
        "cut jumps": scene(
            body(body_w=7, body_h=9, cut_speed=3, buffer_ticks=1, launch_tick_gravity=1, **jump),
            ["....#.", "......", ".A....", "###.X#"],
        ),
    }


def found_scenes() -> dict[str, Scene]:
    """Worlds for the closure that a search among random ones came upon."""
    falling = body(
        body_w=62, body_h=24, air_accel=6, air_reverse=8, air_cap=13, drag=1, jump_gravity_held=2, terminal=58
    )
    among_pillars = body(
        body_w=15,
        body_h=71,
        walk_cap=10,
        coast=3,
        reverse=10,
        jump_from=[0, 3, 5],
        jump_launch=[15, 16, 19],
        jump_gravity_held=[7, 3, 7],
        jump_gravity=[10, 13, 4],
        cut_speed=4,
        launch_tick_gravity=1,
        terminal=14,
        air_accel=6,
        air_reverse_from_speed=[0, 0, 6],
        air_reverse_from_takeoff=[0, 8, 11],
        air_reverse=[4, 6, 6],
        air_cap_from=[0, 9, 10],
        air_cap=[1, 20, 11],
        drag=2,
        buffer_ticks=3,
    )
    fast = body(
        body_w=38,
        body_h=44,
        walk_accel=2,
        reverse=19,
        jump_from=[0, 19],
        jump_launch=[26, 0],
        jump_gravity_held=[14, 2],
        jump_gravity=[21, 28],
        launch_tick_gravity=1,
        terminal=14,
        air_accel_from=[0, 1],
        air_accel=[2, 15],
        air_reverse_from_speed=[0, 23],
        air_reverse_from_takeoff=[0, 12],
        air_reverse=[15, 5],
        air_cap_from=[0, 15],
        air_cap=[51, 5],
        coyote_ticks=2,
        buffer_ticks=2,
    )
    pillars = [
        ".=....#..",
        ".S...##.^",
        "#......##",
        "#.#...#..",
        ".#.#....=",
        ".#..##...",
        ".#.#.##.#",
        "=.#=..#=.",
        ".#.......",
    ]
    slopes = ["=......", ".......", "...##.=", "#^...#.", ".....#.", "......."]
    touched = [(6, 0, 0), (3, 0, 0), (4, 5, 0)]
    return {
        "falling past ledges": Scene(falling, make_terrain(slopes, tile=32), make_state(145, 168), (0, 0)),
        "among pillars": Scene(
            among_pillars,
            make_terrain(pillars, tile=24, launch=27, places=touched),
            make_state(100, 49, grounded=1),
            (0, 0),
        ),
        "cut between whole numbers": Scene(*level_world(6), (0, 0)),
        "fast in the air": Scene(fast, make_terrain(["...=", "=..=", "...."], tile=64), make_state(77, 20), (0, 0)),
    }


def planted_source(function: Any, edits: list[Edit]) -> str:
    source = textwrap.dedent(inspect.getsource(function))
    for edit in edits:
        if edit.old not in source:
            raise LookupError(f"{edit.where} has no longer: {edit.old!r}")
        source = source.replace(edit.old, edit.new)
    return source


@contextmanager
def planted(one: Bug) -> Iterator[None]:
    """The bug in place of the functions it changes, wherever a module of the package holds them."""
    undo: list[tuple[Any, str, Any]] = []
    by_function: dict[str, list[Edit]] = {}
    for edit in one.edits:
        by_function.setdefault(edit.where, []).append(edit)
    try:
        for where, edits in by_function.items():
            holder, owner, name = _find(where)
            original = getattr(owner, name)
            names = {**vars(importlib.import_module("reach.kernels.post")), **vars(holder)}
            names["post"] = importlib.import_module("reach.kernels.post")
            exec(compile(planted_source(original, edits), where, "exec"), names)
            holders = (
                [owner] if inspect.isclass(owner) else [m for k, m in sys.modules.items() if k.startswith("reach.")]
            )
            for module in holders:
                for key, value in list(vars(module).items()):
                    if value is original:
                        undo.append((module, key, original))
                        setattr(module, key, names[name])
        yield
    finally:
        for module, key, original in undo:
            setattr(module, key, original)


def _find(where: str) -> tuple[Any, Any, str]:
    """The module that a function stands in, what holds it (that or a class), and its name."""
    parts = where.split(".")
    module = importlib.import_module("reach." + ".".join(parts[:2]))
    owner: Any = module
    for part in parts[2:-1]:
        owner = getattr(owner, part)
    return module, owner, parts[-1]


def limits() -> dict[str, float]:
    return {"deadline": time.monotonic() + MOST_S, "memory_limit_mib": MOST_MIB}


def claims(world: Scene) -> bool | None:
    """Whether the superset has the target; None where the exploration goes on without end."""
    found = Explorer(world.motion, world.terrain).explore(world.start, **limits())
    if found.complete:
        return bool(found.carried[world.target[1], world.target[0]])
    if found.polygon_ticks < ENDLESS:
        raise RuntimeError(f"{found.why} after {found.polygon_ticks} polygon ticks: this machine is too slow to tell")
    return None


def escapes(world: Scene) -> int:
    """Successors that the stored sets lack; 0 where the exploration did not end."""
    stored = Stored(world.motion, world.terrain, world.start, **limits())
    if not stored.exploration.complete:
        return 0
    return check_closure(stored, np.random.default_rng(1), points=8, limit=20_000).escapes


@cache
def checks() -> dict[str, list[Callable[[], Any]]]:
    """Every check by name, each a few questions that are true where something is wrong."""
    found: dict[str, list[Callable[[], Any]]] = {}
    for made in MICRO_MAPS:
        scenes = [(made.make(n), e) for n, e in ((made.works, True), (made.fails, False)) if n is not None]
        found[made.name] = [
            lambda world=world, expected=expected: claims(world) != expected
            for one, expected in scenes
            for world in (one, one.mirrored())
        ]
        found[f"closure: {made.name}"] = [lambda world=scenes[0][0]: escapes(world)]
    for name, world in (special_scenes() | found_scenes()).items():
        found[f"closure: {name}"] = [lambda world=world: escapes(world)]
    return found


def notices(name: str) -> bool:
    """Whether a check finds something wrong."""
    try:
        return any(is_wrong() for is_wrong in checks()[name])
    except IndexError:
        # where the compiler does not check, this writes where it must not
        return True


def report() -> dict[str, bool]:
    """Whether each bug was noticed, and what is harmless; the empty name stands for no change at all."""
    found = {"": any(notices(name) for name in sorted({one.noticed_by for one in BUGS}))}
    for one in HARMLESS + BUGS:
        with planted(one):
            found[one.name] = notices(one.noticed_by)
    return found


if __name__ == "__main__":
    if not DISABLED:
        sys.exit("planted bugs need NUMBA_DISABLE_JIT=1")
    print(json.dumps(report(), indent=1))
