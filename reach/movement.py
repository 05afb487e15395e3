"""A movement profile: what a movement file declares, and the exact integers that every command uses.

A movement file (`reach-movement/1`) is described key by key in `schemas/movement.schema.json`. Compiling follows the
motion model, section 3: from the decimal as written to a whole number of subpixels a tick, rounded once, at the end.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from reach.errors import InputError, Problem
from reach.files import read_json
from reach.json_text import Document, JsonPath, document_of, path_text
from reach.kernels.params import Motion
from reach.schema import validate

FORMAT = "reach-movement/1"
SPX_PER_PX = 65536
DEFAULT_TICK_RATE_HZ = 60
MAX_PX_PER_TICK = 64
"""The most that a speed (px a tick) and a rate (px a tick a tick) may be."""
NO_CUT = -1
"""Stands for the cut speed where releasing the jump button cuts nothing."""


@dataclass(frozen=True)
class Rounding:
    """What became of one number of a movement file.

    `value` is its path in the file and `unit` the unit it is declared in. `asked` is the number as written, or, where
    `derived`, the exact number that follows from design figures. `compiled` is in subpixels, subpixels a tick or
    subpixels a tick a tick. `used` is `compiled` in the declared unit; all commands use that.
    """

    value: str
    unit: str
    asked: Fraction
    used: Fraction
    compiled: int
    derived: bool = False

    @property
    def error(self) -> Fraction:
        """How far the number used is from the one asked for, in the declared unit."""
        return self.used - self.asked

    @property
    def relative_error(self) -> Fraction:
        """The error as a part of the number asked for; 0 where 0 was asked for (0 is always met)."""
        return self.error / self.asked if self.asked else Fraction(0)


@dataclass(frozen=True, eq=False)
class Movement:
    """One movement profile: its compiled numbers and what compiling them did.

    `declared` is the file's content (numbers that are not whole are Decimals). `sha256` tells the content, not its
    layout in the file. `origin` is the file as it was named.
    """

    name: str
    tick_rate_hz: int
    motion: Motion
    roundings: tuple[Rounding, ...]
    sha256: str
    origin: str
    declared: Mapping[str, Any]


def load_movement(path: str | Path) -> Movement:
    """Return the movement profile in a JSON file; `-` reads standard input.

    Raises
    ------
    InputError
        If the file cannot be read or breaks a rule of the format; it names every problem.
    """
    return _movement(read_json(path))


def movement_from_dict(data: Any, origin: str = "<movement>") -> Movement:
    """Return the movement profile that plain Python values tell, with the keys of a movement file.

    Raises
    ------
    InputError
        If they break a rule of the format; it names every problem.
    """
    return _movement(document_of(data, origin))


def half_away(value: Fraction) -> int:
    """Return the nearest whole number, halves away from 0.

    Examples
    --------
    >>> half_away(Fraction(5, 2)), half_away(Fraction(-5, 2)), half_away(Fraction(7, 3))
    (3, -3, 2)
    """
    size = (abs(value.numerator) * 2 + value.denominator) // (value.denominator * 2)
    return size if value >= 0 else -size


def compile_number(value: Fraction) -> int:
    """Return a number that is not negative as subpixels: rounded, but at least 1 where it is more than 0."""
    return max(half_away(value), 1 if value > 0 else 0)


def compile_speed(px_per_s: Decimal | Fraction | int, tick_rate_hz: int) -> int:
    """Return a speed of at least 0 px/s in subpixels a tick.

    Examples
    --------
    >>> compile_speed(80, 60)
    87381
    """
    return compile_number(Fraction(px_per_s) * SPX_PER_PX / tick_rate_hz)


class _Unit(NamedTuple):
    """A kind of quantity: its name in messages, and subpixels (a tick (a tick)) to one of it; `most` bounds it."""

    name: str
    spx: Fraction
    most: Fraction | None


class _Compiler:
    """Compiles the numbers of one document and keeps what it did to each, and every problem found on the way."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.roundings: list[Rounding] = []
        self.problems: list[Problem] = []
        rate = document.value.get("tick_rate_hz", DEFAULT_TICK_RATE_HZ)
        most = Fraction(MAX_PX_PER_TICK)
        self.length = _Unit("px", Fraction(SPX_PER_PX), None)
        if document.value["units"] == "per_tick":
            self.speed = _Unit("px/tick", Fraction(SPX_PER_PX), most)
            self.rate = _Unit("px/tick^2", Fraction(SPX_PER_PX), most)
        else:
            self.speed = _Unit("px/s", Fraction(SPX_PER_PX, rate), most * rate)
            self.rate = _Unit("px/s^2", Fraction(SPX_PER_PX, rate**2), most * rate**2)

    def find(self, path: JsonPath, default: Any = None) -> Any:
        """What the document has at `path`, or the default."""
        value = self.document.value
        for step in path:
            if isinstance(step, str) and step not in value:
                return default
            value = value[step]
        return value

    def number(self, path: JsonPath, unit: _Unit, default: int = 0) -> int:
        """The compiled number at `path`, or the default's where the file is silent."""
        found = self.find(path)
        if found is None:
            return compile_number(default * unit.spx)
        asked = Fraction(found)
        compiled = compile_number(asked * unit.spx)
        self.keep(path, unit, asked, compiled)
        if unit.most is not None and asked > unit.most:
            self.too_much(path, f"{found}", unit)
        return compiled

    def keep(self, path: JsonPath, unit: _Unit, asked: Fraction, compiled: int, derived: bool = False) -> None:
        name = path_text(path).removeprefix("$.")
        self.roundings.append(Rounding(name, unit.name, asked, compiled / unit.spx, compiled, derived))

    def too_much(self, path: JsonPath, found: str, unit: _Unit) -> None:
        per = "px a tick" if unit is self.speed else "px a tick a tick"
        allowed = f"at most {decimal_text(unit.most or Fraction(0))} {unit.name}, which is {MAX_PX_PER_TICK} {per}"
        self.problems.append(self.document.problem(path, found, allowed))

    def bands(self, path: JsonPath, thresholds: Sequence[str], unit: _Unit) -> list[np.ndarray]:
        """The columns of an air list: each threshold, then the values. A plain number is one band from 0."""
        entries = self.find(path)
        if not isinstance(entries, list):
            return [*(_array([0]) for _ in thresholds), _array([self.number(path, unit)])]
        keys = self.thresholds(path, thresholds)
        values = [self.number((*path, index, "value"), unit) for index in range(len(entries))]
        return [*(_array(column) for column in zip(*keys, strict=True)), _array(values)]

    def thresholds(self, path: JsonPath, names: Sequence[str]) -> list[tuple[int, ...]]:
        """The compiled thresholds of a list of bands; a problem where they do not ascend from 0."""
        compiled = []
        asked: list[tuple[Any, ...]] = []
        for index, entry in enumerate(self.find(path)):
            asked.append(tuple(entry.get(name, 0) for name in names))
            compiled.append(tuple(self.number((*path, index, name), self.speed) for name in names))
        label = " and ".join(names)
        if any(asked[0]):
            found = f"a first band from {_pair(asked[0])}"
            self.problems.append(self.document.problem((*path, 0), found, f"a first band from 0 ({label})"))
        for index in range(1, len(asked)):
            before, this = asked[index - 1], asked[index]
            if this <= before:
                found = f"a band from {_pair(this)} after one from {_pair(before)}"
                allowed = f"bands that ascend by {label}, no two alike"
            elif compiled[index] <= compiled[index - 1]:
                found = f"bands from {_pair(before)} and {_pair(this)}, which are the same in whole subpixels a tick"
                allowed = f"bands that lie at least 1/{SPX_PER_PX} px a tick apart"
            else:
                continue
            self.problems.append(self.document.problem((*path, index), found, allowed))
        return compiled

    def jump_band(self, path: JsonPath, launch_tick_gravity: bool) -> tuple[int, int, int]:
        """Launch speed, gravity held and gravity of one jump band, from speeds or from design figures."""
        gravity = self.number((*path, "gravity"), self.rate)
        if self.find((*path, "height_px")) is None:
            launch = self.number((*path, "launch_speed"), self.speed)
            return launch, self.number((*path, "gravity_held"), self.rate), gravity
        height = Fraction(self.find((*path, "height_px")))
        ticks = self.find((*path, "ticks_to_apex"))
        # The height an arc of whole ticks reaches: gravity * q(q+1)/2 (motion model, section 3).
        steps = Fraction(ticks * (ticks + 1), 2)
        exact = height * SPX_PER_PX / steps
        held = max(1, half_away(exact))
        factor = ticks + 1 if launch_tick_gravity else ticks
        self.keep((*path, "height_px"), self.length, height, int(held * steps))
        self.keep((*path, "launch_speed"), self.speed, exact * factor / self.speed.spx, held * factor, True)
        self.keep((*path, "gravity_held"), self.rate, exact / self.rate.spx, held, True)
        for name, value, unit in (("launch_speed", held * factor, self.speed), ("gravity_held", held, self.rate)):
            if value > MAX_PX_PER_TICK * SPX_PER_PX:
                number = decimal_text(value / unit.spx)
                self.too_much((*path, "height_px"), f"a height that needs a {name} of {number} {unit.name}", unit)
        return held * factor, held, gravity


