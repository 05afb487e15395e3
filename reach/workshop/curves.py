"""The curves of a profile: speed over time, air control, jump arcs, and where one takeoff can lead.

Every number is one that the simulator's tick gives on flat ground; none comes from a formula. The envelope comes from
the exploration and is a superset: no input leaves it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels import heap
from reach.kernels.params import EMPTY, Buttons, Motion, State
from reach.kernels.step import step
from reach.movement import SPX_PER_PX
from reach.reachability.explore import Explorer
from reach.workshop.flat_ground import SIDE_SPX, at_rest, flat_ground, one_column, play_flat

if TYPE_CHECKING:
    from reach.movement import Movement

X, Y, VX, GROUNDED = (State._fields.index(name) for name in ("x", "y", "vx", "grounded"))
SUSTAIN_S = Fraction(1, 5)
"""For so long a speed is held once it is reached, so that a curve shows that it stays."""
LONGEST_S = Fraction(20)
"""A phase or a flight that takes longer is not followed to its end, and the curves say so."""
MOST_FLIGHT_STATES = 2_000_000
"""An envelope of more vertical states than about this many is left out, and the curves say so."""
BELOW_TILES = 6
"""An envelope is followed down to so many tiles below the takeoff."""


class Takeoff(StrEnum):
    """How the body comes to a takeoff."""

    STANDING = "standing"
    WALKING = "walking"
    RUNNING = "running"


class Steer(StrEnum):
    """The direction held in the air, against that of the takeoff."""

    FORWARD = "forward"
    NONE = "none"
    BACK = "back"


@dataclass(frozen=True)
class Phase:
    """A stretch of the speed curve in which the same buttons are held, from `begin` to `end` in seconds."""

    name: str
    buttons: Buttons
    begin_s: Fraction
    end_s: Fraction


@dataclass(frozen=True, eq=False)
class SpeedCurve:
    """Speed along the ground after every tick, spx per tick, int64 [ticks + 1]; entry 0 is rest."""

    vx_spx: np.ndarray
    inputs: np.ndarray


@dataclass(frozen=True, eq=False)
class Flight:
    """A jump on flat ground from its takeoff to its landing, with one direction held in the air.

    `x_spx` and `height_spx` are int64 [ticks + 1]: how far the body has moved, and how high its feet are, since the end
    of the tick before the takeoff, which is entry 0; `vx_spx` is its speed, spx per tick. `lands` is False for a flight
    that was not followed to its end.
    """

    takeoff: Takeoff
    steer: Steer
    takeoff_spx: int
    held_ticks: int
    x_spx: np.ndarray
    height_spx: np.ndarray
    vx_spx: np.ndarray
    lands: bool


@dataclass(frozen=True, eq=False)
class Envelope:
    """Where the body can be after one takeoff, whatever is pressed. Approximation: over; no input leaves it.

    Row i holds every position at the end of a tick with a height of at least `height_px[i]` and less than 1 px more:
    the body has then moved by `left_spx[i]` to `right_spx[i]`. All int64, heights descending. At heights that are not
    listed the body is at the end of no tick.
    """

    takeoff: Takeoff
    takeoff_spx: int
    height_px: np.ndarray
    left_spx: np.ndarray
    right_spx: np.ndarray


@dataclass(frozen=True, eq=False)
class Curves:
    """All curves of one profile. `remarks` says what could not be followed to its end.

    `phase_ticks` tells after how many ticks of each phase its speed is reached, None where it takes over `LONGEST_S`,
    and in the phases of a run that the profile does not have.
    """

    movement: Movement
    tile_px: int
    phases: tuple[Phase, ...]
    phase_ticks: tuple[int | None, ...]
    speed: SpeedCurve
    air: tuple[Flight, ...]
    arcs: tuple[Flight, ...]
    envelopes: tuple[Envelope, ...]
    remarks: tuple[str, ...]


_PHASES: tuple[tuple[str, Buttons, Callable[[Motion], int]], ...] = (
    ("walk", Buttons(1, 0, 0, 0), lambda motion: motion.walk_cap),
    ("coast", Buttons(0, 0, 0, 0), lambda motion: 0),
    ("walk", Buttons(1, 0, 0, 0), lambda motion: motion.walk_cap),
    ("reverse", Buttons(-1, 0, 0, 0), lambda motion: -motion.walk_cap),
    ("coast", Buttons(0, 0, 0, 0), lambda motion: 0),
    ("run", Buttons(1, 0, 1, 0), lambda motion: motion.run_cap),
    ("run let go", Buttons(1, 0, 0, 0), lambda motion: motion.walk_cap),
    ("coast", Buttons(0, 0, 0, 0), lambda motion: 0),
)
RUN_PHASES = ("run", "run let go")
"""In them a profile without a run walks."""
_RUN_PHASES = 3
"""So many of them, the last, are shown only where some profile has a run."""


def measure_curves(movements: Sequence[Movement], tile_px: int) -> tuple[Curves, ...]:
    """The curves of profiles that are to be compared: the same buttons at the same time for all of them.

    Parameters
    ----------
    movements : sequence of Movement
        At least one.
    tile_px : int

    Returns
    -------
    tuple of Curves
        One for each, in their order.
    """
    remarks: list[list[str]] = [[] for _ in movements]
    phases, taken = _timed_phases(movements, remarks)
    return tuple(
        _curves(movement, tile_px, phases, own_ticks, own)
        for movement, own_ticks, own in zip(movements, taken, remarks, strict=True)
    )


def _curves(
    movement: Movement, tile_px: int, phases: tuple[Phase, ...], taken: tuple[int | None, ...], remarks: list[str]
) -> Curves:
    air, arcs, envelopes = [], [], []
    for takeoff in Takeoff:
        if takeoff is Takeoff.RUNNING and not movement.motion.has_run:
            continue
        start = _run_up(movement, takeoff, remarks)
        full = _flight(movement, takeoff, start, Steer.FORWARD, None)
        if not full.lands:
            remarks.append(f"a {takeoff} jump is still in the air after {LONGEST_S} s and is shown so far only")
        air += [_flight(movement, takeoff, start, steer, None) for steer in Steer]
        apex = int(np.argmax(full.height_spx))
        holds = sorted({max(1, apex * part // 3) for part in (0, 1, 2)})
        arcs += [_flight(movement, takeoff, start, Steer.FORWARD, held) for held in holds if held < apex]
        arcs.append(full)
        if not full.lands or apex * len(full.x_spx) > MOST_FLIGHT_STATES:
            remarks.append(f"the envelope of a {takeoff} jump is left out: too many flights to follow")
        else:
            envelopes.append(_envelope(movement.motion, takeoff, full, BELOW_TILES * tile_px))
    return Curves(
        movement=movement,
        tile_px=tile_px,
        phases=phases,
        phase_ticks=taken,
        speed=_speed_curve(movement, phases),
        air=tuple(air),
        arcs=tuple(arcs),
        envelopes=tuple(envelopes),
        remarks=tuple(dict.fromkeys(remarks)),
    )


def _timed_phases(
    movements: Sequence[Movement], remarks: list[list[str]]
) -> tuple[tuple[Phase, ...], list[tuple[int | None, ...]]]:
    """The phases, and the ticks that each profile takes to come to their speeds.

    A phase is as long as the slowest profile needs for that, and a while longer.
    """
    has_run = any(movement.motion.has_run for movement in movements)
    phases: list[Phase] = []
    told: list[list[int | None]] = [[] for _ in movements]
    begin = Fraction(0)
    terrain = flat_ground()
    states = [at_rest(movement.motion) for movement in movements]
    for name, buttons, target in _PHASES if has_run else _PHASES[:-_RUN_PHASES]:
        longest = Fraction(0)
        for movement, state, own_ticks, own in zip(movements, states, told, remarks, strict=True):
            most = int(LONGEST_S * movement.tick_rate_hz)
            aim, taken = target(movement.motion), 0
            while state.vx != aim and taken < most:
                state = State(*step(state, buttons, movement.motion, terrain))
                taken += 1
            if state.vx != aim:
                own.append(f"the phase '{name}' takes more than {LONGEST_S} s and is shown so far only")
            runs = movement.motion.has_run or name not in RUN_PHASES
            own_ticks.append(taken if state.vx == aim and runs else None)
            longest = max(longest, Fraction(taken, movement.tick_rate_hz))
        end = begin + longest + SUSTAIN_S
        phases.append(Phase(name, buttons, begin, end))
        for index, movement in enumerate(movements):
            played = play_flat(movement.motion, _phase_inputs(phases[-1], movement.tick_rate_hz), states[index])
            states[index] = State(*played[-1].tolist())
        begin = end
    return tuple(phases), [tuple(own) for own in told]


def _phase_inputs(phase: Phase, tick_rate_hz: int) -> np.ndarray:
    ticks = int(phase.end_s * tick_rate_hz) - int(phase.begin_s * tick_rate_hz)
    return np.tile(np.array(phase.buttons, np.int64), (ticks, 1))


def _speed_curve(movement: Movement, phases: tuple[Phase, ...]) -> SpeedCurve:
    inputs = np.concatenate([_phase_inputs(phase, movement.tick_rate_hz) for phase in phases])
    return SpeedCurve(play_flat(movement.motion, inputs)[:, VX], inputs)


def _run_up(movement: Movement, takeoff: Takeoff, remarks: list[str]) -> State:
    """The body on the ground in the tick before a takeoff: at rest, or at the top speed of the walk or the run."""
    motion, terrain = movement.motion, flat_ground()
    state = at_rest(motion)
    if takeoff is Takeoff.STANDING:
        return state
    top = motion.run_cap if takeoff is Takeoff.RUNNING else motion.walk_cap
    buttons = Buttons(1, 0, int(takeoff is Takeoff.RUNNING), 0)
    for _ in range(int(LONGEST_S * movement.tick_rate_hz)):
        if state.vx == top:
            return state
        state = State(*step(state, buttons, motion, terrain))
    remarks.append(f"a {takeoff} jump is shown from the speed that a run-up of {LONGEST_S} s gives")
    return state


def _flight(movement: Movement, takeoff: Takeoff, start: State, steer: Steer, held_ticks: int | None) -> Flight:
    """One jump: in its first tick with the direction of the run-up, then steered; held all the way for None."""
    motion = movement.motion
    most = int(LONGEST_S * movement.tick_rate_hz)
    inputs = np.zeros((most, 4), np.int64)
    inputs[:, 0] = {Steer.FORWARD: 1, Steer.NONE: 0, Steer.BACK: -1}[steer]
    inputs[0, 0] = int(takeoff is not Takeoff.STANDING)
    inputs[:, 2] = int(takeoff is Takeoff.RUNNING)
    inputs[:held_ticks, 3] = 1
    states = play_flat(motion, inputs, start)
    landed = np.flatnonzero(states[1:, GROUNDED])
    states = states[: int(landed[0]) + 2] if len(landed) else states
    return Flight(
        takeoff=takeoff,
        steer=steer,
        takeoff_spx=int(states[1, VX]),
        held_ticks=len(states) - 1 if held_ticks is None else held_ticks,
        x_spx=states[:, X] - start.x,
        height_spx=start.y - states[:, Y],
        vx_spx=states[:, VX],
        lands=len(landed) > 0,
    )


def _envelope(motion: Motion, takeoff: Takeoff, jump: Flight, below_px: int) -> Envelope:
    """Every position that the takeoff of this jump can lead to, down to so far below it, with nothing in the way."""
    found: list[np.ndarray] = []

    def keep(_: int, job: np.ndarray) -> None:
        sets = heap.region(job, heap.SET, heap.SET_WIDTH)
        records = heap.region(job, heap.RECORD, heap.RECORD_WIDTH)[: job[heap.RECORD_N]]
        bounds = sets[records[:, 5]]
        found.append(np.column_stack([records[:, 1], bounds[:, heap.SET_X0], bounds[:, heap.SET_X1]]))

    ground = SIDE_SPX - below_px * SPX_PER_PX
    x, speed = SIDE_SPX // 2 + int(jump.x_spx[1]), int(jump.vx_spx[1])
    body = State(x, ground, speed, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)
    Explorer(motion, one_column(EMPTY)).explore(takeoff=body, seen=keep)
    y, left, right = np.concatenate(found).T
    rows, row = np.unique((ground - y) // SPX_PER_PX, return_inverse=True)
    least = np.full(len(rows), np.iinfo(np.int64).max)
    most = np.full(len(rows), np.iinfo(np.int64).min)
    np.minimum.at(least, row, left)
    np.maximum.at(most, row, right)
    start = SIDE_SPX // 2
    return Envelope(takeoff, jump.takeoff_spx, rows[::-1], (least - start)[::-1], (most - start)[::-1])
