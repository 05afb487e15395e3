"""`reach movement fit`: what is told, what is written, and mistakes."""

import json
from fractions import Fraction

import pytest

from reach.movement import load_movement
from tests.checkout import ROOT
from tests.made_recordings import Player, csv_of, lamplighter_walk, random_profile

SAMPLE = str(ROOT / "sample_levels/recordings/lamplighter_walk.csv")
LAMPLIGHTER = str(ROOT / "sample_levels/movement/lamplighter.json")


@pytest.fixture
def walk(here):
    take = (
        Player(random_profile(0).motion, "walk", 600).hold(10).hold(60, "r").rest().hold(60, "l").hold(60, "r").rest()
    )
    (here / "walk.csv").write_text(csv_of([take]), encoding="utf-8")
    return "walk.csv"


def test_what_was_walked_is_told_and_the_rest_is_named(run, walk):
    ran = run("movement", "fit", walk, "--tick-rate-hz", "60")
    assert (ran.code, [line for line in ran.err.splitlines() if "compiling" not in line]) == (0, [])
    found, _, rest = ran.out.partition("Not determined")
    assert "ground.walk.top_speed" in found
    assert "px/s, at" not in found
    assert "jump.bands[0].launch_speed" in rest
    assert "every one as recorded" in rest
    assert run("movement", "fit", walk, "--tick-rate-hz", "60").out == ran.out


@pytest.mark.parametrize("rounded_px", [None, Fraction(1)])
@pytest.mark.parametrize(("column", "why"), [("jump", "jump was not down"), ("left_out", "has no column jump")])
def test_a_rise_without_a_press_is_named_as_that(run, here, rounded_px, column, why):
    take = Player(random_profile(0).motion, "hops", 600).hold(30)
    for _ in range(3):
        take.hold(20, "r").hold(20, "rj").land("r").rest().hold(30)
    rows = [line.split(",") for line in csv_of([take], rounded_px).splitlines()]
    end = len(rows[0]) - (column == "left_out")
    text = "".join(
        ",".join([*row[: end - 1], row[end - 1] if column != "jump" or not n else "0"][:end]) + "\n"
        for n, row in enumerate(rows)
    )
    (here / "hops.csv").write_text(text, encoding="utf-8")
    ran = run("movement", "fit", "hops.csv")
    assert ran.code == 0
    told = " ".join(ran.out.split())
    assert "rise without a press 3" in told
    assert why in told
    assert "rise from spring" not in told


def test_without_a_tick_rate_numbers_count_per_tick(run, walk):
    assert "no tick rate is known" in run("movement", "fit", walk).out


def test_json_tells_the_ticks(run, walk):
    data = json.loads(run("movement", "fit", walk, "--format", "json").out)
    assert data["format"] == "reach-movement-fit/1"
    assert data["moves_off"] == []
    assert all(each["ticks"] for each in data["estimates"])
    assert {"value", "why", "take"} == set(data["not_determined"][0])


def test_a_profile_is_not_written_from_what_is_not_there(run, walk, here):
    ran = run("movement", "fit", walk, "-o", "out.json")
    assert ran.code == 2
    assert "jump.bands[0].launch_speed" in ran.err
    assert "--start" in ran.err
    assert "body" in ran.err
    assert not (here / "out.json").exists()


def test_a_start_fills_in_and_that_is_said(run, walk, here):
    ran = run("movement", "fit", walk, "--start", LAMPLIGHTER, "-o", "out.json")
    assert ran.code == 0
    assert "from --start, not from the recording:" in ran.out
    written, start = load_movement(here / "out.json").motion, load_movement(LAMPLIGHTER).motion
    assert (written.jump_launch == start.jump_launch).all()
    assert written.walk_cap == random_profile(0).motion.walk_cap


def test_the_sample_is_what_the_simulator_plays(here):
    from pathlib import Path

    made = csv_of(lamplighter_walk(load_movement(LAMPLIGHTER).motion), Fraction(1))
    assert Path(SAMPLE).read_text(encoding="utf-8") == made


def test_a_picture_is_drawn(run, here):
    ran = run("movement", "fit", SAMPLE, "--start", LAMPLIGHTER, "--image", "off.png")
    assert ran.code == 0
    assert "where rounding allows 0.5 px" in ran.out
    from PIL import Image

    with Image.open(here / "off.png") as image:
        assert image.size == (1100, 620)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--rounded-px", "-1"], "--rounded-px"),
        (["--rounded-px", "65"], "from 0 to 64"),
        (["--body-px", "11"], "--body-px"),
        (["--body-px", "0x5"], "--body-px"),
        (["-o", "out.txt"], "must end in .json"),
        (["--image", "out.gif"], "must end in .png"),
        (["--start", "stroller.json", "--tick-rate-hz", "60"], "--tick-rate-hz: found 60"),
    ],
)
def test_mistakes(run, walk, quay, words, said):
    ran = run("movement", "fit", walk, *words)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
