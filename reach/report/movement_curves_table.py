"""The figures behind the page of curves as numbers, in CSV or JSON.

CSV has a row a point; a cell is empty where its column means nothing for that figure. Positions are in px and exact:
how far the body has moved and how high its feet are since the end of the tick before the takeoff. Of an envelope, a row
is a band of heights 1 px high, from `y_px` up, and the body has moved by `left_px` to `right_px` in it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any

from reach.workshop.curves import Curves, Flight

COLUMNS = (
    "profile",
    "figure",
    "takeoff",
    "steer",
    "held_ticks",
    "tick",
    "time_ms",
    "buttons",
    "vx_px_per_s",
    "x_px",
    "y_px",
    "left_px",
    "right_px",
)
SPX = 65536
FORMAT = "reach-movement-curves/1"

Point = dict[str, Any]


def to_csv(curves: Sequence[Curves]) -> str:
    """Return all figures as comma-separated values with a header: speed, air control, jump arcs, envelopes."""
    lines = [",".join(COLUMNS)]
    for number, own in enumerate(curves, 1):
        for figure, series in _figures(own).items():
            for head, points in series:
                for point in points:
                    row = {"profile": number, "figure": figure, **head, **point}
                    lines.append(",".join(_cell(row.get(column)) for column in COLUMNS))
    return "\n".join(lines) + "\n"


def to_json(curves: Sequence[Curves]) -> str:
    """Return all figures as JSON, described in `schemas/movement_curves.schema.json`: one line a series."""
    text = ",\n".join(_profile(number, own) for number, own in enumerate(curves, 1))
    return f'{{"format": "{FORMAT}",\n"profiles": [\n{text}\n]}}\n'


def _profile(number: int, own: Curves) -> str:
    head = {
        "profile": number,
        "name": own.movement.name,
        "tick_rate_hz": own.movement.tick_rate_hz,
        "tile_px": own.tile_px,
        "remarks": list(own.remarks),
    }
    lines = [f'"{key}": {json.dumps(value, ensure_ascii=False)}' for key, value in head.items()]
    for figure, series in _figures(own).items():
        listed = ",\n".join(f"  {json.dumps({**each, 'points': list(points)})}" for each, points in series)
        lines.append(f'"{figure}": [\n{listed}\n ]' if listed else f'"{figure}": []')
    return "{" + ",\n ".join(lines) + "}"


def _figures(own: Curves) -> dict[str, list[tuple[Point, Iterator[Point]]]]:
    """The series of every figure: what is the same for all points of it, and the points."""
    return {
        "speed": [({}, _speed(own))],
        "air_control": [(_head(each), _flown(own, each)) for each in own.air],
        "jump_arc": [(_head(each), _flown(own, each)) for each in own.arcs],
        "envelope": [
            (
                {"takeoff": str(each.takeoff)},
                (
                    {"y_px": height, "left_px": left / SPX, "right_px": right / SPX}
                    for height, left, right in zip(
                        each.height_px.tolist(), each.left_spx.tolist(), each.right_spx.tolist(), strict=True
                    )
                ),
            )
            for each in own.envelopes
        ],
    }


def _head(flight: Flight) -> Point:
    return {"takeoff": str(flight.takeoff), "steer": str(flight.steer), "held_ticks": flight.held_ticks}


def _speed(own: Curves) -> Iterator[Point]:
    rate = own.movement.tick_rate_hz
    held = ["", *map(_held, own.speed.inputs.tolist())]
    for tick, (vx, buttons) in enumerate(zip(own.speed.vx_spx.tolist(), held, strict=True)):
        yield {"tick": tick, "time_ms": tick * 1000 / rate, "buttons": buttons, "vx_px_per_s": vx * rate / SPX}


def _held(row: list[int]) -> str:
    direction, _, run, _ = row
    return " ".join(name for name, down in (("left", direction < 0), ("right", direction > 0), ("run", run)) if down)


def _flown(own: Curves, flight: Flight) -> Iterator[Point]:
    rate = own.movement.tick_rate_hz
    columns = (flight.vx_spx.tolist(), flight.x_spx.tolist(), flight.height_spx.tolist())
    for tick, (vx, x, y) in enumerate(zip(*columns, strict=True)):
        yield {
            "tick": tick,
            "time_ms": tick * 1000 / rate,
            "vx_px_per_s": vx * rate / SPX,
            "x_px": x / SPX,
            "y_px": y / SPX,
        }


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return repr(value).removesuffix(".0") if isinstance(value, float) else str(value)
