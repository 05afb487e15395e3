"""Recordings made by the simulator: profiles drawn at random, and play that exercises all of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np

from reach.kernels.params import SOLID, Motion, State, Terrain
from reach.kernels.step import run_script
from reach.movement import Movement, movement_from_dict

TILE_PX = 16
TILE = TILE_PX * 65536
CLIFF_COLUMN = 400
HIGH_ROW, LOW_ROW = 40, 140
SHARES = (0.3, 0.62, 0.75, 0.93)
"""Of the top speed, at the ends of run-ups."""


def cliff() -> Terrain:
    """A plateau, and 100 tiles below it a plain, both wide."""
    material = np.zeros((LOW_ROW + 2, 1200), np.uint8)
    material[HIGH_ROW:, :CLIFF_COLUMN] = SOLID
    material[LOW_ROW:, CLIFF_COLUMN:] = SOLID
    nothing = np.zeros(0, np.int64)
    return Terrain(TILE, material, np.zeros(material.shape, np.int64), nothing, nothing, nothing)


def buttons(text: str) -> list[int]:
    """An input row: letters r(ight), l(eft), d(own), x (run), j(ump)."""
    return [("r" in text) - ("l" in text), int("d" in text), int("x" in text), int("j" in text)]


class Player:
    """Plays ticks on the cliff and writes down what a recording would hold."""

    def __init__(
        self, motion: Motion, name: str, column: float, high: bool = False, terrain: Terrain | None = None
    ) -> None:
        self.motion, self.name = motion, name
        self.terrain = terrain or cliff()
        row = HIGH_ROW if high else LOW_ROW
        self.state = State(int(column * TILE), row * TILE - motion.body_h, 0, 0, 1, *[0] * 8)
        self.inputs: list[list[int]] = []
        self.states: list[State] = []

    def hold(self, ticks: int, text: str = "") -> Player:
        rows = np.array([buttons(text)] * ticks, np.int64).reshape(-1, 4)
        played = run_script(self.state, rows, self.motion, self.terrain).tolist()[1:]
        self.inputs += rows.tolist()
        self.states += [State(*row) for row in played]
        self.state = self.states[-1] if self.states else self.state
        return self

    def until(self, done: Callable[[State], Any], text: str = "", most: int = 400) -> Player:
        for _ in range(most):
            self.hold(1, text)
            if done(self.state):
                break
        return self

    def land(self, text: str = "") -> Player:
        return self.until(lambda state: state.grounded, text)

    def rest(self) -> Player:
        return self.until(lambda state: state.grounded and state.vx == 0).hold(6)


def systematic_takes(motion: Motion, shares: Sequence[float] = SHARES) -> list[Player]:
    """Takes that exercise every rule that the profile has, on both sides where a rule has two.

    With fewer shares there are fewer takes.
    """
    walk = _ticks_to(motion.walk_cap, motion.walk_accel) + 13
    run = _ticks_to(motion.run_cap, min(motion.run_accel, motion.walk_accel)) + 13
    takes = []
    ground = Player(motion, "ground", 700).hold(12)
    for ahead, back in (("r", "l"), ("l", "r")):
        ground.hold(walk, ahead).rest().hold(walk, ahead).hold(walk + 8, back).rest()
        if motion.has_run:
            ground.hold(run, ahead + "x").hold(motion.run_memory + 40, ahead).rest()
            ground.hold(run, ahead + "x").hold(run + 8, back + "x").rest()
    takes.append(ground)
    # Run-ups that take off on both sides of every threshold a profile drawn here can have, and at every top speed.
    speeds = [("", 0)] + [("r", _ticks_to(int(motion.walk_cap * share), motion.walk_accel)) for share in shares]
    speeds.append(("r", walk))
    if motion.has_run:
        speeds += [("rx", _ticks_to(int(motion.run_cap * share), motion.run_accel)) for share in shares]
        speeds.append(("rx", run))
    for number, (text, ticks) in enumerate(speeds):
        take = Player(motion, f"jumps{number}", 600)
        for air in ("", "r", "l"):
            for held in (60, 7):
                take.rest().hold(ticks, text)
                extra = "x" if "x" in text else ""
                take.hold(1, text + "j").hold(held, air + extra + "j").land(air + extra)
        take.rest().hold(ticks, text)
        take.hold(1, text + "j").hold(6, "r").hold(30, "l").hold(30, "r").land("r")
        takes.append(take.rest())
    for number, (text, ticks) in enumerate(speeds[1:]):
        take = Player(motion, f"falls{number}", CLIFF_COLUMN - 1, high=True)
        run_up = Player(motion, "run-up", 100, high=True).hold(ticks, text).state
        take.state = run_up._replace(x=CLIFF_COLUMN * TILE - 3 * max(1, run_up.vx))
        take.hold(4, text).until(lambda state: not state.grounded, text)
        takes.append(take.land("l" if number % 2 else "r").rest())
    for late in range(1, motion.coyote_ticks + 3):
        take = Player(motion, f"late{late}", CLIFF_COLUMN - 2, high=True)
        take.hold(6).until(lambda state: not state.grounded, "r").hold(late - 1, "r")
        takes.append(take.hold(1, "rj").hold(25, "rj").land().rest())
    takes.append(early_presses(motion))
    return takes


def early_presses(motion: Motion) -> Player:
    """Presses before a landing, from in time to too early, with the button kept down and let go at once."""
    take = Player(motion, "early", 600).hold(10)
    flight = len(Player(motion, "probe", 600).hold(3).hold(1, "j").hold(2, "j").land().states) - 4
    for early in range(1, motion.buffer_ticks + 3):
        for kept in (True, False):
            take.rest().hold(3).hold(1, "j").hold(2, "j")
            wait = flight - 2 - early
            if wait < 1:
                continue
            take.hold(wait).hold(1, "j").hold(early, "j" if kept else "").hold(20, "j" if kept else "").land()
    return take.rest()


def _ticks_to(speed: int, rate: int) -> int:
    """Ticks of a run-up after which the tick of the jump reaches a speed."""
    return max(0, -(-speed // rate) - 1)


def csv_of(
    takes: list[Player],
    rounded_px: Fraction | None = None,
    y_up: bool = False,
    leave_out: Callable[[str, int], bool] | None = None,
    shift_px: Callable[[str, int], tuple[int, int]] | None = None,
) -> str:
    """The recording of takes as a CSV table, positions exact or rounded to the nearest multiple."""
    lines = ["take,tick,x_px,y_px,left,right,down,run,jump"]
    for take in takes:
        for tick, (state, row) in enumerate(zip(take.states, take.inputs, strict=True)):
            if leave_out is not None and leave_out(take.name, tick):
                continue
            x, y = Fraction(state.x, 65536), Fraction(state.y, 65536)
            if rounded_px:
                x, y = (round(value / rounded_px) * rounded_px for value in (x, y))
            if shift_px is not None:
                off = shift_px(take.name, tick)
                x, y = x + off[0], y + off[1]
            y = -y if y_up else y
            direction, down, run, jump = row
            cells = (take.name, tick, _decimal(x), _decimal(y), int(direction < 0), int(direction > 0), down, run, jump)
            lines.append(",".join(map(str, cells)))
    return "\n".join(lines) + "\n"


def _decimal(value: Fraction) -> str:
    return format(Decimal(value.numerator) / Decimal(value.denominator), "f")


def random_profile(seed: int) -> Movement:
    """A plausible profile, every option drawn; thresholds lie where the takes reach both sides."""
    rng = np.random.default_rng(seed)

    def pick(low: float, high: float, places: int = 0) -> float | int:
        value = round(float(rng.uniform(low, high)), places)
        return int(value) if places == 0 else value

    walk_top = pick(60, 140)
    run = None
    top = walk_top
    if rng.random() < 0.6:
        top = walk_top + pick(40, 90)
        run = {"acceleration": pick(160, 700), "top_speed": top, "memory_ticks": int(rng.integers(0, 12))}
    thresholds = [0]
    for share in (0.55, 0.9)[: int(rng.integers(0, 3))]:
        thresholds.append(int(top * share))
    launch = pick(230, 330)
    bands = []
    for index, threshold in enumerate(thresholds):
        bands.append(
            {
                "from_takeoff_speed": threshold,
                "launch_speed": launch + 31 * index,
                "gravity_held": pick(520, 800) + 5 * index,
                "gravity": pick(900, 1500) + 7 * index,
            }
        )
    air_accel: Any = pick(120, 600)
    if rng.random() < 0.5:
        air_accel = [{"from_speed": 0, "value": air_accel}, {"from_speed": walk_top // 2, "value": air_accel // 2 + 13}]
    air_reverse: Any = pick(200, 900)
    if rng.random() < 0.5:
        air_reverse = [
            {"from_speed": 0, "from_takeoff_speed": 0, "value": air_reverse},
            {"from_speed": walk_top // 2, "from_takeoff_speed": int(walk_top * 0.6), "value": air_reverse + 77},
        ]
    air_top: Any = top
    if run and rng.random() < 0.5:
        air_top = [{"from_takeoff_speed": 0, "value": walk_top}, {"from_takeoff_speed": walk_top + 9, "value": top}]
    data: dict[str, Any] = {
        "format": "reach-movement/1",
        "name": f"drawn {seed}",
        "units": "per_second",
        "tick_rate_hz": int(rng.choice([50, 60, 60])),
        "body": {"width_px": pick(8, 15), "height_px": pick(14, 28)},
        "ground": {
            "walk": {"acceleration": pick(150, 800), "top_speed": walk_top},
            "coast_deceleration": pick(200, 900),
            "reverse_deceleration": pick(400, 1500),
        },
        "jump": {"bands": bands},
        "fall": {"terminal_speed": pick(280, 420)},
        "air": {"acceleration": air_accel, "reverse_deceleration": air_reverse, "top_speed": air_top},
        "help": {"coyote_ticks": int(rng.integers(0, 7)), "buffer_ticks": int(rng.integers(0, 7))},
    }
    if run:
        data["ground"]["run"] = run
    if rng.random() < 0.4:
        data["jump"]["on_release"] = {"cut_speed": pick(20, 90)}
    if rng.random() < 0.3:
        data["jump"]["launch_tick_gravity"] = True
    if rng.random() < 0.5:
        data["air"]["drag"] = pick(20, 160)
    return movement_from_dict(data)


def lamplighter_walk(motion: Motion) -> list[Player]:
    """The takes of the sample recording: a quay's level ground, then jumps off a cliff."""
    quay = Player(motion, "quay", 700).hold(20)
    quay.hold(55, "r").rest().hold(55, "l").hold(70, "r").rest()
    quay.hold(90, "rx").hold(60, "r").rest().hold(80, "lx").hold(95, "rx").rest()
    for text, ticks in (("", 0), ("r", 12), ("r", 40), ("rx", 50), ("rx", 75)):
        for held in (40, 6):
            quay.rest().hold(ticks, text).hold(1, text + "j").hold(held, text + "j").land(text)
    for text, ticks, air in (("r", 45, "l"), ("rx", 80, "lx"), ("rx", 80, "x"), ("", 0, "r"), ("l", 45, "r")):
        quay.rest().hold(ticks, text).hold(1, text + "j").hold(40, air + "j").land(air)
    quay.rest()
    cliff_takes = []
    for number, text in enumerate(("r", "rx")):
        take = Player(motion, f"cliff {number + 1}", CLIFF_COLUMN - 1.5 - 4 * number, high=True).hold(26)
        take.hold(8 + 45 * number, text).hold(1, text + "j").hold(40, text + "j")
        cliff_takes.append(take.land(text).rest())
    edge = Player(motion, "cliff 3", CLIFF_COLUMN - 2, high=True).hold(26).until(lambda state: not state.grounded, "r")
    cliff_takes.append(edge.hold(1, "r").hold(1, "rj").land("r").rest())
    return [quay, *cliff_takes]
