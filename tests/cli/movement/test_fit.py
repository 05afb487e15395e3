"""`reach movement fit`."""

import json

import pytest

from tests.made_recordings import Player, csv_of, random_profile


@pytest.fixture
def walk(tmp_path):
    motion = random_profile(0).motion
    take = Player(motion, "walk", 600).hold(10).hold(60, "r").rest().hold(60, "l").hold(60, "r").rest()
    file = tmp_path / "walk.csv"
    file.write_text(csv_of([take]), encoding="utf-8")
    return file


def test_what_was_walked_is_told_and_the_rest_is_named(run, walk):
    ran = run("movement", "fit", str(walk), "--tick-rate-hz", "60")
    assert ran.code == 0
    found, _, rest = ran.out.partition("Not determined")
    assert "ground.walk.top_speed" in found
    assert "jump.bands[0].launch_speed" in rest
    assert "every one as recorded" in rest


def test_json(run, walk):
    data = json.loads(run("movement", "fit", str(walk), "--format", "json").out)
    assert data["format"] == "reach-movement-fit/1"
    assert data["moves_off"] == []


def test_a_bad_rounding_is_refused(run, walk):
    ran = run("movement", "fit", str(walk), "--rounded-px", "-1")
    assert ran.code == 2
    assert "--rounded-px" in ran.err
