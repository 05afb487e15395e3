"""The JSON report: keys, order, stable bytes, and that it keeps to its schema."""

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from reach.findings import Verdict
from reach.report.json_report import dump, to_dict
from tests.made_reports import ATTIC, LAMP, MEANT, SOFTLOCK, START, TIGHT_LANDING, UNUSED, make_report

SCHEMA = Path(__file__).parents[2] / "schemas" / "report.schema.json"
FULL = make_report(
    findings=(SOFTLOCK, TIGHT_LANDING, UNUSED, MEANT),
    complete=False,
    incomplete_why="the time limit of 2 s was reached",
)


@pytest.fixture(scope="module")
def validator():
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


@pytest.mark.parametrize("report", [make_report(), FULL, make_report(places=(), moves=(), route=(), route_to=None)])
def test_keeps_to_the_schema(validator, report):
    assert [error.message for error in validator.iter_errors(json.loads(dump(report)))] == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "reach-report/2"),
        (("places", 0, "verdict"), "likely"),
        (("places", 0, "note"), "an unknown key"),
        (("tiles", "reachable", 0), [1]),
        (("findings", 0, "severity"), "fatal"),
        (("moves", 0, "window_ticks"), 2.5),
    ],
)
def test_the_schema_refuses_what_is_no_report(validator, path, value):
    data = json.loads(dump(FULL))
    target = data
    for key in path[:-1]:
        target = target[key]
    target[path[-1]] = value
    assert list(validator.iter_errors(data))


def test_says_what_the_report_holds():
    data = json.loads(dump(FULL))
    assert data["format"] == "reach-report/1"
    assert data["product"] == "reach 0.1.0"
    assert data["level"] == {"name": "Rope Walk", "columns": 8, "rows": 6, "sha256": "1" * 64}
    assert data["movement"] == {"name": "lamplighter", "tick_rate_hz": 60, "sha256": "2" * 64}
    assert data["from"] == "start-1"
    assert data["places"][1] == {
        "id": "lamp",
        "kind": "goal",
        "at": [6, 1],
        "required": True,
        "must_be": None,
        "verdict": "reachable",
        "ticks": 143,
    }
    assert data["tiles"] == {"reachable": [[4, 2], [5, 2], [1, 3]], "unreachable": [[3, 1]], "undecided": []}
    assert [data["moves"][index]["to"] for index in data["route"]] == [[4, 2], [6, 1]]
    assert [finding["rule"] for finding in data["findings"]] == [
        "softlock",
        "tight-landing",
        "unused-ground",
        "no-return",
    ]
    assert data["findings"][3]["accepted"] == "The tide has come in."
    assert data["summary"]["findings"] == {"error": 1, "warning": 1, "note": 1}
    assert data["summary"]["accepted"] == 1


def test_the_text_and_the_dictionary_are_one():
    assert json.loads(dump(FULL)) == to_dict(FULL)
    assert list(json.loads(dump(FULL))) == list(to_dict(FULL))


def test_the_same_bytes_whatever_order_the_parts_came_in():
    shuffled = make_report(
        findings=(
            SOFTLOCK,
            replace(TIGHT_LANDING, details=dict(reversed(TIGHT_LANDING.details.items()))),
            UNUSED,
            MEANT,
        ),
        tiles={
            Verdict.UNDECIDED: (),
            Verdict.UNREACHABLE: ((3, 1),),
            Verdict.REACHABLE: ((1, 3), (5, 2), (4, 2)),
        },
        options=dict(reversed(FULL.options.items())),
        complete=False,
        incomplete_why="the time limit of 2 s was reached",
    )
    assert dump(shuffled) == dump(FULL)


def test_one_line_a_place_move_and_finding_and_one_a_row_of_tiles():
    lines = dump(FULL).splitlines()
    assert sum(line.startswith('    {"id":') for line in lines) == len((START, LAMP, ATTIC))
    assert sum(line.startswith('    {"from":') for line in lines) == 3
    assert sum(line.startswith('    {"rule":') for line in lines) == 4
    assert "      [4, 2], [5, 2]," in lines
    assert "      [1, 3]" in lines


def test_places_stand_in_reading_order():
    twin = replace(LAMP, id="bell")
    data = json.loads(dump(make_report(places=(START, LAMP, ATTIC, twin))))
    assert [place["id"] for place in data["places"]] == ["attic", "bell", "lamp", "start-1"]


def test_numbers_are_rounded_and_never_minus_zero():
    details = {"a": 1 / 3, "b": -0.0, "c": 60.0, "d": [0.1 + 0.2]}
    text = dump(make_report(findings=(replace(SOFTLOCK, details=details),)))
    assert '"details": {"a": 0.333333, "b": 0.0, "c": 60.0, "d": [0.3]}' in text


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_a_number_that_json_has_not_is_a_fault(number):
    with pytest.raises(ValueError, match="cannot hold"):
        dump(make_report(findings=(replace(SOFTLOCK, details={"a": number}),)))


def test_letters_beyond_ascii_stand_as_themselves():
    assert '"name": "Hafenstraße 灯"' in dump(make_report(level_name="Hafenstraße 灯"))
