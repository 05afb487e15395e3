"""A fit as JSON: as the schema says, from exact and from rounded positions."""

import json

import jsonschema
import pytest

from reach.movement import load_movement
from reach.report.movement_fit_json import to_json
from reach.workshop.fit.fitting import fit_recording
from reach.workshop.flat_ground import play_flat
from tests.checkout import ROOT
from tests.workshop.recorded import EVERYTHING, recorded

LAMPLIGHTER = load_movement(ROOT / "sample_levels" / "movement" / "lamplighter.json")
SCHEMA = json.loads((ROOT / "schemas" / "movement_fit.schema.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("rounding_spx", [1, 65536])
@pytest.mark.parametrize("start", [None, LAMPLIGHTER])
def test_it_is_what_the_schema_says(tmp_path, rounding_spx, start):
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    path = play_flat(LAMPLIGHTER.motion, EVERYTHING)[:, :2]
    path[200:, 0] += 3 * 65536
    fitted = fit_recording(recorded(tmp_path, path, EVERYTHING, rounding_spx), start)
    data = json.loads(to_json(fitted))
    jsonschema.Draft202012Validator(SCHEMA).validate(data)
    assert data["estimates"]
    assert data["not_determined"]
