"""The window of a move that only a whole script makes: its last press, hold and steering, shifted.

The steering is the last change from one direction to another or to none; a direction that is held until the landing is
let go of sooner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels.boxes import largest_cube
from reach.kernels.plan_axes import natural_ticks
from reach.kernels.plan_tick import BOUNCE, FAILS, LOST, SUCCEEDS, TOUCH, TOUCHED, Scene, run_inputs
from reach.kernels.script_grid import script_grid
from reach.reachability.chance import chance_around
from reach.reachability.plan_task import MOST_FLIGHT_TICKS, Axis

if TYPE_CHECKING:
    from reach.kernels.params import State

FIRST_REACH_TICKS = 6
X, Y, GROUNDED, COYOTE, BUFFER, JUMP_WAS_DOWN, FATE, LAUNCHED = 0, 1, 4, 8, 9, 10, 11, 12
DIRECTION, JUMP_BUTTON = 0, 3


@dataclass(frozen=True, eq=False)
class ScriptWindow:
    """What a script's variations leave: as of `Window`; `takeoff` and `landing` index `bodies`."""

    window_ticks: int
    chance: float
    chance_step_ticks: int
    room_spx: int
    passing_only: bool
    inputs: np.ndarray
    bodies: np.ndarray
    takeoff: int
    landing: int


@dataclass(frozen=True)
class _Timing:
    """The ticks of a script's last flight: takeoff, press (-1: none), its hold, the change of direction (0: none, it is
    held until the landing), landing.

    The change of direction counts from the press.
    """

    takeoff: int
    press: int
    hold: int
    steer: int
    landing: int

    @property
    def until(self) -> int:
        """The tick, from the press, that steering lasts until."""
        return self.steer or self.landing - max(self.press, 0)


