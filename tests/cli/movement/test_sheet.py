import json

import pytest
from PIL import Image

from tests.cli.conftest import MOVEMENT


@pytest.fixture
def profile(tmp_path) -> str:
    (tmp_path / "stroller.json").write_text(json.dumps(MOVEMENT), encoding="utf-8")
    return "stroller.json"


def test_the_page_goes_to_standard_output(run, profile):
    ran = run("movement", "sheet", profile)
    assert ran.code == 0
    assert ran.out.startswith("stroller  body 10 x 20 px, tiles of 16 px, 50 ticks a second")
    assert "Gaps" in ran.out


def test_json_by_format_and_by_the_files_ending_is_the_same(run, profile, here):
    printed = run("movement", "sheet", profile, "--format", "json")
    assert json.loads(printed.out)["format"] == "reach-movement-sheet/1"
    written = run("movement", "sheet", profile, "-o", "sheet.json")
    assert (written.code, written.out) == (0, "")
    assert (here / "sheet.json").read_text(encoding="utf-8") == printed.out


def test_text_in_a_file_is_as_printed(run, profile, here):
    printed = run("movement", "sheet", profile, "--tile-px", "8", "--window-ms", "30")
    assert run("movement", "sheet", profile, "--tile-px", "8", "--window-ms", "30", "-o", "sheet.txt").code == 0
    assert (here / "sheet.txt").read_text(encoding="utf-8") == printed.out
    assert "tiles of 8 px" in printed.out and "window of 2 ticks" in printed.out


def test_a_page_is_a_picture(run, profile, here):
    ran = run("movement", "sheet", profile, "-o", "sheet.png")
    assert (ran.code, ran.out) == (0, "")
    with Image.open(here / "sheet.png") as image:
        assert image.format == "PNG" and image.width == 1280


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["-o", "sheet.gif"], "its name must end in .txt or .json or .png"),
        (["--format", "json", "-o", "sheet.txt"], "its name must end in .json"),
        (["-o", "stroller.json"], "another file of this command has the same name"),
        (["-o", "no/sheet.txt"], "there is no folder no"),
        (["--tile-px", "2"], "--tile-px"),
        (["--window-ms", "5000"], "--window-ms"),
        (["--time-limit", "0"], "--time-limit"),
    ],
)
def test_a_mistake_is_told_before_any_work(run, profile, words, told):
    ran = run("movement", "sheet", profile, *words)
    assert ran.code == 2 and ran.out == ""
    assert told in ran.err


def test_a_profile_that_is_none_is_told(run, here):
    (here / "not.json").write_text("{}", encoding="utf-8")
    ran = run("movement", "sheet", "not.json")
    assert ran.code == 2 and "not.json" in ran.err


def test_a_limit_is_told_on_the_page(run, profile):
    ran = run("movement", "sheet", profile, "--time-limit", "0.000001")
    assert ran.code == 0
    assert "Not finished: the widest gaps have no upper bound: time limit." in ran.out
