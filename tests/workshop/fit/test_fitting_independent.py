"""A recording made outside the project: continuous motion, integrated by scipy's solve_ivp, with known constants.

Textbook kinematics: constant accelerations up to a top speed, and constant gravity. Over whole ticks such an arc is
n*L - g*n^2/2, which is the model's n*L' - g*n(n-1)/2 for the launch L' = L - g/2 a tick (motion model, section 6).
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from reach.workshop.fit.fitting import fit_recording
from reach.workshop.recording import load_recording

HZ = 60
ACCELERATION, TOP, COAST, REVERSE = 420.0, 130.0, 510.0, 900.0
LAUNCH, HELD, GRAVITY, TERMINAL = 280.0, 640.0, 1180.0, 330.0
AIR = 260.0
TOLERANCE = 0.02


class Character:
    """Position and speed in px and px/s, y downward, stepped by an adaptive Runge-Kutta method."""

    def __init__(self):
        self.now = np.array([100.0, 0.0, 0.0, 0.0])
        self.ground, self.held, self.rows = True, False, []

    def rates(self, direction):
        x_speed, y_speed = self.now[1], self.now[3]
        if direction:
            brakes = direction * x_speed < -1e-9
            most = direction * x_speed >= TOP - 1e-9
            x_rate = 0.0 if most else direction * ((REVERSE if brakes else ACCELERATION) if self.ground else AIR)
        else:
            x_rate = -COAST * np.sign(x_speed) if self.ground and abs(x_speed) > 1e-9 else 0.0
        y_rate = 0.0 if self.ground or y_speed >= TERMINAL else HELD if self.held else GRAVITY
        return x_rate, y_rate

    def tick(self, direction, jump, press=False):
        if press:
            self.now[3], self.ground, self.held = -LAUNCH, False, True
        self.held = self.held and jump and self.now[3] < 0
        left = 1 / HZ
        while left > 1e-12:
            x_rate, y_rate = self.rates(direction)
            events = []
            for place, limit in ((1, direction * TOP), (1, 0.0), (3, 0.0 if self.held else TERMINAL)):
                event = lambda t, s, place=place, limit=limit: s[place] - limit  # noqa: E731
                event.terminal = True
                if abs(self.now[place] - limit) > 1e-9:
                    events.append((event, place, limit))
            made = solve_ivp(
                lambda t, s, ax=x_rate, ay=y_rate: [s[1], ax, s[3], ay],
                (0.0, left),
                self.now,
                events=[event for event, _, _ in events] or None,
                rtol=1e-9,
                atol=1e-9,
            )
            self.now = made.y[:, -1]
            left -= made.t[-1]
            for (_, place, limit), times in zip(events, made.t_events or [], strict=True):
                if len(times):
                    self.now[place] = limit
                    self.held = self.held and not (place == 3 and limit == 0.0)
        if not self.ground and self.now[3] > 0 and self.now[2] >= 0:
            self.now[2], self.now[3], self.ground = 0.0, 0.0, True
        self.rows.append((self.now[0], self.now[2], direction, int(jump)))

    def hold(self, ticks, direction=0, jump=False):
        for n in range(ticks):
            self.tick(direction, jump, press=jump and n == 0 and self.ground)
        return self


@pytest.fixture(scope="module")
def fitted(tmp_path_factory):
    played = Character().hold(30)
    for direction in (1, -1):
        played.hold(45, direction).hold(40).hold(45, direction).hold(60, -direction).hold(40)
    for held in (30, 8, 30, 8):
        played.hold(held, jump=True).hold(50)
    played.hold(35, 1).hold(30, 1, jump=True).hold(50).hold(35, -1).hold(28, 1, jump=True).hold(50)
    lines = ["tick,x_px,y_px,left,right,jump"]
    for tick, (x, y, direction, jump) in enumerate(played.rows):
        lines.append(f"{tick},{round(x, 1):.1f},{round(y, 1):.1f},{int(direction < 0)},{int(direction > 0)},{jump}")
    file = tmp_path_factory.mktemp("integrated") / "play.csv"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return fit_recording(load_recording(file), tick_rate_hz=HZ).found


@pytest.mark.parametrize(
    ("path", "real", "power"),
    [
        ("ground.walk.acceleration", ACCELERATION, 2),
        ("ground.walk.top_speed", TOP, 1),
        ("ground.coast_deceleration", COAST, 2),
        ("ground.reverse_deceleration", REVERSE, 2),
        ("jump.bands[0].launch_speed", LAUNCH - HELD / 2 / HZ, 1),
        ("jump.bands[0].gravity_held", HELD, 2),
        ("jump.bands[0].gravity", GRAVITY, 2),
    ],
)
def test_the_constants_come_back(fitted, path, real, power):
    assert fitted.value(path) / 65536 * HZ**power == pytest.approx(real, rel=TOLERANCE)
