"""A general-purpose solver, z3, as the judge of single jumps, on both sides of the last subpixel that works.

The numbers are as fine as designers write them, 65536 subpixels to a px, where no search over single states ends. z3
(the package z3-solver; theory Ints of SMT-LIB) is asked for any script of so many ticks: at the limit it finds one,
which the simulator replays, and one subpixel beyond it proves that there is none. The exploration, which asks about
scripts of any length, and the verdict on the tile have to say the same.

The limits themselves are sums, written beside each jump. A jump lands in the first tick in which it would be below the
ground, and the sideways move of that tick still counts. From the last spot that carries the body on this side of two
missing tiles to the first on the far side it is 2 * T - W + 2.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pytest
import z3

from reach.findings import Verdict
from reach.kernels.params import Motion, State
from reach.kernels.step import run_script
from reach.reachability.footholds import find_footholds, standable_tiles
from reach.reachability.witness import find_witnesses
from reach.verdicts import standing_on, tile_verdicts
from tests.builders import PX, make_motion, make_state, make_terrain, random_inputs
from tests.explorations import explored
from tests.micro_maps import Scene
from tests.z3_script import Z3Script

T = 16 * PX
COMPARED = ("x", "y", "vx", "vy", "grounded", "held", "coyote", "jump_was_down")


@dataclass(frozen=True)
class Jump:
    """A world, a start at rest, the tile that is to carry the body, and for how many ticks z3 is asked.

    `@` is in the row in which the body starts, at the left edge `x`.
    """

    motion: Motion
    rows: Sequence[str]
    x: int
    target: tuple[int, int]
    ticks: int
    tile: int = T

    def start(self) -> State:
        row = next(r for r, line in enumerate(self.rows) if "@" in line)
        return make_state(self.x, (row + 1) * self.tile - self.motion.body_h, grounded=1)

    def scene(self) -> Scene:
        terrain = make_terrain(self.rows, tile=self.tile, places=())
        return Scene(self.motion, terrain, self.start(), self.target)

    def script(self, ticks: int, anywhere: bool = False) -> Z3Script:
        rows = [line.replace("@", ".") for line in self.rows]
        start = self.start()
        return Z3Script(self.motion, rows, self.tile, None if anywhere else (start.x, start.y), ticks)


@dataclass(frozen=True)
class Limit:
    """A jump of one number, the last value that works and its neighbour, which does not."""

    make: Callable[[int], Jump]
    works: int
    fails: int


LIMITS: list[Limit] = []


def limit(works: int, fails: int) -> Callable[[Callable[[int], Jump]], Callable[[int], Jump]]:
    def enter(make: Callable[[int], Jump]) -> Callable[[int], Jump]:
        LIMITS.append(Limit(make, works, fails))
        return make

    return enter


def body(**values: int | Sequence[int]) -> Motion:
    """Up to 2.5 px a tick after four ticks of run-up, and a jump of eight ticks.

    Held it rises 350000 + 250000 + 150000 + 50000, then falls 50000, and with the released gravity 200000, 350000 and
    500000: 300000 below the ground in the eighth tick. Let go earlier it is no longer.
    """
    defaults: dict[str, int | Sequence[int]] = {
        "body_w": 12 * PX,
        "body_h": 16 * PX,
        "walk_accel": 40960,
        "walk_cap": 163840,
        "coast": 40960,
        "reverse": 81920,
        "jump_launch": 350000,
        "jump_gravity_held": 100000,
        "jump_gravity": 150000,
        "terminal": 900000,
        "air_accel": 20000,
        "air_reverse": 30000,
        "air_cap": 163840,
    }
    return make_motion(**(defaults | values))


RUN_UP = 40960 + 81920 + 122880
"""The fourth tick is that of the takeoff."""

GAP = ["......", "......", "@.....", "##..##"]


@limit(works=2 * T + 2 - 8 * 163840, fails=2 * T + 1 - 8 * 163840)
def a_gap_with_a_run_up(n: int) -> Jump:
    """From the last spot eight ticks at full speed; a narrower body has farther to go."""
    return Jump(body(body_w=n), GAP, 2 * T - 1 - RUN_UP, (4, 3), ticks=13)


@limit(works=2 * T + 2 - 9 * 163840, fails=2 * T + 1 - 9 * 163840)
def a_gap_with_coyote_time(n: int) -> Jump:
    """The tick of walking off is a ninth."""
    return Jump(body(body_w=n, coyote_ticks=1), GAP, 2 * T - 1 - RUN_UP, (4, 3), ticks=14)


@limit(works=61441 * 21, fails=61441 * 21 + 1)
def a_step_up_onto_a_ledge(n: int) -> Jump:
    """A launch of six times the gravity has its apex at gravity * 6 * 7 / 2, and an exact touch is enough."""
    motion = body(jump_launch=6 * 61441, jump_gravity_held=61441)
    rows = ["....", "....", "@.##", "####"]
    return Jump(motion, rows, 2 * n - motion.body_w, (2, 2), ticks=11, tile=n)


PUSHED = 60000 + 90000 + 120000 + 190000 + 260000 + 3 * 300000


@limit(works=2 * T + 2 - PUSHED, fails=2 * T + 1 - PUSHED)
def a_gap_under_bands_of_air_acceleration(n: int) -> Jump:
    """The air pushes by 30000 a tick, from a speed of 120000 on by 70000, up to 300000; a landing leaves 60000."""
    at_once = {"walk_accel": 60000, "walk_cap": 60000, "coast": 300000, "reverse": 300000}
    bands = {"air_accel_from": [0, 120000], "air_accel": [30000, 70000], "air_cap": 300000}
    return Jump(body(body_w=n, **at_once, **bands), GAP, 2 * T - 1, (4, 3), ticks=11)


TURNED = 420000 + 370000 + 320000 + 270000 + 250000 + 230000


@limit(works=TURNED + 2 - T, fails=TURNED + 1 - T)
def a_perch_that_is_overshot_without_turning_round_in_the_air(n: int) -> Jump:
    """A one_way perch over the ground, each with T + W - 1 spots, and only a takeoff at 420000 rises so far.

    Five ticks after it the feet are at 450000 * 5 - 120000 * 10, just over a tile, and after six at 450000 * 6 -
    120000 * 15, under it. Pushing back takes 50000 a tick at a speed of 300000 and more, 20000 below, so that those six
    ticks lead at least so far; and from the first spot to the last it is T + W - 2.
    """
    at_once = {"walk_accel": 420000, "walk_cap": 420000, "coast": 420000, "reverse": 420000}
    jump = {"jump_from": [0, 420000], "jump_launch": [200000, 450000]}
    gravity = {"jump_gravity_held": [120000, 120000], "jump_gravity": [120000, 120000]}
    turn = {
        "air_reverse_from_speed": [0, 300000],
        "air_reverse_from_takeoff": [0, 400000],
        "air_reverse": [20000, 50000],
    }
    motion = body(body_w=n, air_accel=10000, air_cap=100000, **at_once, **jump, **gravity, **turn)
    return Jump(motion, ["......", "......", "..=@..", "..#..."], 2 * T - n + 1, (2, 2), ticks=11)


@limit(works=450000, fails=449999)
def a_tap_just_under_a_ceiling(n: int) -> Jump:
    """A gap of six ticks, with n to rise.

    Let go after the first tick, a jump rises 300000 + 150000, stays there for a tick, and falls 150000 and 300000 back
    to the ground exactly: it lands in the sixth tick. One that hits the ceiling does so in the second, falls 150000 and
    300000, and has landed in the fourth.
    """
    motion = body(body_w=2 * T + 2 - 6 * 163840, body_h=2 * T - n, jump_launch=300000, jump_gravity_held=50000)
    return Jump(motion, ["######", "......", "@.....", "##..##"], 2 * T - 1 - RUN_UP, (4, 3), ticks=11)


SIDES = [
    pytest.param(each.make(n), works, id=f"{each.make.__name__}({n})")
    for each in LIMITS
    for n, works in ((each.works, True), (each.fails, False))
]
JUMPS = [pytest.param(each.make(each.works), id=each.make.__name__) for each in LIMITS]


def compared(states: np.ndarray) -> list[dict[str, int]]:
    """What is compared of the simulator's states."""
    return [
        dict(zip(COMPARED, row, strict=True)) for row in states[:, [State._fields.index(n) for n in COMPARED]].tolist()
    ]


