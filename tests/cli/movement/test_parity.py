"""`reach movement parity`: exit codes, formats, and mistakes."""

import json

import pytest

from reach.script import save_script
from tests.cli.conftest import WALK


@pytest.fixture
def recording(run, quay, here):
    """A recording of the stroller's own walk."""
    save_script(WALK, here / "walk.json")
    run("movement", "trace", "stroller.json", "--script", "walk.json", "-o", "walk.csv")
    return "walk.csv"


def test_a_trace_agrees_with_its_own_profile(run, recording):
    ran = run("movement", "parity", "stroller.json", recording)
    assert (ran.code, ran.err) == (0, "")
    assert "no difference" in ran.out


def test_another_profile_differs_and_the_reason_is_found(run, recording, here):
    text = (here / "stroller.json").read_text(encoding="utf-8")
    (here / "slower.json").write_text(text.replace('"acceleration": 250', '"acceleration": 240'), encoding="utf-8")
    ran = run("movement", "parity", "slower.json", recording)
    assert ran.code == 1
    assert "first differs in tick 1 (line 3)" in ran.out
    assert "the walk's acceleration is 4.17 % higher" in ran.out
    told = run("movement", "parity", "slower.json", recording, "--format", "json", "-o", "parity.json")
    assert (told.code, told.out) == (1, "")
    assert json.loads((here / "parity.json").read_text(encoding="utf-8"))["agrees"] is False
    assert run("movement", "parity", "slower.json", recording, "--tolerance-px", "30").code == 0


def test_y_up_and_a_level(run, recording, here):
    script = ["--script", "walk.json"]
    table = run("movement", "trace", "stroller.json", *script, "--level", "quay.json").out.splitlines()
    rows = [line.split(",") for line in table]
    up = [",".join(rows[0]), *(",".join([row[0], row[1], "-" + row[2], *row[3:]]) for row in rows[1:])]
    (here / "up.csv").write_text("\n".join(up), encoding="utf-8")
    words = ["movement", "parity", "stroller.json", "up.csv", "--level", "quay.json"]
    assert run(*words, "--y-axis", "up").code == 0
    assert run(*words, "--y-axis", "up", "--from", "nowhere").code == 2


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["stroller.json"], "RECORDING"),
        (["stroller.json", "no.csv"], "no.csv"),
        (["no.json", "walk.csv"], "no.json"),
        (["stroller.json", "walk.json"], "walk.json"),
        (["stroller.json", "walk.csv", "--tolerance-px", "-1"], "--tolerance-px"),
        (["stroller.json", "walk.csv", "--tolerance-px", "nan"], "--tolerance-px"),
        (["stroller.json", "walk.csv", "--rounded-px", "half"], "--rounded-px"),
        (["stroller.json", "walk.csv", "-o", "walk.csv"], "same name"),
        (["-", "-"], "standard input"),
    ],
)
def test_a_mistake_is_one_message(run, recording, words, told):
    ran = run("movement", "parity", *words)
    assert (ran.code, ran.out) == (2, "")
    assert told in ran.err
