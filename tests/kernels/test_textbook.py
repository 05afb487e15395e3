"""Worked examples of two textbooks, played through the simulator at rising tick rates.

UP1 = OpenStax, University Physics Volume 1; CP2e = OpenStax, College Physics 2e; g = 9.80 m/s^2 in both. Numbers only,
with the place they stand in. `exact` is the closed form evaluated without rounding; `published` the book's figure,
which the simulated one must meet to half a unit of its last digit at a high tick rate.

The simulator's scheme is first order, so every quantity must come to its exact value with an error that falls as
1 / rate. Without gravity in the tick of a takeoff an arc is too high by about v0 / (2 rate), with it too low by as
much, so the two bracket the exact height. A metre is 2^48 spx here, so that rounding to whole spx does not show.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import ceil, cos, radians, sin, sqrt

import numpy as np
import pytest

from reach.kernels.params import State
from reach.kernels.step import run_script
from tests.builders import make_motion, make_state, make_terrain

METRE = 1 << 48
G = 9.80
HIGH_RATE = 20_000
VX, VY, GROUNDED = State._fields.index("vx"), State._fields.index("vy"), State._fields.index("grounded")


def speed(metres_per_s: float, rate: int) -> int:
    return round(metres_per_s * METRE / rate)


def acceleration(metres_per_s2: float, rate: int) -> int:
    return round(metres_per_s2 * METRE / rate**2)


class Flight:
    """A body thrown from x = y = 0, heights upward, in metres and seconds, until it lands or the time is over.

    `level` is the height of what it lands on: the ground it leaves (0), a one_way ledge above it, or a floor below.
    """

    def __init__(self, vx: float, vy: float, rate: int, seconds: float, *, level: float = 0, g: float = G, low: bool):
        self.rate = rate
        self.level = level
        tile = round((abs(level) or 100) * METRE)
        columns = ceil(vx * seconds * METRE / tile) + 3
        row = {True: "=", False: "."}[level > 0]
        if level > 0:
            terrain = make_terrain([row * columns, "#" * columns], tile=tile)
        elif level < 0:
            terrain = make_terrain(["#" + "." * (columns - 1), "#" * columns], tile=tile)
        else:
            terrain = make_terrain(["#" * columns], tile=tile)
        feet = tile if level > 0 else 0
        x = tile - 1 if level <= 0 else 0
        launch = speed(abs(vy), rate)
        motion = make_motion(
            body_w=1,
            body_h=1,
            walk_cap=max(1, speed(vx, rate)),
            air_cap=max(1, speed(vx, rate)),
            coast=1,
            jump_launch=launch,
            jump_gravity_held=acceleration(g, rate),
            jump_gravity=acceleration(g, rate),
            launch_tick_gravity=int(low),
            terminal=1 << 60,
        )
        if vy > 0:
            start = make_state(x, feet - 1, vx=speed(vx, rate), grounded=1)
        else:
            start = make_state(x + 1, feet - 1, vx=speed(vx, rate), vy=launch)
        inputs = np.zeros((ceil(seconds * rate), 4), np.int64)
        inputs[:, 0] = int(vx > 0)
        inputs[:, 3] = int(vy > 0)
        states = run_script(start, inputs, motion, terrain)
        landed = np.flatnonzero(states[1:, GROUNDED])
        self.landing = int(landed[0]) + 1 if landed.size else None
        states = states[: self.landing + 1] if self.landing is not None else states
        self.x = (states[:, 0] - states[0, 0]) / METRE
        self.y = (states[0, 1] - states[:, 1]) / METRE
        self.vy = -states[:, VY] * rate / METRE
        self.vx = float(states[-1, VX]) * rate / METRE
        self.launch_g = motion.jump_gravity[0] * rate / METRE

    @property
    def apex(self) -> float:
        return float(self.y.max())

    @property
    def apex_time(self) -> float:
        return int(self.y.argmax()) / self.rate

    @property
    def time(self) -> float:
        assert self.landing is not None
        return self.landing / self.rate

    @property
    def range(self) -> float:
        return float(self.x[-1])

    @property
    def impact(self) -> float:
        """Vertical speed in the tick that lands (which sets it to 0): the tick before, and one tick of gravity."""
        assert self.landing is not None
        return float(self.vy[self.landing - 1]) - self.launch_g

    def time_at_height(self, height: float) -> float:
        return int(np.argmax(self.y >= height)) / self.rate

    def speed_at_height(self, height: float) -> float:
        return float(self.vy[int(np.argmax(self.y >= height))])


class Drive:
    """A body on level ground from x = 0: a direction held for some seconds, then none, in metres and seconds."""

    def __init__(
        self, v0: float, rate: int, hold: float, coast: float, *, a: float = 1, cap: float = 1e4, d: float = 1
    ):
        self.rate = rate
        tile = 9_000 * METRE
        motion = make_motion(
            body_w=1,
            body_h=1,
            walk_accel=acceleration(a, rate),
            walk_cap=speed(cap, rate),
            coast=acceleration(d, rate),
        )
        inputs = np.zeros((round((hold + coast) * rate), 4), np.int64)
        inputs[: round(hold * rate), 0] = 1
        start = make_state(0, tile - 1, vx=speed(v0, rate), grounded=1)
        states = run_script(start, inputs, motion, make_terrain(["..", "##"], tile=tile))
        self.x = states[:, 0] / METRE
        self.vx = states[:, VX] * rate / METRE

    def time_to_speed(self, v: float) -> float:
        return int(np.argmax(self.vx >= v * (1 - 1e-9))) / self.rate

    def time_to_distance(self, x: float) -> float:
        return int(np.argmax(self.x >= x * (1 - 1e-9))) / self.rate

    def time_to_rest(self, after: float = 0) -> float:
        first = round(after * self.rate)
        return int(np.argmax(self.vx[first:] == 0)) / self.rate


def thrown(v: float, degrees: float, seconds: float, **values: float) -> Callable[[int, bool], Flight]:
    vx, vy = v * cos(radians(degrees)), v * sin(radians(degrees))
    vx = 0 if degrees == 90 else vx
    return lambda rate, low: Flight(vx, vy, rate, seconds, low=low, **values)


def of(make: Callable[[int, bool], Flight], value: Callable[[Flight], float]) -> Callable[[int, bool], float]:
    return lambda rate, low: value(make(rate, low))


up200 = thrown(200, 90, 30)
up245 = thrown(24.5, 90, 6)
down49 = lambda rate, low: Flight(0, -4.9, rate, 6, level=-98, low=low)  # noqa: E731
shell = thrown(70, 75, 15)
ball = thrown(30, 45, 6, level=10)
rock = thrown(25, 35, 6, level=-20)
up13 = thrown(13, 90, 4)
up7 = thrown(7, 90, 3)
half_minute = thrown(196, 30, 25)

# (source, what, published, its half unit, exact, the largest slope in m/s that a tick of error can cost, measured)
FLIGHTS = [
    ("UP1 Ex 3.16", "apex", 2040.8, 0.05, 200**2 / (2 * G), 200, of(up200, lambda f: f.apex)),
    ("UP1 Ex 3.16", "speed at 1000 m", 142.8, 0.05, sqrt(200**2 - 2 * G * 1000), 3 * G,
     of(up200, lambda f: f.speed_at_height(1000))),
    ("UP1 Ex 3.15", "apex", 30.6, 0.05, 30.625, 24.5, of(up245, lambda f: f.apex)),
    ("UP1 Ex 3.15", "time up", 2.5, 0.05, 2.5, 1, of(up245, lambda f: f.apex_time)),
    ("UP1 Ex 3.15", "flight time", 5.0, 0.05, 5.0, 2, of(up245, lambda f: f.time)),
    ("UP1 Ex 3.14", "time to a lower level", 4.0, 0.05, 4.0, 2, of(down49, lambda f: f.time)),
    ("UP1 Ex 3.14", "speed there", -44.1, 0.05, -44.1, 2 * G, of(down49, lambda f: f.impact)),
    ("UP1 Ex 4.7 = CP2e Ex 3.4", "apex", 233, 0.5, 233.2528, 70, of(shell, lambda f: f.apex)),
    ("UP1 Ex 4.7 = CP2e Ex 3.4", "time up", 6.90, 0.005, 6.89947, 1, of(shell, lambda f: f.apex_time)),
    ("UP1 Ex 4.7 = CP2e Ex 3.4", "distance to the apex", 125, 0.5, 125.0, 20,
     of(shell, lambda f: f.x[int(f.y.argmax())])),
    ("UP1 Ex 4.7 = CP2e Ex 3.4", "range", 250, 0.5, 250.0, 40, of(shell, lambda f: f.range)),
    ("UP1 Ex 4.8", "passes the higher level", 0.54, 0.005, 0.538352, 2, of(ball, lambda f: f.time_at_height(10))),
    ("UP1 Ex 4.8", "lands on the higher level", 3.79, 0.005, 3.790881, 3, of(ball, lambda f: f.time)),
    ("UP1 Ex 4.8", "vertical speed there", -15.9, 0.05, -15.93740, 2 * G, of(ball, lambda f: f.impact)),
    ("UP1 Ex 4.8", "speed there", 26.5, 0.05, 26.5330, 2 * G, of(ball, lambda f: sqrt(f.vx**2 + f.impact**2))),
    ("CP2e Ex 3.5", "time to a lower level", 3.96, 0.005, 3.957717, 2, of(rock, lambda f: f.time)),
    ("UP1 Ex 4.9", "range, 30 degrees", 90, 0.5, 90.0, 80, of(thrown(31.9131, 30, 5), lambda f: f.range)),
    ("UP1 Ex 4.9", "range, 70 degrees", 90, 0.5, 90.0, 80, of(thrown(37.0425, 70, 9), lambda f: f.range)),
    ("UP1 4.3, figure", "range 30 m/s", 91.8, 0.05, 91.83673, 60, of(thrown(30, 45, 6), lambda f: f.range)),
    ("UP1 4.3, figure", "range 40 m/s", 163, 0.5, 163.26531, 80, of(thrown(40, 45, 8), lambda f: f.range)),
    ("UP1 4.3, figure", "range 50 m/s", 255, 0.5, 255.10204, 100, of(thrown(50, 45, 9), lambda f: f.range)),
    ("UP1 4.3, figure", "range at 15 degrees", 128, 0.5, 127.55102, 100, of(thrown(50, 15, 4), lambda f: f.range)),
    ("UP1 4.3, figure", "range at 75 degrees", 128, 0.5, 127.55102, 100, of(thrown(50, 75, 12), lambda f: f.range)),
    ("CP2e Ex 2.14", "height at 1 s", 8.10, 0.005, 8.1, 13, of(up13, lambda f: f.y[f.rate])),
    ("CP2e Ex 2.14", "height at 2 s", 6.40, 0.005, 6.4, 13, of(up13, lambda f: f.y[2 * f.rate])),
    ("CP2e Ex 2.14", "speed at 2 s", -6.60, 0.005, -6.6, 2 * G, of(up13, lambda f: f.vy[2 * f.rate])),
    ("CP2e ch. 2 P&E 45", "apex", 8.62, 0.005, 8.622449, 13, of(up13, lambda f: f.apex)),
    ("CP2e ch. 2 P&E 45", "flight time", 2.65, 0.005, 2.653061, 2, of(up13, lambda f: f.time)),
    ("UP1 #75", "apex of a launch at 7.0 m/s", 2.50, 0.005, 2.5, 7, of(up7, lambda f: f.apex)),
    # The book prints 1.44 s = 2 x 0.72, a rounded step: the exact value alone is checked.
    ("UP1 #75", "flight time", None, None, 1.428571, 2, of(up7, lambda f: f.time)),
    ("UP1 #49", "range under 3.7 m/s^2", 60.8, 0.05, 60.81081, 30, of(thrown(15, 45, 7, g=3.7), lambda f: f.range)),
    ("UP1 #49", "range under g/6", 137.8, 0.05, 137.7551, 30, of(thrown(15, 45, 15, g=9.8 / 6), lambda f: f.range)),
    ("UP1 #39", "flight time", 20, 0.5, 20.0, 2, of(half_minute, lambda f: f.time)),
    ("UP1 #39", "apex", 490.0, 0.05, 490.0, 98, of(half_minute, lambda f: f.apex)),
    # The book prints 3394, truncated: the exact value alone is checked.
    ("UP1 #39", "range", None, None, 3394.8196, 400, of(half_minute, lambda f: f.range)),
]  # fmt: skip

KMH80 = 80 / 3.6
DRIVES = [
    ("UP1 Ex 3.10 = CP2e Ex 2.12", "stop, dry", 64.3, 0.05, 30**2 / 14, 30,
     lambda rate: Drive(30, rate, 0, 8, d=7).x[-1]),
    ("UP1 Ex 3.10 = CP2e Ex 2.12", "stop, wet", 90.0, 0.05, 90, 30, lambda rate: Drive(30, rate, 0, 8, d=5).x[-1]),
    ("UP1 Ex 3.10 = CP2e Ex 2.12", "stop, dry, with 0.500 s of reaction", 79.3, 0.05, 15 + 30**2 / 14, 30,
     lambda rate: Drive(30, rate, 0.5, 8, d=7, cap=30).x[-1]),
    ("UP1 Ex 3.10 = CP2e Ex 2.12", "stop, wet, with 0.500 s of reaction", 105, 0.5, 105, 30,
     lambda rate: Drive(30, rate, 0.5, 8, d=5, cap=30).x[-1]),
    ("CP2e ch. 2 P&E 23", "time to 80.0 km/h", 16.5, 0.05, KMH80 / 1.35, 1,
     lambda rate: Drive(0, rate, 20, 0, a=1.35).time_to_speed(KMH80)),
    ("CP2e ch. 2 P&E 23", "time to stop", 13.5, 0.05, KMH80 / 1.65, 1,
     lambda rate: Drive(KMH80, rate, 0, 20, d=1.65).time_to_rest()),
    ("UP1 3.4 check", "time to 400 m/s", 20, 0.5, 20, 1, lambda rate: Drive(0, rate, 25, 0, a=20).time_to_speed(400)),
    ("UP1 Ex 3.7", "final speed", 10.0, 0.05, 10, 1.5, lambda rate: Drive(70, rate, 0, 40, d=1.5).vx[-1]),
    ("UP1 Ex 3.8", "run-up distance", 402, 0.5, 26 * 5.56**2 / 2, 150,
     lambda rate: Drive(0, rate, 5.56, 0, a=26).x[-1]),
    ("UP1 Ex 3.9", "speed after 402 m", 145, 0.5, sqrt(2 * 26 * 402), 52,
     lambda rate: (run := Drive(0, rate, 6, 0, a=26)).vx[round(run.time_to_distance(402) * rate)]),
    ("UP1 Ex 3.11", "time for 200 m", 10.0, 0.05, 10, 2,
     lambda rate: Drive(10, rate, 12, 0, a=2).time_to_distance(200)),
    ("CP2e ch. 2 P&E 29", "speed after 8 minutes", 28.0, 0.05, 28, 1,
     lambda rate: Drive(4, rate, 480, 0, a=0.05).vx[-1]),
    ("CP2e ch. 2 P&E 29", "distance in 8 minutes", 7680, 5, 4 * 480 + 0.05 * 480**2 / 2, 28,
     lambda rate: Drive(4, rate, 480, 0, a=0.05).x[-1]),
    ("CP2e ch. 2 P&E 29", "time to stop", 50.9, 0.05, 28 / 0.55, 1,
     lambda rate: Drive(4, rate, 480, 60, a=0.05, d=0.55).time_to_rest(after=480)),
    ("CP2e ch. 2 P&E 29", "distance to stop", 713, 0.5, 28**2 / 1.1, 28,
     lambda rate: (run := Drive(4, rate, 480, 60, a=0.05, d=0.55)).x[-1] - run.x[480 * rate]),
    ("UP1 #115", "time to the cap", 12.3, 0.05, 82.05 / 6.67, 1,
     lambda rate: Drive(0, rate, 15, 0, a=6.67, cap=82.05).time_to_speed(82.05)),
    # The book prints 504.55 m and 103.65 s from rounded steps: the exact values alone are checked.
    ("UP1 #115", "distance to the cap", None, None, 82.05**2 / (2 * 6.67), 170,
     lambda rate: (run := Drive(0, rate, 15, 0, a=6.67, cap=82.05)).x[round(run.time_to_speed(82.05) * rate)]),
    ("UP1 #115", "time for 8000 m", None, None, 82.05 / 6.67 + (8000 - 82.05**2 / (2 * 6.67)) / 82.05, 2,
     lambda rate: Drive(0, rate, 110, 0, a=6.67, cap=82.05).time_to_distance(8000)),
]  # fmt: skip


def first_order(measure: Callable[[int], float], exact: float, slope: float) -> None:
    """The error is at most `slope` ticks at every rate, and so falls at least as 1 / rate."""
    for rate in (60, 240, 1000, 4000):
        assert abs(measure(rate) - exact) <= slope * 1.05 / rate + 1e-6 * abs(exact)


@pytest.mark.parametrize(("source", "what", "published", "half", "exact", "slope", "measure"), FLIGHTS)
@pytest.mark.parametrize("low", [False, True])
def test_flights(source, what, published, half, exact, slope, measure, low) -> None:
    first_order(lambda rate: measure(rate, low), exact, slope)
    assert published is None or abs(measure(HIGH_RATE, low) - published) <= half + slope / HIGH_RATE


@pytest.mark.parametrize(("source", "what", "published", "half", "exact", "slope", "measure"), DRIVES)
def test_drives(source, what, published, half, exact, slope, measure) -> None:
    first_order(measure, exact, slope)
    assert published is None or abs(measure(4000) - published) <= half + slope / 4000


@pytest.mark.small
@pytest.mark.parametrize(
    ("rate", "apex", "stop7", "stop5"),
    [
        (10, 29.400000, 62.790000, 88.5),
        (30, 30.216667, 63.786667, 89.5),
        (60, 30.420833, 64.035833, 89.75),
        (120, 30.522917, 64.160764, 89.875),
        (240, 30.573958, 64.223229, 89.9375),
        (1000, 30.612750, 64.270715, 89.985),
    ],
)
def test_the_figures_of_semi_implicit_steps_at_each_tick_rate(
    rate: int, apex: float, stop7: float, stop5: float
) -> None:
    """Computed by exact arithmetic from y_n = n v0 dt - g dt^2 n(n+1)/2 (UP1 Ex 3.15 and Ex 3.10 in ticks)."""
    low = Flight(0, 24.5, rate, 3, low=True).apex
    high = Flight(0, 24.5, rate, 3, low=False).apex
    assert low == pytest.approx(apex, abs=1e-6)
    assert low < 30.625 < high
    assert high - low == pytest.approx(24.5 / rate, rel=1e-6)
    assert Drive(30, rate, 0, 8, d=7).x[-1] == pytest.approx(stop7, abs=1e-6)
    assert Drive(30, rate, 0, 8, d=5).x[-1] == pytest.approx(stop5, abs=1e-6)


@pytest.mark.parametrize("low", [False, True])
def test_halving_the_tick_halves_the_error_of_an_apex(low: bool) -> None:
    errors = [abs(Flight(0, 13, rate, 2, low=low).apex - 13**2 / (2 * G)) for rate in (125, 250, 500, 1000, 2000)]
    for coarse, fine in pairwise(errors):
        assert coarse / fine == pytest.approx(2, rel=0.05)
