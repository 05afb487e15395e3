"""Mapping files."""

import json

import pytest

from reach.level_sources.mapping import KEYS_SHOWN, TileMapping, load_mapping
from tests.made_files import refused


@pytest.fixture
def saved(tmp_path):
    def write(**changes):
        data = {"format": "reach-mapping/1", "tiles": {"0": "empty", "9": {"place": "start"}}} | changes
        (tmp_path / "m.json").write_text(json.dumps(data), encoding="utf-8")
        return tmp_path / "m.json"

    return write


def test_names_of_materials_are_entries(saved):
    mapping = load_mapping(saved())
    assert mapping.tiles == {"0": {"material": "empty"}, "9": {"place": "start"}}
    assert (mapping.name, mapping.tile_px) == (None, None)
    mapping = load_mapping(saved(name="Quay", tile_px=24, note="x"))
    assert (mapping.name, mapping.tile_px) == ("Quay", 24)


def test_what_a_mapping_knows_in_words(saved):
    assert TileMapping().allowed("colour") == "a colour that a mapping file tells (none was given)"
    assert load_mapping(saved()).allowed("cell").endswith('m.json: "0" "9"')
    many = load_mapping(saved(tiles={str(number): "solid" for number in range(KEYS_SHOWN + 1)})).allowed("cell")
    assert many.endswith(f'"{KEYS_SHOWN - 1}" ...')


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({"tiles": []}, "a list of 0"),
        ({"tile_px": 3}, "3"),
        ({"tiles": {"": "empty"}}, 'the key ""'),
        ({"tiles": {"x" * 33: "empty"}}, 'the key "' + "x" * 33 + '"'),
        ({"tiles": {"0": "spring"}}, '"spring"'),
        ({"tiles": {"0": {"place": "pickup", "ends_level": True}}}, "true"),
        ({"rows": []}, 'the unknown key "rows"'),
        ({"format": "reach-level/1"}, 'a level, "reach-level/1"'),
    ],
)
def test_a_mistake_is_named(saved, changes, found):
    ((place, said, _),) = refused(load_mapping, saved(**changes))
    assert said == found
    assert "(line 1, column " in place
