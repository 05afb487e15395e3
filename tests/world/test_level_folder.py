import json
import os

import pytest

from reach.errors import InputError
from reach.world.level_folder import load_folder
from reach.world.world_file import load_world
from tests.checked import MOVEMENT
from tests.made_files import level_data


@pytest.fixture
def movement(tmp_path):
    path = tmp_path / "walker.json"
    path.write_text(json.dumps(MOVEMENT), encoding="utf-8")
    return path


def test_every_level_file_is_one_sorted_by_name_and_others_are_told(tmp_path, movement):
    for name in ("quay", "Attic", "10"):
        (tmp_path / f"{name}.json").write_text(json.dumps(level_data(name=name)), encoding="utf-8")
    (tmp_path / "map.png").write_bytes(b"")
    inner = tmp_path / "inner"
    inner.mkdir()
    (inner / "deep.json").write_text(json.dumps(level_data()), encoding="utf-8")
    world = load_world(tmp_path, movement)
    assert (world.linked, world.links, world.start) == (False, (), None)
    assert [(level.id, level.file) for level in world.levels] == [
        ("10", "10.json"),
        ("Attic", "Attic.json"),
        ("quay", "quay.json"),
    ]
    assert world.skipped == ("walker.json",)


def test_a_broken_file_is_a_level_that_cannot_be_checked(tmp_path, movement):
    (tmp_path / "a.json").write_text("{", encoding="utf-8")
    (tmp_path / "b.json").write_text("[]", encoding="utf-8")
    (tmp_path / "c.json").write_text(json.dumps(level_data(format=None)), encoding="utf-8")
    levels = load_folder(tmp_path, movement).levels
    assert [(level.id, level.level) for level in levels] == [("a", None), ("b", None), ("c", None)]
    assert all(level.why.startswith(level.file) for level in levels)


def test_without_a_movement_or_a_level_it_is_refused(tmp_path, movement):
    with pytest.raises(InputError, match="no movement"):
        load_folder(tmp_path, None)
    with pytest.raises(InputError, match="no level in this folder"):
        load_folder(tmp_path, movement)


def test_a_level_whose_name_no_report_could_hold_is_refused(tmp_path, movement):
    for name in (b"quay\xff.json", b"b\x1b[31m.json"):
        (tmp_path / os.fsdecode(name)).write_text(json.dumps(level_data()), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_folder(tmp_path, movement)
    lines = str(caught.value).splitlines()
    assert len(lines) == 2
    assert all("a file name that is not all printable text" in line and line.isprintable() for line in lines)