def measure_script(
    scene: Scene, start: State, inputs: np.ndarray, cap: int, tick_ms: float, spread_ms: float
) -> ScriptWindow | str:
    """Return the largest box of shifts around a script's own ticks; a string says why there is none."""
    inputs = np.ascontiguousarray(inputs, dtype=np.int64)
    fate = LOST if start.lost or start.ended else 0
    first = np.array([*start[:11], fate, 0], np.int64)
    bodies = run_inputs(first, inputs, scene)
    timing = _timing(scene, bodies, inputs)
    if timing is None:
        return "the script does not make this move"
    axes = _axes(scene, timing)

    def fly(presses: np.ndarray, holds: np.ndarray, steers: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return script_grid(
            first,
            inputs,
            timing.press,
            timing.steer,
            timing.landing - 1,
            presses,
            holds,
            steers,
            scene,
            MOST_FLIGHT_TICKS,
        )

    middle = (max(timing.press, 0), timing.hold, timing.until)
    own = int(fly(*(np.array([tick], np.int64) for tick in middle))[0][0, 0, 0])
    if own == FAILS:
        return "the script's move cannot be told apart from what comes before it"
    reach = FIRST_REACH_TICKS
    while True:
        part = [_around(axis, tick, reach) for axis, tick in zip(axes, middle, strict=True)]
        worths, spots = fly(*(np.arange(axis.low, axis.high + 1, dtype=np.int64) for axis in part))
        pads = [axis.padding(cap) for axis in part]
        ones = np.pad((worths >= own).astype(np.uint8), pads, mode="edge")
        size, *corner = (int(n) for n in largest_cube(ones, cap))
        if size < reach or reach >= cap:
            break
        reach = min(2 * reach, cap)
    box = []
    centre = []
    for axis, pad, begin in zip(part, pads, corner, strict=True):
        ends = [min(max(begin - pad[0] + offset, 0), axis.high - axis.low) for offset in (0, size - 1)]
        box.append(slice(ends[0], ends[1] + 1))
        centre.append(axis.low + sum(ends) // 2)
    chance, step = chance_around(lambda *ticks: fly(*ticks)[0] >= own, axes, centre, tick_ms, spread_ms)
    landed = spots[tuple(box)]
    return ScriptWindow(
        size,
        chance,
        step,
        int(landed.max() - landed.min()),
        own < SUCCEEDS,
        inputs,
        bodies,
        timing.takeoff,
        timing.landing,
    )


def _timing(scene: Scene, bodies: np.ndarray, inputs: np.ndarray) -> _Timing | None:
    """Return the ticks of the last flight of a script, None where it does not end as the goal asks."""
    landing = _landing(scene, bodies)
    if landing is None:
        return None
    air = bodies[:landing, GROUNDED] == 0
    grounded_before = np.flatnonzero(~air)
    takeoff = int(grounded_before[-1]) if grounded_before.size else 0
    jumps = [t for t in range(landing) if _takes_off(bodies[t], inputs[t])]
    press, hold, steer = -1, 1, 0
    first = 0
    # A jump begins the last flight if the body was in the air from then on: in coyote time it may begin in the air.
    if jumps and jumps[-1] >= takeoff:
        takeoff = jumps[-1]
        presses = [
            t
            for t in range(takeoff + 1)
            if inputs[t, JUMP_BUTTON] and not (inputs[t - 1, JUMP_BUTTON] if t else bodies[0, JUMP_WAS_DOWN])
        ]
        if not presses:
            return None
        press = first = presses[-1]
        released = np.flatnonzero(inputs[press:, JUMP_BUTTON] == 0)
        hold = int(released[0]) if released.size else len(inputs) - press
    changes = [t for t in range(first + 1, landing) if inputs[t, DIRECTION] != inputs[t - 1, DIRECTION]]
    if changes and inputs[changes[-1] - 1, DIRECTION]:
        steer = changes[-1] - first
    return _Timing(takeoff, press, hold, steer, landing)


def _landing(scene: Scene, bodies: np.ndarray) -> int | None:
    goal = scene.goal
    if goal.kind == TOUCH:
        touched = np.flatnonzero(bodies[:, FATE] == TOUCHED)
        return int(touched[0]) if touched.size and touched[0] > 0 else None
    on = (bodies[:, Y] == goal.y) & (bodies[:, X] >= goal.left) & (bodies[:, X] <= goal.right)
    if goal.kind == BOUNCE:
        launched = np.flatnonzero(on & (bodies[:, LAUNCHED] != 0))
        return int(launched[0]) if launched.size and launched[0] > 0 else None
    arrived = np.flatnonzero(on[1:] & (bodies[1:, GROUNDED] != 0) & (bodies[:-1, GROUNDED] == 0)) + 1
    if arrived.size:
        return int(arrived[-1])
    rested = np.flatnonzero(on & (bodies[:, GROUNDED] != 0))
    return int(rested[-1]) if rested.size and rested[-1] > 0 else None


def _takes_off(body: np.ndarray, buttons: np.ndarray) -> bool:
    wanted = body[BUFFER] > 0 or (buttons[JUMP_BUTTON] and not body[JUMP_WAS_DOWN])
    return bool(wanted and (body[GROUNDED] or body[COYOTE] > 0))


def _axes(scene: Scene, timing: _Timing) -> tuple[Axis, Axis, Axis]:
    hold, flight = natural_ticks(scene.motion, -1, scene.goal.lowest)
    steers = Axis(1, timing.until + flight, open_high=not timing.steer)
    if timing.press < 0:
        return Axis(0, 0, True, True), Axis(1, 1, True, True), steers
    return Axis(0, timing.press + flight), Axis(1, max(hold, timing.hold), open_high=True), steers


def _around(axis: Axis, tick: int, reach: int) -> Axis:
    low, high = max(axis.low, tick - reach), min(axis.high, tick + reach)
    return Axis(low, high, axis.open_low and low == axis.low, axis.open_high and high == axis.high)
