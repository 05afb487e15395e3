"""A movement profile from design goals: solved in whole subpixels for the motion model, then measured by its simulator.

The profile has one speed on the ground and one jump. Of a full jump, height and ticks to the apex fix launch speed and
held gravity; the air time leaves a range for the other gravity, which acts after the apex and after a release; the
least hop picks from that range, or takes a cut speed besides; the gap and the air time fix the top speed. After no
release does a jump go higher than with the button held: the other gravity is at least the held one, or a release stops
the rise.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from reach.movement import FORMAT, MAX_PX_PER_TICK, SPX_PER_PX, Movement, half_away, movement_from_dict
from reach.workshop.design_goals import (
    AIR_SHARE,
    DEFAULT_FALL_SHARE,
    DEFAULT_TERMINAL_SHARE,
    REVERSE_SHARE,
    Goals,
    Wanted,
    complete,
)
from reach.workshop.fit.written_profile import shortest_decimal
from reach.workshop.goal_measures import Measured, measure_goals

MOST = MAX_PX_PER_TICK * SPX_PER_PX
"""The greatest speed, spx a tick, and the greatest rate."""
STRONGER = 2
"""A terminal speed that gives way does so until the gravity of the fall is no more than this many times what it would
be without a terminal speed."""
MOST_RISE_TICKS = 1000
"""The most ticks to the apex that a movement file may have."""
SPEED_ROOM = Fraction(1, 2000)
"""The top speed may be so much more than the gap needs, as a part of it, for the sake of a short number."""


@dataclass(frozen=True)
class GaveWay:
    """A goal that is not met, what it gave way to, and why.

    `to` is "" where nothing was in the way but that speeds and rates are whole subpixels a tick.
    """

    goal: str
    to: str
    why: str


@dataclass(frozen=True, eq=False)
class Design:
    """A profile made for goals: the content of its file, the same compiled, what its simulator gives, what gave way.

    `stops_rise` tells that a release stops the rise, since the gravity of the fall is below that of the rise.
    """

    goals: Goals
    wanted: Wanted
    data: dict[str, Any]
    movement: Movement
    measured: Measured
    gave_way: tuple[GaveWay, ...]
    stops_rise: bool


@dataclass
class _Solution:
    """The whole numbers found so far; each range is one of numbers that serve equally well."""

    gravity: tuple[int, int] = (1, MOST)
    terminal: tuple[int, int] = (1, MOST)
    cut_spx: int | None = None
    stops_rise: bool = False
    gave_way: list[GaveWay] = field(default_factory=list)


def design_profile(goals: Goals, name: str) -> Design:
    """Return a profile for design goals.

    Parameters
    ----------
    goals : Goals
    name : str
        The profile's name.

    Raises
    ------
    InputError
        If goals contradict each other beyond letting one go.
    """
    wanted = complete(goals)
    solution = _Solution()
    wanted = _solve_rise(goals, wanted, solution)
    apex = _risen_spx(wanted, wanted.rise_ticks)
    held = 2 * apex // (wanted.rise_ticks * (wanted.rise_ticks + 1))
    _solve_fall(wanted, apex, solution)
    _keep_held_highest(wanted, held, solution)
    _solve_hop(wanted, held, Fraction(SPX_PER_PX, goals.tick_rate_hz**2), solution)
    data = _file(goals, wanted, name, apex, solution)
    movement = movement_from_dict(data)
    measured = measure_goals(movement)
    told = {gave.goal for gave in solution.gave_way}
    solution.gave_way += [
        GaveWay(goal, "", "the nearest found; speeds and rates are whole subpixels a tick")
        for goal in sorted(wanted.asked - told)
        if not _met(goal, goals, measured)
    ]
    return Design(goals, wanted, data, movement, measured, tuple(solution.gave_way), solution.stops_rise)


def _met(goal: str, goals: Goals, measured: Measured) -> bool:
    """Whether a goal is met: ticks exactly, a length to within a hundredth of a tile, a speed to within 1/200."""
    asked = goals.asked(goal)
    if asked is None or isinstance(asked, int):
        return bool(getattr(measured, f"{goal}_ticks") == asked)
    got = Fraction(getattr(measured, f"{goal}_spx"), SPX_PER_PX)
    if goal == "terminal":
        return abs(got * goals.tick_rate_hz - asked) <= asked / 200
    return abs(got / goals.tile_px - asked) <= Fraction(1, 100)


def fall_ticks(height_spx: int, gravity: int, terminal: int, most: int = 1 << 16) -> int:
    """Ticks of a fall from rest that ends strictly below `height_spx`, counted up to `most`."""
    fallen = speed = ticks = 0
    while fallen <= height_spx and ticks < most:
        speed = min(speed + gravity, terminal)
        fallen += speed
        ticks += 1
    return ticks


def hop_spx(launch: int, gravity: int, cut: int | None = None) -> int:
    """The height of a jump whose button is down for one tick."""
    speed = launch if cut is None else min(launch, cut)
    ticks = speed // gravity
    return launch + ticks * speed - gravity * ticks * (ticks + 1) // 2


def _first(holds: Callable[[int], bool], low: int, high: int) -> int:
    """The first whole number from `low` for which something holds that then goes on to hold; `high + 1` if none."""
    while low <= high:
        middle = (low + high) // 2
        if holds(middle):
            high = middle - 1
        else:
            low = middle + 1
    return low


def _risen_spx(wanted: Wanted, ticks: int) -> int:
    """The height of a jump with so many ticks to the apex, by the whole gravity with which it is nearest."""
    steps = ticks * (ticks + 1)
    return max(1, half_away(2 * wanted.jump_spx / steps)) * steps // 2


def _solve_rise(goals: Goals, wanted: Wanted, solution: _Solution) -> Wanted:
    """Other ticks to the apex, the nearest there are, where no whole gravity makes the jump in those wanted."""
    allowed = min(wanted.jump_spx, Fraction(goals.tile_px * SPX_PER_PX)) / 100

    def off(ticks: int) -> Fraction:
        return abs(_risen_spx(wanted, ticks) - wanted.jump_spx)

    asked = wanted.rise_ticks
    if "jump" not in wanted.asked or off(asked) <= allowed:
        return wanted
    most = min(MOST_RISE_TICKS, asked + wanted.fall_ticks - 1 if "air" in wanted.asked else 2 * asked)
    least = max(1, int(2 * wanted.jump_spx / MOST))
    serve = [ticks for ticks in range(least, most + 1) if off(ticks) <= allowed]
    rise = min(serve, key=lambda ticks: abs(ticks - asked)) if serve else min(range(least, most + 1), key=off)
    if rise != asked and "apex" in wanted.asked:
        why = "gravity is whole subpixels a tick^2, and none makes a jump of that height in just so many ticks"
        solution.gave_way.append(GaveWay("apex", "jump", why))
    fall = asked + wanted.fall_ticks - rise if "air" in wanted.asked else max(1, round(rise * DEFAULT_FALL_SHARE))
    return replace(wanted, rise_ticks=rise, fall_ticks=fall)


def _solve_fall(wanted: Wanted, apex: int, solution: _Solution) -> None:
    """The range of gravity with which a full jump falls for as long as wanted, and the terminal speed."""
    ticks, asked = wanted.fall_ticks, "air" in wanted.asked
    low, high, exact = _gravity_range(apex, ticks, MOST)
    if asked and not exact:
        why = "no gravity brings the body down from the apex in just so many ticks"
        solution.gave_way.append(GaveWay("air", "jump", why))
    solution.gravity = (low, high)
    if wanted.terminal_spx is None:
        return
    terminal = max(1, half_away(wanted.terminal_spx))
    slow_low, slow_high, slow_exact = _gravity_range(apex, ticks, terminal)
    if slow_exact:
        solution.gravity = (slow_low, slow_high)
    elif asked:
        why = f"at that speed the body is not down {ticks} ticks after the apex"
        solution.gave_way.append(GaveWay("terminal", "air", why))
        pull = min(STRONGER * low, MOST)
        terminal = _first(lambda speed: fall_ticks(apex, pull, speed, ticks + 1) <= ticks, 1, MOST)
        solution.gravity = _gravity_range(apex, ticks, min(terminal, MOST))[:2]
    solution.terminal = (min(terminal, MOST), min(terminal, MOST))


def _keep_held_highest(wanted: Wanted, held: int, solution: _Solution) -> None:
    """Gravity at least as strong as while the button is down, or, where the fall is too slow for that, a cut to 0.

    After a cut to more than one tick of that gravity, a release just before the apex would still rise higher.
    """
    low, high = solution.gravity
    if high < held and "air" in wanted.asked:
        solution.cut_spx, solution.stops_rise = 0, True
    else:
        solution.gravity = (max(low, held), max(high, held))


def _gravity_range(apex: int, ticks: int, terminal: int) -> tuple[int, int, bool]:
    """From the least to the greatest gravity with which a fall from the apex takes so many ticks, and whether it does.

    Where none does, the least with which it takes less time, or the greatest there is.
    """
    low = _first(lambda gravity: fall_ticks(apex, gravity, terminal, ticks + 1) <= ticks, 1, MOST)
    high = _first(lambda gravity: fall_ticks(apex, gravity, terminal, ticks + 1) < ticks, 1, MOST) - 1
    if low <= min(high, MOST):
        return low, high, True
    return min(low, MOST), min(low, MOST), False


def _solve_hop(wanted: Wanted, held: int, rate_unit: Fraction, solution: _Solution) -> None:
    """Of the range of gravity what makes the least hop, or a cut speed besides."""
    if wanted.hop_spx is None:
        return
    launch = wanted.rise_ticks * held
    aim = half_away(wanted.hop_spx)
    low, high = solution.gravity
    if aim < launch:
        why = "in the one tick for which the button is down the body rises by the launch speed"
        solution.gave_way.append(GaveWay("hop", "jump", why))
        aim = launch
    elif solution.stops_rise and aim > launch:
        why = "the fall is slower than the rise, so that a release has to stop the rise lest it jump higher than a hold"
        solution.gave_way.append(GaveWay("hop", "air", why))
    if solution.stops_rise:
        return
    if aim > hop_spx(launch, low):
        if "air" in wanted.asked:
            why = "the gravity that ends a hop is also the one of the fall, and a weaker one would fall for too long"
            solution.gave_way.append(GaveWay("hop", "air", why))
            solution.gravity = (low, low)
            return
        low = held
    if aim >= hop_spx(launch, high):
        above = _first(lambda gravity: hop_spx(launch, gravity) < aim, low, high) - 1
        best = min(
            (each for each in (above, above + 1) if low <= each <= high), key=lambda g: abs(hop_spx(launch, g) - aim)
        )
        solution.gravity = (best, best)
        return
    _, gravity = _number(low, high, rate_unit)
    solution.gravity = (gravity, gravity)
    above = _first(lambda cut: hop_spx(launch, gravity, cut) >= aim, 0, launch)
    solution.cut_spx = min(above, launch)


def _file(goals: Goals, wanted: Wanted, name: str, apex: int, solution: _Solution) -> dict[str, Any]:
    """The content of a movement file."""
    rate = goals.tick_rate_hz
    speed_unit, rate_unit = Fraction(SPX_PER_PX, rate), Fraction(SPX_PER_PX, rate * rate)
    gravity_number, gravity = _number(*solution.gravity, rate_unit)
    low, high = solution.terminal
    if wanted.terminal_spx is None:
        landing = min(gravity * fall_ticks(apex, gravity, MOST), MOST)
        low = min(half_away(landing * DEFAULT_TERMINAL_SHARE), MOST)
        high = min(low + low // 200, MOST)
    terminal_number, terminal = _number(low, high, speed_unit)
    air_ticks = wanted.rise_ticks + 1 + fall_ticks(apex, gravity, terminal)
    least = -(-(wanted.gap_spx - wanted.body_w_spx + 2) // air_ticks)
    room = goals.tile_px * SPX_PER_PX // 100 // air_ticks
    top_number, top = _number(*_top_speeds(wanted, least, min(least + room, MOST)), speed_unit)
    accel_number, accel = _number(*_spread(top, wanted.to_top_ticks), rate_unit)
    coast_number, coast = _number(*_spread(top, wanted.to_stop_ticks), rate_unit)
    reverse_number, reverse = _number(*_about(min(coast * REVERSE_SHARE, MOST)), rate_unit)
    jump: dict[str, Any] = {
        "bands": [
            {
                "from_takeoff_speed": 0,
                "height_px": _plain(wanted.jump_spx / SPX_PER_PX),
                "ticks_to_apex": wanted.rise_ticks,
                "gravity": gravity_number,
            }
        ],
        "on_release": "gravity",
    }
    if solution.cut_spx is not None:
        jump["on_release"] = {"cut_speed": _number(solution.cut_spx, solution.cut_spx, speed_unit)[0]}
    return {
        "format": FORMAT,
        "name": name,
        "units": "per_second",
        "tick_rate_hz": rate,
        "body": {
            "width_px": _plain(Fraction(wanted.body_w_spx, SPX_PER_PX)),
            "height_px": _plain(Fraction(wanted.body_h_spx, SPX_PER_PX)),
        },
        "ground": {
            "walk": {"acceleration": accel_number, "top_speed": top_number},
            "coast_deceleration": coast_number,
            "reverse_deceleration": reverse_number,
        },
        "jump": jump,
        "fall": {"terminal_speed": terminal_number},
        "air": {
            "acceleration": _number(*_about(half_away(accel * AIR_SHARE)), rate_unit)[0],
            "reverse_deceleration": _number(*_about(half_away(reverse * AIR_SHARE)), rate_unit)[0],
            "top_speed": top_number,
            "drag": 0,
        },
    }


def _top_speeds(wanted: Wanted, least: int, most: int) -> tuple[int, int]:
    """The range of top speeds, or the one, for which the ticks to it and to a stop are met, or most nearly.

    Ticks that were asked count before those that were not, and then those to the top speed before those to a stop.
    """

    def off(speed: int) -> tuple[int, ...]:
        goals = (("top", wanted.to_top_ticks), ("stop", wanted.to_stop_ticks))
        in_order = sorted(goals, key=lambda goal: goal[0] not in wanted.asked)
        return tuple(_ticks_off(speed, ticks) for _, ticks in in_order)

    last = least + int(least * SPEED_ROOM)
    if not any(off(least)) and not any(off(last)):
        return least, last
    best = min(range(least, max(least, most) + 1), key=off)
    return best, best


def _ticks_off(speed: int, ticks: int) -> int:
    """By how many ticks a change by `speed` differs from those wanted, with the rate that suits them best."""
    return abs(-(-speed // _spread(speed, ticks)[0]) - ticks)


def _spread(speed: int, ticks: int) -> tuple[int, int]:
    """The rates with which a change by `speed` takes so many ticks, or the one with which it most nearly does."""
    low = -(-speed // ticks)
    high = MOST if ticks == 1 else min(MOST, -(-speed // (ticks - 1)) - 1)
    if low <= high:
        return low, high
    # one rate takes fewer ticks, the next lower one more
    nearest = min((low, max(1, low - 1)), key=lambda rate: abs(-(-speed // rate) - ticks))
    return nearest, nearest


def _about(rate: int) -> tuple[int, int]:
    """Rates near one that nothing depends on to the last digit."""
    return max(1, rate - rate // 100), max(1, min(MOST, rate + rate // 100))


def _number(low: int, high: int, unit: Fraction) -> tuple[int | float, int]:
    """A short number in the unit of the file whose compiled value is from `low` to `high`, and that value."""
    if high == 0:
        return 0, 0
    room = Fraction(49, 100)
    short = shortest_decimal((low - room) / unit, min((high + room) / unit, Fraction(MOST) / unit))
    return _plain(Fraction(short)), half_away(Fraction(short) * unit)


def _plain(value: Fraction) -> int | float:
    return int(value) if value.denominator == 1 else float(Decimal(value.numerator) / Decimal(value.denominator))
