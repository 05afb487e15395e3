"""How tight a move is: the largest box of press, hold and steering ticks in which every combination succeeds.

A window is what the best of the plans tried leaves: the true one may be larger, never smaller. Every combination of a
window's box has been flown, tick by tick, in the scalar model's arithmetic; sampled grids only choose where to look.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

import numpy as np

from reach.findings import MoveKind, PointPx
from reach.kernels.course import Course, compile_course
from reach.kernels.plan_tick import SUCCEEDS
from reach.kernels.plans import PlanTicks, fly_plan
from reach.reachability.plan_answers import alone
from reach.reachability.plan_requests import Asking
from reach.reachability.plan_search import Found, best_chance, find_window, landing_room_spx
from reach.reachability.plan_task import MOST_FLIGHT_TICKS, Ground, Task, foothold_ground, make_task, place_box
from reach.reachability.script_window import measure_script

if TYPE_CHECKING:
    from reach.kernels.params import Motion, State, Terrain
    from reach.reachability.result import Foothold

WINDOW_CAP_TICKS = 30
"""No window is measured as larger than this unless asked for."""

SPX = 65536


class PlanEnd(StrEnum):
    """What a plan does after steering until it lands."""

    NOTHING = "nothing"
    OPPOSITE = "opposite"


@dataclass(frozen=True)
class Plan:
    """A plan in the player's terms; ticks count from the press (or, where there is none, from the first tick).

    From rest at `x_spx`: run up `press_tick` ticks (negative: stand, and press so many ticks before the direction),
    press, hold `hold_ticks`, give no direction before `steer_from`, `facing` until `steer_until`, then `end` until the
    landing.
    """

    x_spx: int
    facing: int
    run: bool
    press_tick: int
    hold_ticks: int
    steer_from: int
    steer_until: int
    end: PlanEnd


@dataclass(frozen=True, eq=False)
class Window:
    """How tight one move is, by the best of the plans tried.

    `window_ticks` is the largest w <= the cap such that all w x w x w combinations of consecutive press, hold and
    steering ticks succeed; `open` tells that the cap was hit. `chance` is the chance that a try of the best plan
    succeeds, for the stated spread of the player's timing: an average over players, not a promise of accessibility;
    where a spread spans so many ticks that not each is flown, `chance_step_ticks` > 1 says how far apart they are.
    `landing_room_px` lies between the first and the last spot at which the box's plans land. `passing_only`: no plan
    comes to rest on the target, and success means landing on it.

    `inputs` int64 [ticks, 4] (direction, down, run, jump) is the plan at the middle of the box, from rest at the plan's
    start to rest on the target. `arc_px` is its flight: the body's feet centre after each tick, from the last one on
    the ground. `why_not` says why nothing was measured; `window_ticks` is 0 then.
    """

    window_ticks: int
    open: bool = False
    chance: float | None = None
    chance_step_ticks: int = 1
    landing_room_px: float | None = None
    passing_only: bool = False
    plan: Plan | None = None
    inputs: np.ndarray = field(default_factory=lambda: np.zeros((0, 4), np.int64))
    air_ticks: int = 0
    arc_px: tuple[PointPx, ...] = ()
    why_not: str = ""


class KnownMove(Protocol):
    """What is known of a move from its proof: where its body starts (`from_rest`: on the source), and its inputs."""

    @property
    def from_rest(self) -> bool: ...  # noqa: D102
    @property
    def start(self) -> State: ...  # noqa: D102
    @property
    def inputs(self) -> np.ndarray: ...  # noqa: D102


def measure_move(
    motion: Motion,
    terrain: Terrain,
    source: Foothold,
    target: Foothold | int,
    kind: MoveKind,
    hint: KnownMove | None = None,
    *,
    tick_ms: float,
    spread_ms: float,
    cap: int = WINDOW_CAP_TICKS,
    wanted: int = 0,
    course: Course | None = None,
) -> Window:
    """Measure how tight the move from rest on a foothold to a foothold or place is.

    Parameters
    ----------
    motion : Motion
    terrain : Terrain
    source : Foothold
        On a spring, the body starts from a launch without horizontal speed.
    target : Foothold or int
        The foothold on which to land and come to rest (on a spring: to be launched), or the index of the place to
        touch.
    kind : MoveKind
    hint : KnownMove, optional
        A script that makes the move. Its start is tried as a plan's; where no plan is found, it is measured itself.
    tick_ms, spread_ms : float
        Length of a tick and spread (standard deviation) of the player's timing.
    cap : int
        Largest window measured, ticks.
    wanted : int
        As long as the window is smaller, ticks, plans are looked for more closely.
    course : Course, optional
        `compile_course(terrain)`, where it is at hand.

    Returns
    -------
    Window
    """
    course = compile_course(terrain) if course is None else course
    return alone(
        ask_window(
            motion,
            terrain,
            source,
            target,
            kind,
            hint,
            tick_ms=tick_ms,
            spread_ms=spread_ms,
            cap=cap,
            wanted=wanted,
            course=course,
        )
    )


def ask_window(
    motion: Motion,
    terrain: Terrain,
    source: Foothold,
    target: Foothold | int,
    kind: MoveKind,
    hint: KnownMove | None,
    *,
    tick_ms: float,
    spread_ms: float,
    cap: int,
    wanted: int,
    course: Course,
) -> Asking[Window]:
    """Ask for what `measure_move` returns for the same arguments."""
    ground = foothold_ground(source, motion, terrain)
    goal = place_box(target, terrain) if isinstance(target, int) else foothold_ground(target, motion, terrain)
    task = make_task(motion, course, kind, ground, goal)
    from_rest = hint is not None and hint.from_rest and ground.left <= hint.start.x <= ground.right
    extra = (int(hint.start.x),) if hint is not None and from_rest else ()
    found = yield from find_window(task, extra, cap, wanted)
    if found is not None:
        return (yield from _window(task, found, cap, tick_ms, spread_ms))
    if hint is not None:
        return measure_script_window(
            motion,
            terrain,
            hint.start,
            hint.inputs,
            target,
            tick_ms=tick_ms,
            spread_ms=spread_ms,
            cap=cap,
            course=course,
        )
    return Window(0, why_not="no plan makes this move")


def measure_script_window(
    motion: Motion,
    terrain: Terrain,
    start: State,
    inputs: np.ndarray,
    target: Foothold | int,
    *,
    tick_ms: float,
    spread_ms: float,
    cap: int = WINDOW_CAP_TICKS,
    course: Course | None = None,
) -> Window:
    """Measure a move that needs speed brought in, on its whole script.

    Its last press of jump before the landing, that press's hold and the last steering are shifted; what follows the
    press moves along with it, and the last tick before it is repeated or left out. Without a press only the steering is
    shifted: the last change from one direction to another or to none, or, where a direction is held until the landing,
    letting go of it.

    Parameters
    ----------
    start : State
        Before the first tick of `inputs`.
    inputs : int64 [ticks, 4]
        Columns direction, down, run, jump.
    target : Foothold or int
        As of `measure_move`; the others too.

    Returns
    -------
    Window
        Without a plan. With `why_not` where the script does not make the move.
    """
    course = compile_course(terrain) if course is None else course
    goal = place_box(target, terrain) if isinstance(target, int) else foothold_ground(target, motion, terrain)
    task = make_task(motion, course, MoveKind.JUMP, Ground(start.x, start.x, start.y), goal)
    measured = measure_script(task.scene, start, inputs, cap, tick_ms, spread_ms)
    if isinstance(measured, str):
        return Window(0, why_not=measured)
    return Window(
        measured.window_ticks,
        open=measured.window_ticks >= cap,
        chance=measured.chance,
        chance_step_ticks=measured.chance_step_ticks,
        landing_room_px=measured.room_spx / SPX,
        passing_only=measured.passing_only,
        inputs=measured.inputs,
        air_ticks=measured.landing - measured.takeoff,
        arc_px=_arc(task, measured.bodies[measured.takeoff : measured.landing + 1]),
    )


def _window(task: Task, found: Found, cap: int, tick_ms: float, spread_ms: float) -> Asking[Window]:
    chance, step = yield from best_chance(task, found, tick_ms, spread_ms)
    room_spx = yield from landing_room_spx(task, found)
    plan = found.plan
    _, inputs, bodies, landing = fly_plan(plan, task.source(plan.x), task.scene, MOST_FLIGHT_TICKS)
    landing = landing if landing >= 0 else len(bodies) - 1
    in_air = np.flatnonzero(bodies[: landing + 1, 4] == 0)
    takeoff = max(int(in_air[0]) - 1, 0) if in_air.size else landing
    return Window(
        found.window_ticks,
        open=found.window_ticks >= cap,
        chance=chance,
        chance_step_ticks=step,
        landing_room_px=room_spx / SPX,
        passing_only=found.least_worth < SUCCEEDS,
        plan=_in_words(plan),
        inputs=inputs,
        air_ticks=landing - takeoff,
        arc_px=_arc(task, bodies[takeoff : landing + 1]),
    )


def _in_words(plan: PlanTicks) -> Plan:
    return Plan(
        x_spx=int(plan.x),
        facing=int(plan.facing),
        run=bool(plan.run),
        press_tick=int(plan.press),
        hold_ticks=int(plan.hold),
        steer_from=int(plan.steer_from + max(-plan.press, 0)),
        steer_until=int(plan.steer_until),
        end=PlanEnd.OPPOSITE if plan.end else PlanEnd.NOTHING,
    )


def _arc(task: Task, bodies: np.ndarray) -> tuple[PointPx, ...]:
    """Return where the feet centre is, px."""
    motion = task.scene.motion
    xs = (bodies[:, 0] * 2 + motion.body_w) / (2 * SPX)
    ys = (bodies[:, 1] + motion.body_h) / SPX
    return tuple(zip(xs.tolist(), ys.tolist(), strict=True))
