"""A comparison as JSON: as the schema says."""

import json

import jsonschema
import pytest

from reach.movement import load_movement
from reach.report.parity_json import to_json
from reach.workshop.explanations import explain_difference
from reach.workshop.flat_ground import at_rest, flat_ground
from reach.workshop.parity import compare_recording
from reach.workshop.parity_hints import find_hint
from reach.workshop.variants import Player, Variant
from tests.builders import inputs
from tests.checkout import ROOT
from tests.workshop.recorded import recorded

LAMPLIGHTER = load_movement(ROOT / "sample_levels" / "movement" / "lamplighter.json")
SCHEMA = json.loads((ROOT / "schemas" / "parity.schema.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("variant", [Variant(), Variant(reverse_through_zero=True)])
def test_it_is_what_the_schema_says(tmp_path, variant):
    script = inputs((3, ""), (30, "r"), (40, "l"))
    path = Player(LAMPLIGHTER.motion, flat_ground(), variant).play(at_rest(LAMPLIGHTER.motion), script)
    compared = compare_recording(LAMPLIGHTER, recorded(tmp_path, path, script))
    explained = None if compared.agrees else explain_difference(compared)
    data = json.loads(to_json(compared, explained))
    jsonschema.Draft202012Validator(SCHEMA).validate(data)
    assert data["agreement"] == ("agrees" if variant == Variant() else "differs")
    if data["agreement"] == "differs":
        assert data["explanation"]["clear"][0]["id"] == "reverse-through-zero"
        assert data["takes"][0]["first_difference"]["buttons"] == ["left"]
        assert data["explanation"]["judged_ticks"] == data["takes"][0]["rows_compared"] - 1 == 73


def test_a_hint_is_what_the_schema_says(tmp_path):
    script = inputs((3, ""), (30, "j"))
    path = Player(LAMPLIGHTER.motion, flat_ground(), Variant()).play(at_rest(LAMPLIGHTER.motion), script)
    path[:, 1] *= -1
    compared = compare_recording(LAMPLIGHTER, recorded(tmp_path, path, script))
    data = json.loads(to_json(compared, None, find_hint(compared)))
    jsonschema.Draft202012Validator(SCHEMA).validate(data)
    assert data["hint"]["id"] == "other-y-axis"
