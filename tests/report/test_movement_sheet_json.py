import json
from dataclasses import replace

from jsonschema import Draft202012Validator

from reach.report.movement_sheet_json import dump, to_dict
from reach.schema import load_schema
from reach.workshop.bounds import Bound
from tests.made_sheets import sample_sheet

VALIDATOR = Draft202012Validator(load_schema("movement_sheet"))


def test_every_sample_keeps_to_the_schema():
    for name in ("lamplighter", "courier", "ferryman"):
        data = json.loads(dump(sample_sheet(name)))
        assert list(VALIDATOR.iter_errors(data)) == []
        assert data == to_dict(sample_sheet(name))


def test_lengths_are_exact_in_px():
    sheet = sample_sheet("lamplighter")
    level = next(row for row in to_dict(sheet)["gaps"]["heights"] if row["height_tiles"] == 0)
    row = next(row for row in sheet.reach.rows if row.height_tiles == 0)
    assert level["widest"]["at_least"]["px"] * 65536 == row.gap.at_least_spx
    assert level["widest"]["exact"] is True
    assert level["widest"]["at_least"]["tiles"] == round(row.gap.at_least_spx / 65536 / 16, 6)


def test_figures_that_are_missing_are_null_and_keep_to_the_schema():
    sheet = sample_sheet("courier")
    row = replace(
        sheet.reach.rows[0],
        gap=Bound(None, None),
        full_ledge_spx=None,
        takeoff_spx_per_tick=None,
        whole_tiles=None,
        ledge=None,
        gap_with_window_spx=None,
    )
    sheet = replace(
        sheet,
        reach=replace(sheet.reach, rows=(row,), step_up=Bound(1, None), limits=("the time limit of 1 s was reached",)),
        ground_speeds=(replace(sheet.ground_speeds[0], to_top=None, coasting=None, reversing=None, turning=None),),
        takeoff_bands=(replace(sheet.takeoff_bands[0], held=None, tapped=None, buffered=None),),
        landings=(replace(sheet.landings[0], braking_spx=None, stop_spx=None, stop_in_window_spx=None),),
        headroom=replace(sheet.headroom, held_spx=(None,), tapped_spx=(None,), smallest_hop_spx=None),
    )
    data = to_dict(sheet)
    assert list(VALIDATOR.iter_errors(data)) == []
    assert data["complete"] is False and data["incomplete_why"] == ["the time limit of 1 s was reached"]
    assert data["gaps"]["heights"][0]["widest"] == {"at_least": None, "at_most": None, "exact": False}


def test_nothing_is_missing_in_what_the_samples_say():
    data = to_dict(sample_sheet("courier"))
    assert data["complete"] is True
    assert data["jumps"][0]["let_go_before"] is not None
    assert data["window"] == {"ticks": 4, "ms": 66.666667}