def verdict_on(scene: Scene) -> Verdict:
    """What a check says about the target."""
    seen = explored(scene)
    standable = standable_tiles(scene.motion, scene.terrain)
    found = find_witnesses(
        scene.motion,
        scene.terrain,
        find_footholds(scene.motion, scene.terrain),
        scene.start,
        standable & seen.carried,
        seen.touched,
        seen.moves,
        want_moves=False,
    )
    scripts = {
        (column, row): inputs
        for row, column in np.argwhere(standable).tolist()
        if (inputs := found.tile_inputs(column, row)) is not None
    }
    verdicts = tile_verdicts(standable, seen, scripts, found.exhausted)
    return next(verdict for verdict, tiles in verdicts.items() if scene.target in tiles)


@pytest.mark.parametrize(("jump", "works"), SIDES)
def test_z3_finds_a_script_to_the_last_subpixel_and_none_beyond(jump: Jump, works: bool) -> None:
    script = jump.script(jump.ticks)
    inputs = script.find(script.standing_on(*jump.target))
    assert (inputs is not None) == works
    if inputs is not None:
        scene = jump.scene()
        states = run_script(scene.start, inputs, scene.motion, scene.terrain)
        assert standing_on(states, scene.target, scene.motion, scene.terrain)[-1]
        assert compared(states) == [{name: state[name] for name in COMPARED} for state in script.states()]


