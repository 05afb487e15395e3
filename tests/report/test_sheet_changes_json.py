import json
from dataclasses import replace

from jsonschema import Draft202012Validator

from reach.report.sheet_changes_json import dump, to_dict
from reach.schema import load_schema
from reach.workshop.sheet_changes import compare_sheets
from tests.made_sheets import sample_sheet

VALIDATOR = Draft202012Validator(load_schema("movement_comparison"))


def test_it_keeps_to_the_schema_and_says_the_same_every_time():
    changes = compare_sheets(sample_sheet("courier"), sample_sheet("lamplighter"))
    data = json.loads(dump(changes))
    assert list(VALIDATOR.iter_errors(data)) == []
    assert data == to_dict(changes)
    assert [data["old"]["name"], data["new"]["name"]] == ["courier", "lamplighter"]
    assert data["complete"] is True
    assert len(data["figures"]) == len(changes.figures) > 20
    assert {each["kind"] for each in data["effects"]} == {"opened"}


def test_clocks_and_missing_figures_keep_to_the_schema():
    sheet = sample_sheet("courier")
    late = replace(sheet, tick_rate_hz=90, reach=replace(sheet.reach, limits=("time",)))
    data = to_dict(compare_sheets(sheet, late))
    assert list(VALIDATOR.iter_errors(data)) == []
    assert data["complete"] is False
    assert {each["unit"] for each in data["figures"]} == {"ms", "px/s"}
