"""`reach compare`: what is read, where results go, exit codes, and mistakes."""

import json
from pathlib import Path

import pytest
from PIL import Image

from tests.cli.conftest import LEVEL, MOVEMENT

ALONE = ("--jobs", "1", "--no-cache")
STEP = LEVEL | {
    "name": "Step",
    "rows": ["........", "........", "......!.", ".....###", "@....###", "########"],
}


def low(height_px):
    """The movement with a jump so high."""
    bands = [{"height_px": height_px, "ticks_to_apex": 16, "gravity": 1000}]
    return MOVEMENT | {"name": "low", "jump": MOVEMENT["jump"] | {"bands": bands}}


@pytest.fixture
def house(here, quay):
    """The name of a world of one level with a step of two tiles, and a lower jump beside it."""
    for name, data in (("step", STEP), ("low", low(20))):
        (here / f"{name}.json").write_text(json.dumps(data), encoding="utf-8")
    data = {
        "format": "reach-world/1",
        "name": "House",
        "movement": "stroller.json",
        "levels": [{"id": "step", "file": "step.json"}],
        "start": "step",
    }
    (here / "house.json").write_text(json.dumps(data), encoding="utf-8")
    return "house.json"


def test_a_lower_jump_is_told_drawn_and_the_same_bytes_for_any_number_of_jobs(run, house, here):
    beside = ("--images", "out", "--markdown", "out.md")
    ran = run("compare", *ALONE, house, "-m", "low.json", *beside)
    assert ran.code == 1
    assert "step from start-1: goal goal-1, required: reachable before, unreachable after" in ran.out
    assert "Lost: row 3, columns 5 to 7." in ran.out
    assert "reach: before: step from start-1: nothing found" in ran.err
    assert [path.name for path in (here / "out").iterdir()] == ["step.png"]
    with Image.open(here / "out" / "step.png") as image:
        assert image.width >= 940
    assert Path("out.md").read_text(encoding="utf-8").startswith("## House: ")
    picture = (here / "out" / "step.png").read_bytes()
    first = run("compare", "--jobs", "2", "--cache", "kept", house, "-m", "low.json", *beside, "--format", "json")
    again = run("compare", "--jobs", "1", "--cache", "kept", house, "-m", "low.json", *beside, "--format", "json")
    assert "2 checks taken from the cache" in again.err
    assert (first.code, first.out, (here / "out" / "step.png").read_bytes()) == (1, again.out, picture)
    assert str(here) not in first.out
    for name, movement in (("old.json", "stroller.json"), ("new.json", "low.json")):
        run("world", "--cache", "kept", house, "-m", movement, "--format", "json", "-o", name)
    saved = run("compare", "old.json", "new.json", "--format", "json")
    assert (saved.code, saved.out) == (1, first.out)
    back = run("compare", "new.json", house, "--cache", "kept")
    assert (back.code, back.out.splitlines()[0].split("  ")[0]) == (0, "nothing got worse")
    level = run("compare", "--cache", "kept", "step.json", "--movement-before", "stroller.json", "-m", "low.json")
    assert (level.code, "goal goal-1, required: reachable before" in level.out) == (1, True)


def test_the_world_that_is_set_is_compared_with_itself_by_another_movement(run, house, here):
    (here / ".git").mkdir()
    (here / "reach.toml").write_text('world = "house.json"\n', encoding="utf-8")
    ran = run("compare", *ALONE, "-m", "stroller.json")
    assert (ran.code, ran.out.splitlines()[0].split("  ")[0]) == (0, "nothing changed")
    row = next(line for line in run("settings").out.splitlines() if line.split()[:1] == ["world"])
    assert row.split()[3:] == ["compare,", "world"], row


def test_what_matters_less_does_not_fail_where_asked(run, house, here):
    (here / "wide.json").write_text(json.dumps(STEP | {"name": "Wide"}), encoding="utf-8")
    ran = run("compare", *ALONE, "step.json", "wide.json", "-m", "stroller.json")
    assert (ran.code, ran.out.splitlines()[0].split("  ")[0]) == (0, "nothing changed")
    assert "Edited, and compared tile by tile at the same column and row: wide." in ran.out


def test_an_edit_that_adds_a_trap_and_takes_nothing_is_drawn(run, house, here):
    rows = ["........", "........", "........", ".@.!....", "######.#", "######.#", "######.#", "########"]
    whole = [*rows[:4], "########", *rows[5:]]
    for name, data in (("old", whole), ("new", rows)):
        (here / name).mkdir()
        (here / name / "pit.json").write_text(json.dumps(LEVEL | {"rows": data}), encoding="utf-8")
    (here / "out").mkdir()
    ran = run("compare", *ALONE, "old", "new", "-m", "stroller.json", "--images", "out")
    assert (ran.code, "pit: error softlock on tile 6,7: new" in ran.out) == (1, True)
    assert [path.name for path in (here / "out").iterdir()] == ["pit.png"]
    back = run("compare", *ALONE, "old", "old", "-m", "stroller.json", "--images", "out")
    assert "left by an earlier run in out, and not drawn now: pit.png" in back.out


def test_a_movement_by_which_no_level_is_played_and_other_options_are_refused(run, house, here, checker):
    data = json.loads(Path(house).read_text(encoding="utf-8"))
    data["levels"][0]["movement"] = data.pop("movement")
    Path("own.json").write_text(json.dumps(data), encoding="utf-8")
    ran = run("compare", *ALONE, "own.json", "-m", "low.json")
    assert (ran.code, ran.out, checker.calls) == (2, "", [])
    assert "--movement, and own.json, where every level names a movement of its own" in ran.err
    run("world", *ALONE, house, "--format", "json", "-o", "old.json")
    ran = run("compare", *ALONE, "old.json", house, "--window-ms", "40")
    assert (ran.code, len(checker.calls)) == (2, 1)
    assert "window_threshold_ms 60.0 before and 40.0 after" in ran.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("house.json",), "BEFORE alone"),
        (("step.json", "-m", "low.json"), "--movement-before"),
        (("step.json", "step.json"), "the movement of both sides (--movement; --movement-before too"),
        (("step.json", "step.json", "--movement-before", "low.json"), "(--movement)"),
        (("-m", "low.json"), "BEFORE, or a world that is set for the project"),
        (("step.json", "house.json", "-m", "low.json"), "a level before and a world after"),
        (("low.json", "house.json"), 'the format "reach-movement/1"'),
        (("-", "house.json"), "standard input"),
        (("lost.json", "house.json"), "no such file"),
        (("house.json", "-m", "lost.json"), "lost.json"),
        (("house.json", "-m", "low.json", "-o", "low.json"), "another file of this command has the same name"),
    ],
)
def test_a_mistake_is_one_message_and_nothing_is_checked(run, house, checker, words, told):
    ran = run("compare", *ALONE, *words)
    assert (ran.code, ran.out, checker.calls) == (2, "", [])
    assert told in ran.err
    assert len(ran.err.splitlines()) == 1


def test_a_saved_report_has_nothing_to_draw_and_takes_no_movement(run, house):
    run("world", *ALONE, house, "--format", "json", "-o", "old.json")
    assert "--images with a saved report" in run("compare", "old.json", house, "--images", "out").err
    assert (
        "--movement-before with a saved report"
        in run("compare", "old.json", house, "--movement-before", "low.json").err
    )
    assert run("compare", "old.json", "-m", "low.json").code == 2
