"""The figures as numbers: the same ones as on the page, in both formats."""

import csv
import json
from io import StringIO

import jsonschema
import pytest

from reach.movement import load_movement
from reach.report.movement_curves_table import COLUMNS, SPX, to_csv, to_json
from reach.workshop.curves import measure_curves
from tests.checkout import ROOT

MOVEMENTS = [load_movement(ROOT / "sample_levels" / "movement" / f"{name}.json") for name in ("lamplighter", "courier")]


@pytest.fixture(scope="module")
def curves():
    return measure_curves(MOVEMENTS, 16)


def test_csv_has_every_figure_of_every_profile(curves):
    rows = list(csv.DictReader(StringIO(to_csv(curves))))
    assert tuple(rows[0]) == COLUMNS
    for number, own in enumerate(curves, 1):
        mine = [row for row in rows if row["profile"] == str(number)]
        counts = {figure: sum(row["figure"] == figure for row in mine) for figure in {row["figure"] for row in mine}}
        assert counts == {
            "speed": len(own.speed.vx_spx),
            "air_control": sum(len(flight.x_spx) for flight in own.air),
            "jump_arc": sum(len(flight.x_spx) for flight in own.arcs),
            "envelope": sum(len(each.height_px) for each in own.envelopes),
        }


def test_numbers_are_exact(curves):
    rows = list(csv.DictReader(StringIO(to_csv(curves))))
    speed = [row for row in rows if (row["profile"], row["figure"]) == ("1", "speed")]
    assert [float(row["vx_px_per_s"]) * SPX / 60 for row in speed] == curves[0].speed.vx_spx.tolist()
    assert speed[1]["buttons"] == "right"
    assert float(speed[60]["time_ms"]) == 1000
    flight = curves[0].arcs[0]
    arc = [row for row in rows if (row["profile"], row["figure"]) == ("1", "jump_arc")][: len(flight.x_spx)]
    assert [float(row["x_px"]) * SPX for row in arc] == flight.x_spx.tolist()
    assert [float(row["y_px"]) * SPX for row in arc] == flight.height_spx.tolist()
    assert {(row["takeoff"], row["steer"], row["held_ticks"]) for row in arc} == {("standing", "forward", "1")}


def test_json_holds_the_same_points(curves):
    data = json.loads(to_json(curves))["profiles"]
    rows = list(csv.DictReader(StringIO(to_csv(curves))))
    assert [each["name"] for each in data] == ["lamplighter", "courier"]
    for profile in data:
        for figure in ("speed", "air_control", "jump_arc", "envelope"):
            points = [
                {"profile": profile["profile"], **series, **point}
                for series in profile[figure]
                for point in series["points"]
            ]
            mine = [row for row in rows if (row["profile"], row["figure"]) == (str(profile["profile"]), figure)]
            assert len(points) == len(mine)
            for point, row in zip(points, mine, strict=True):
                for column in COLUMNS:
                    if column in point and column != "figure":
                        value = point[column]
                        assert row[column] == str(value) or float(row[column]) == value


def test_json_is_what_the_schema_says(curves):
    schema = json.loads((ROOT / "schemas" / "movement_curves.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(json.loads(to_json(curves)))


def test_both_are_the_same_every_time(curves):
    again = measure_curves(MOVEMENTS, 16)
    assert to_csv(curves) == to_csv(again)
    assert to_json(curves) == to_json(again)
