"""`reach movement trace`: the table, where it goes, and mistakes."""

import pytest

from reach.script import save_script
from tests.cli.conftest import WALK


@pytest.fixture
def script(quay, here):
    save_script(WALK, here / "walk.json")
    return ["--script", "walk.json"]


def test_the_table_is_printed_or_written(run, script, here):
    ran = run("movement", "trace", "stroller.json", *script)
    assert (ran.code, ran.err) == (0, "")
    assert len(ran.out.splitlines()) == WALK.ticks + 2
    # At 250 px/s^2 and 50 ticks a second a tick gains 0.1 px a tick: 6554 subpixels, rounded.
    assert ran.out.splitlines()[2] == "1,0.100006103515625,0,0,1,0,0,0"
    assert run("movement", "trace", "stroller.json", *script, "-o", "walk.csv").out == ""
    assert (here / "walk.csv").read_text(encoding="utf-8") == ran.out


def test_in_a_level_positions_are_the_level_s(run, script):
    ran = run("movement", "trace", "stroller.json", *script, "--level", "quay.json")
    assert ran.out.splitlines()[1] == "0,19,44,0,0,0,0,0"


def test_a_script_for_another_movement_is_traced_with_a_warning(run, script, here):
    text = (here / "stroller.json").read_text(encoding="utf-8").replace("stroller", "rower")
    (here / "rower.json").write_text(text, encoding="utf-8")
    ran = run("movement", "trace", "rower.json", *script)
    assert ran.code == 0
    assert "warning: the script is for movement" in ran.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["stroller.json"], "--script"),
        (["stroller.json", "--script", "no.json"], "no.json"),
        (["stroller.json", "--script", "walk.json", "-o", "walk.json"], ".csv"),
        (["stroller.json", "--script", "walk.json", "--level", "no.json"], "no.json"),
        (["-", "--script", "-"], "standard input"),
    ],
)
def test_a_mistake_is_one_message(run, script, words, told):
    ran = run("movement", "trace", *words)
    assert (ran.code, ran.out) == (2, "")
    assert told in ran.err
