"""`reach movement parity`: exit codes, formats, and mistakes."""

import json

import pytest

from reach.script import Script, Step, save_script
from tests.cli.conftest import WALK

SAID = (
    "right: taken as never pressed, although it goes right",
    "jump: taken as never pressed, although it rises",
)


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
    assert json.loads((here / "parity.json").read_text(encoding="utf-8"))["agreement"] == "differs"
    assert run("movement", "parity", "slower.json", recording, "--tolerance-px", "30").code == 0


def test_a_missing_tick_hides_no_difference(run, recording, here):
    lines = (here / recording).read_text(encoding="utf-8").splitlines()
    gap = lines[:8] + lines[9:]
    (here / "gap.csv").write_text("\n".join(gap), encoding="utf-8")
    ran = run("movement", "parity", "stroller.json", "gap.csv")
    assert ran.code == 0
    assert "1 missing tick" in ran.out
    last = gap[-1].split(",")
    (here / "off.csv").write_text("\n".join([*gap[:-1], ",".join([last[0], "900", *last[2:]])]), encoding="utf-8")
    ran = run("movement", "parity", "stroller.json", "off.csv")
    assert ran.code == 1
    assert "no difference" not in ran.out
    long = lines[:4] + ["90" + line for line in lines[4:7]]
    (here / "long.csv").write_text("\n".join(long), encoding="utf-8")
    ran = run("movement", "parity", "stroller.json", "long.csv")
    assert ran.code == 3
    assert "undecided: no difference in the 3 of 6 rows" in ran.out


def test_y_that_grows_the_other_way_is_hinted_at(run, quay, here):
    save_script(Script("Quay", "stroller", "start-1", (Step(3, ()), Step(20, ("jump",)))), here / "hop.json")
    run("movement", "trace", "stroller.json", "--script", "hop.json", "-o", "hop.csv")
    rows = [line.split(",") for line in (here / "hop.csv").read_text(encoding="utf-8").splitlines()]
    up = [",".join(rows[0]), *(",".join([*row[:2], f"{-float(row[2])}", *row[3:]]) for row in rows[1:])]
    (here / "up.csv").write_text("\n".join(up), encoding="utf-8")
    ran = run("movement", "parity", "stroller.json", "up.csv")
    assert ran.code == 1
    assert "try the other --y-axis" in ran.out
    assert "explain" not in ran.out


def test_a_button_without_a_column_is_told(run, recording, here):
    text = "tick,x_px,y_px,right\n" + "".join(f"{tick},0,{-max(0, tick - 3)},0\n" for tick in range(9))
    (here / "hop.csv").write_text(text, encoding="utf-8")
    ran = run("movement", "fit", "hop.csv")
    assert "no column jump: taken as never pressed, although it rises" in ran.err
    (here / "hop.csv").write_text(text.replace("right", "left").replace("\n8,0", "\n8,9"), encoding="utf-8")
    ran = run("movement", "parity", "stroller.json", "hop.csv", "--tolerance-px", "9")
    assert ran.err == "".join(f"reach: hop.csv: no column {each}\n" for each in SAID)


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
        (["stroller.json", "walk.csv", "--tick-rate-hz", "60"], "--tick-rate-hz: found 60"),
        (["-", "-"], "standard input"),
    ],
)
def test_a_mistake_is_one_message(run, recording, words, told):
    ran = run("movement", "parity", *words)
    assert (ran.code, ran.out) == (2, "")
    assert told in ran.err