@pytest.mark.parametrize(("jump", "works"), SIDES)
def test_the_exploration_and_the_verdict_see_the_same_limit(jump: Jump, works: bool) -> None:
    scene = jump.scene()
    for each in (scene, scene.mirrored()):
        column, row = each.target
        assert explored(each).carried[row, column] == works
        assert verdict_on(each) is (Verdict.REACHABLE if works else Verdict.UNREACHABLE)


def test_limits_are_one_subpixel_apart() -> None:
    assert len(LIMITS) >= 6
    assert all(abs(each.works - each.fails) == 1 for each in LIMITS)


@pytest.mark.parametrize("jump", JUMPS)
def test_z3_and_the_simulator_play_a_script_alike(jump: Jump) -> None:
    """Random scripts in which the body is not lost: what z3 is told about a tick is what a tick does."""
    scene = jump.scene()
    script = jump.script(18)
    dice = np.random.default_rng(5)
    left = 6
    while left:
        inputs = random_inputs(dice, 18)
        inputs[:, 1:3] = 0
        states = run_script(scene.start, inputs, scene.motion, scene.terrain)
        if states[-1, State._fields.index("lost")]:
            continue
        left -= 1
        played = [
            z3.And(p.left == (direction < 0), p.right == (direction > 0), p.jump == (pressed != 0))
            for p, (direction, _, _, pressed) in zip(script.pressed, inputs.tolist(), strict=True)
        ]
        assert script.find(z3.And(*played)) is not None
        assert compared(states) == [{name: state[name] for name in COMPARED} for state in script.states()]


@pytest.mark.parametrize("jump", JUMPS)
def test_what_z3_is_told_besides_the_rules_follows_from_them(jump: Jump) -> None:
    """A tick from any state within the bounds ends within them, so that they exclude no script from a rest inside."""
    script = jump.script(1, anywhere=True)
    assert script.find(z3.Not(script.within(script.bodies[-1]))) is None
    start = jump.start()
    assert start.vx == start.vy == 0
    assert 0 <= start.x <= len(jump.rows[0]) * jump.tile - jump.motion.body_w