def _movement(document: Document) -> Movement:
    """The movement a document tells, or every problem it has."""
    validate(document, "movement")
    compiler = _Compiler(document)
    motion = _motion(compiler)
    if compiler.problems:
        raise InputError(compiler.problems)
    data = document.value
    return Movement(
        name=data["name"],
        tick_rate_hz=data.get("tick_rate_hz", DEFAULT_TICK_RATE_HZ),
        motion=motion,
        roundings=tuple(compiler.roundings),
        sha256=_sha256(data),
        origin=document.origin,
        declared=data,
    )


def _motion(compiler: _Compiler) -> Motion:
    number, find, speed, rate = compiler.number, compiler.find, compiler.speed, compiler.rate
    body_w, body_h = (number(("body", key), compiler.length) for key in ("width_px", "height_px"))
    has_run = find(("ground", "run")) is not None
    walk = (number(("ground", "walk", "acceleration"), rate), number(("ground", "walk", "top_speed"), speed))
    run = walk
    if has_run:
        run = (number(("ground", "run", "acceleration"), rate), number(("ground", "run", "top_speed"), speed))
    coast, reverse = (number(("ground", key), rate) for key in ("coast_deceleration", "reverse_deceleration"))
    launch_tick_gravity = find(("jump", "launch_tick_gravity"), False)
    jump_from = compiler.thresholds(("jump", "bands"), ("from_takeoff_speed",))
    jumps = [compiler.jump_band(("jump", "bands", i), launch_tick_gravity) for i in range(len(jump_from))]
    cuts = isinstance(find(("jump", "on_release")), Mapping)
    cut_speed = number(("jump", "on_release", "cut_speed"), speed) if cuts else NO_CUT
    terminal = number(("fall", "terminal_speed"), speed)
    accel_from, accel = compiler.bands(("air", "acceleration"), ("from_speed",), rate)
    reverse_from, reverse_takeoff, air_reverse = compiler.bands(
        ("air", "reverse_deceleration"), ("from_speed", "from_takeoff_speed"), rate
    )
    cap_from, cap = compiler.bands(("air", "top_speed"), ("from_takeoff_speed",), speed)
    return Motion(
        body_w=body_w,
        body_h=body_h,
        walk_accel=walk[0],
        walk_cap=walk[1],
        has_run=int(has_run),
        run_accel=run[0],
        run_cap=run[1],
        run_memory=find(("ground", "run", "memory_ticks"), 0),
        coast=coast,
        reverse=reverse,
        jump_from=_array([threshold for (threshold,) in jump_from]),
        jump_launch=_array([launch for launch, _, _ in jumps]),
        jump_gravity_held=_array([held for _, held, _ in jumps]),
        jump_gravity=_array([gravity for _, _, gravity in jumps]),
        cut_speed=cut_speed,
        launch_tick_gravity=int(launch_tick_gravity),
        terminal=terminal,
        air_accel_from=accel_from,
        air_accel=accel,
        air_reverse_from_speed=reverse_from,
        air_reverse_from_takeoff=reverse_takeoff,
        air_reverse=air_reverse,
        air_cap_from=cap_from,
        air_cap=cap,
        drag=number(("air", "drag"), rate),
        coyote_ticks=find(("help", "coyote_ticks"), 0),
        buffer_ticks=find(("help", "buffer_ticks"), 0),
        drop_through=int(find(("help", "drop_through"), False)),
    )


def decimal_text(value: Fraction) -> str:
    """Return a number in decimal notation, with up to 6 digits behind the point."""
    return f"{float(value):.6f}".rstrip("0").rstrip(".")


def _array(values: Sequence[int]) -> np.ndarray:
    return np.array(values, np.int64)


def _pair(speeds: tuple[Any, ...]) -> str:
    return " and ".join(str(speed) for speed in speeds)


def _sha256(data: Any) -> str:
    """The hash of what a file declares, however it is laid out; notes do not count."""
    return hashlib.sha256(json.dumps(_canonical(data), sort_keys=True, ensure_ascii=True).encode()).hexdigest()


def _canonical(value: Any) -> Any:
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    if isinstance(value, Mapping):
        return {key: _canonical(part) for key, part in value.items() if key != "note"}
    if isinstance(value, list):
        return [_canonical(part) for part in value]
    return value
