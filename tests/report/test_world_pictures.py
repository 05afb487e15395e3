"""The folder of a world's pictures: which file is whose, and what is left of an earlier run."""

from __future__ import annotations

import pytest
from PIL import Image

from reach.errors import InputError, OutputError
from reach.report.png_overlay import draw_overlay
from reach.report.world_pictures import PictureFolder, picture_names
from reach.world.result import Job, Outcome, State
from tests.made_worlds import made_world
from tests.report.pictures import report_of

HALLS = {"hall": {"a": "exit", "b": "exit"}, "den": {"gate": "entrance", "out": "exit"}, "lost": None}
LINKS = {"hall/a": "den/in", "hall/b": "lost/gate", "den/out": "den/gate"}


def test_a_level_with_one_entrance_has_its_name_alone_and_one_with_several_names_them():
    names = picture_names(made_world(HALLS, LINKS, "hall/in"))
    assert names == {
        ("hall", "in"): "hall.png",
        ("den", "in"): "den--in.png",
        ("den", "gate"): "den--gate.png",
        ("lost", "gate"): "lost.png",
    }


def test_the_start_of_the_game_is_an_entrance_beside_those_that_links_lead_to():
    names = picture_names(made_world(HALLS, {"den/out": "den/gate"}, "den/in"))
    assert sorted(names.values()) == ["den--gate.png", "den--in.png"]


def test_each_level_of_a_folder_has_its_name_alone():
    assert sorted(picture_names(made_world(HALLS, {}, None)).values()) == ["den.png", "hall.png", "lost.png"]


def test_two_entrances_of_one_name_are_refused_with_both_told():
    rooms = {**HALLS, "den--gate": {}}
    with pytest.raises(InputError, match=r"den--gate.png.*den/gate and den--gate/in"):
        picture_names(
            made_world(rooms, {"hall/a": "den/in", "hall/b": "den/gate", "den/out": "den--gate/in"}, "hall/in")
        )


def outcome(world, level, entrance):
    drawn = world.by_id[level].level
    report = None if drawn is None else report_of(drawn)
    return Outcome(Job(level, entrance), State.FAILED if report is None else State.CHECKED, report)


def test_each_picture_is_the_overlay_of_its_check(tmp_path):
    world = made_world(HALLS, LINKS, "hall/in")
    folder = PictureFolder(world, tmp_path / "new" / "pictures")
    folder.save(outcome(world, "hall", "in"))
    folder.save(outcome(world, "lost", "gate"))
    assert [path.name for path in folder.folder.iterdir()] == ["hall.png"] == [*folder.saved]
    hall = world.by_id["hall"].level
    with Image.open(folder.folder / "hall.png") as picture:
        assert picture.tobytes() == draw_overlay(hall, report_of(hall)).tobytes()


def test_no_folder_is_made_for_nothing(tmp_path):
    world = made_world(HALLS, LINKS, "hall/in")
    folder = PictureFolder(world, tmp_path / "pictures")
    folder.save(outcome(world, "lost", "gate"))
    assert not folder.folder.exists() and folder.left_over() == []


def test_what_an_earlier_run_left_of_this_world_is_known_and_other_files_are_not_touched(tmp_path):
    world = made_world({**HALLS, "attic": {}}, LINKS, "hall/in")
    for name in ("attic.png", "den--in.png", "den.png", "hall.png", "photo.png"):
        (tmp_path / name).write_bytes(b"old")
    folder = PictureFolder(world, tmp_path)
    folder.save(outcome(world, "hall", "in"))
    assert folder.left_over() == ["attic.png", "den--in.png", "den.png"]
    assert (tmp_path / "photo.png").read_bytes() == b"old" != (tmp_path / "hall.png").read_bytes()


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    world = made_world(HALLS, LINKS, "hall/in")
    with pytest.raises(OutputError, match="pictures"):
        PictureFolder(world, tmp_path / "file" / "pictures").save(outcome(world, "hall", "in"))
