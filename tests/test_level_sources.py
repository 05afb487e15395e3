"""Choosing the reader of a level, and what its options are for."""

import json

import numpy as np
import pytest
from PIL import Image

from reach.kernels.params import EMPTY, SOLID
from reach.level import level_from_dict
from reach.level_sources import READERS, load_any_level
from tests.made_files import level_data, refused

MAPPING = {
    "format": "reach-mapping/1",
    "tiles": {"0": "empty", "1": "solid", "2": {"place": "start"}, "#000000": "empty", "#ffffff": "solid"},
}


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "quay.txt").write_text(".@.\n###\n")
    (tmp_path / "quay.csv").write_text("0,2,0\n1,1,1\n")
    pixels = np.array([[[0, 0, 0], [9, 9, 9], [0, 0, 0]], [[255] * 3] * 3], np.uint8)
    Image.fromarray(pixels).save(tmp_path / "quay.png")
    (tmp_path / "quay.json").write_text(json.dumps(level_data(rows=[".@.", "###"])))
    (tmp_path / "cells.json").write_text(json.dumps(MAPPING | {"tile_px": 24, "name": "Pier"}))
    tiles = {"#000000": "empty", "#ffffff": "solid", "#090909": {"place": "start"}}
    (tmp_path / "colours.json").write_text(json.dumps(MAPPING | {"tiles": tiles}))
    return tmp_path


@pytest.mark.parametrize(
    ("name", "mapping"),
    [("quay.txt", None), ("quay.csv", "cells.json"), ("quay.png", "colours.json"), ("quay.json", None)],
)
def test_every_form_gives_the_same_level(folder, name, mapping):
    options = {} if name == "quay.json" else {"tile_px": 16, "name": "Quay"}
    level = load_any_level(folder / name, mapping and folder / mapping, **options)
    assert level.material.tolist() == [[EMPTY] * 3, [SOLID] * 3]
    assert level.origin == str(folder / name)
    assert level.sha256 == level_from_dict(level_data(rows=[".@.", "###"])).sha256


def test_name_and_tile_size_come_from_the_option_the_mapping_or_the_file(folder):
    level = load_any_level(folder / "quay.csv", folder / "cells.json")
    assert (level.name, level.tile_px) == ("Pier", 24)
    level = load_any_level(folder / "quay.csv", folder / "cells.json", 32, "Mole")
    assert (level.name, level.tile_px) == ("Mole", 32)
    assert load_any_level(folder / "quay.png", folder / "colours.json", 16).name == "quay"


def test_endings_in_capitals_are_the_same(folder):
    (folder / "quay.txt").rename(folder / "QUAY.TXT")
    assert load_any_level(folder / "QUAY.TXT", tile_px=16).name == "QUAY"
    assert set(READERS) == {".txt", ".csv", ".png"}


def test_without_a_tile_size_nothing_is_guessed(folder):
    ((place, found, allowed),) = refused(load_any_level, folder / "quay.txt")
    assert (place, found) == ("", "no tile size")
    assert "--tile-px" in allowed


@pytest.mark.parametrize("tile_px", [3, 257, 16.5, True])
def test_a_tile_size_out_of_range(folder, tile_px):
    ((place, _, allowed),) = refused(load_any_level, folder / "quay.txt", tile_px=tile_px)
    assert (place, allowed) == ("tile_px", "a whole number from 4 to 256")


def test_options_that_a_level_file_would_not_use_are_refused(folder):
    found = refused(load_any_level, folder / "quay.json", folder / "cells.json", 16, "Mole")
    assert [each[1] for each in found] == [
        "a mapping for a level file",
        "a tile size for a level file",
        "a name for a level file",
    ]


def test_a_map_without_a_start_is_refused_by_the_level(folder):
    (folder / "quay.txt").write_text("...\n###\n")
    ((_, found, _),) = refused(load_any_level, folder / "quay.txt", tile_px=16)
    assert found == "no start"


def test_files_that_are_not_there(folder):
    for name in ("none.txt", "none.csv", "none.png", "none.json", "none"):
        options = {} if name in ("none.json", "none") else {"tile_px": 16}
        assert refused(load_any_level, folder / name, **options)[0][1] == "no such file"
    assert refused(load_any_level, folder / "quay.txt", folder / "none.json")[0][1] == "no such file"
