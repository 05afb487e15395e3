"""The movement profile that a fit writes: every number the shortest decimal that lies where the recording puts it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from reach.movement import DEFAULT_TICK_RATE_HZ, FORMAT, SPX_PER_PX
from reach.workshop.fit.outcome import Estimate, Found, Quantity

SECTIONS = ("ground", "jump", "fall", "air", "help")
REQUIRED = (
    "ground.walk.acceleration",
    "ground.walk.top_speed",
    "ground.coast_deceleration",
    "ground.reverse_deceleration",
    "fall.terminal_speed",
)
JUMP_KEYS = ("launch_speed", "gravity_held", "gravity")
AIR_LISTS = {
    "air.acceleration": ("from_speed",),
    "air.reverse_deceleration": ("from_speed", "from_takeoff_speed"),
    "air.top_speed": ("from_takeoff_speed",),
}
_STEP = re.compile(r"([a-z_]+)(?:\[(\d+)\])?")


def required_paths(found: Found) -> list[str]:
    """Every path that a movement file needs, with as many bands as were found (at least one a list)."""
    paths = list(REQUIRED)
    if found.counts.get("ground.run"):
        paths += ["ground.run.acceleration", "ground.run.top_speed"]
    for index in range(max(1, found.counts.get("jump.bands", 0))):
        paths += [f"jump.bands[{index}].{key}" for key in JUMP_KEYS]
    for path in AIR_LISTS:
        paths += [f"{path}[{index}].value" for index in range(max(1, found.counts.get(path, 0)))]
    return paths


def unit_spx(quantity: Quantity, tick_rate_hz: int | None) -> Fraction:
    """How many spx a tick (a tick) one unit of the profile is: px/s and px/s^2 with a tick rate, else px a tick."""
    rate = tick_rate_hz or 1
    if quantity is Quantity.RATE:
        return Fraction(SPX_PER_PX, rate * rate)
    return Fraction(SPX_PER_PX, rate) if quantity is Quantity.SPEED else Fraction(1)


def shortest_decimal(low: Fraction, high: Fraction) -> Decimal:
    """Return the decimal with the fewest digits behind the point from `low` to `high`, the nearest to the middle.

    Examples
    --------
    >>> shortest_decimal(Fraction("149.97"), Fraction("150.02")), shortest_decimal(Fraction("0.11"), Fraction("0.13"))
    (Decimal('150'), Decimal('0.12'))
    """
    middle = (low + high) / 2
    for places in range(60):
        scale = 10**places
        first, last = math.ceil(low * scale), math.floor(high * scale)
        if first <= last:
            return Decimal(min(max(round(middle * scale), first), last)).scaleb(-places)
    raise ValueError("an interval without room")


def written_number(estimate: Estimate, tick_rate_hz: int | None) -> int | float:
    """The number to write for an estimate, in the profile's unit."""
    if estimate.quantity in (Quantity.TICKS, Quantity.CHOICE):
        return math.floor(estimate.low)
    unit = unit_spx(estimate.quantity, tick_rate_hz)
    if estimate.low <= 0 <= estimate.high and not estimate.threshold:
        return 0
    low, high = Fraction(estimate.low), Fraction(estimate.high)
    if estimate.exact:
        # Any decimal less than half a subpixel off compiles to the same integer.
        low, high = max(low - Fraction(49, 100), Fraction(0)), high + Fraction(49, 100)
    elif not estimate.threshold:
        room = (high - low) / 3
        low, high = low + room, high - room
    number = shortest_decimal(low / unit, high / unit)
    return int(number) if number == number.to_integral_value() else float(number)


def profile_data(
    found: Found, name: str, tick_rate_hz: int | None, body: Mapping[str, Any], fill: Callable[[str], Any]
) -> dict[str, Any]:
    """Return a movement file's content.

    Parameters
    ----------
    found : Found
    name : str
    tick_rate_hz : int, optional
        Without one, the file counts per tick.
    body : mapping
        `width_px` and `height_px`.
    fill : callable
        Gives a required number, in the file's unit, for the path of one that was not found.
    """
    data: dict[str, Any] = {
        "format": FORMAT,
        "name": name,
        "units": "per_tick" if tick_rate_hz is None else "per_second",
        "tick_rate_hz": tick_rate_hz or DEFAULT_TICK_RATE_HZ,
        "body": dict(body),
    }
    for path in required_paths(found):
        estimate = found.estimates.get(path)
        usable = estimate is not None and estimate.bounded
        put(data, path, written_number(estimate, tick_rate_hz) if usable and estimate is not None else fill(path))
    for path, estimate in found.estimates.items():
        if path in ("jump.on_release", "jump.launch_tick_gravity", "help.drop_through") or path.startswith("body"):
            continue
        if has_no(data, path) and (estimate.bounded or estimate.quantity is Quantity.TICKS):
            put(data, path, written_number(estimate, tick_rate_hz))
    for path in ("jump.launch_tick_gravity", "help.drop_through"):
        if path in found.estimates:
            put(data, path, bool(found.estimates[path].low))
    for path, keys in (("jump.bands", ("from_takeoff_speed",)), *AIR_LISTS.items()):
        for key in keys:
            put(data, f"{path}[0].{key}", 0)
        entries = read(data, path)
        section, _, last = path.partition(".")
        ordered = [
            {key: entry[key] for key in (*keys, *sorted(set(entry) - set(keys), reverse=True))} for entry in entries
        ]
        data[section][last] = ordered if len(entries) > 1 or path == "jump.bands" else entries[0]["value"]
    return {key: data[key] for key in ("format", "name", "units", "tick_rate_hz", "body", *SECTIONS) if key in data}


def put(data: dict[str, Any], path: str, value: Any) -> None:
    """Set the value at a path, making the objects and lists on the way."""
    place: Any = data
    steps = _STEP.findall(path)
    for number, (key, index) in enumerate(steps):
        last = number == len(steps) - 1
        if index:
            entries = place.setdefault(key, [])
            while len(entries) <= int(index):
                entries.append({})
            place = entries[int(index)]
        elif last:
            place[key] = value
        else:
            place = place.setdefault(key, {})


def read(data: Mapping[str, Any], path: str) -> Any:
    """The value at a path, None where there is none. A plain number where a list of bands may be is its first band."""
    place: Any = data
    for key, index in _STEP.findall(path):
        if key == "value" and not isinstance(place, Mapping):
            return place
        if not isinstance(place, Mapping) or key not in place:
            return None
        place = place[key]
        if index:
            if isinstance(place, list):
                if int(index) >= len(place):
                    return None
                place = place[int(index)]
            elif int(index):
                return None
    return place


def has_no(data: Mapping[str, Any], path: str) -> bool:
    """Whether there is nothing at a path."""
    return read(data, path) is None
