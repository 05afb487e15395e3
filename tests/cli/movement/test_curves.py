"""`reach movement curves`: a picture, numbers, or both."""

import json

import pytest


def test_a_picture_and_nothing_printed(run, quay, here):
    ran = run("movement", "curves", "stroller.json", "-o", "curves.png")
    assert (ran.code, ran.out) == (0, "")
    assert (here / "curves.png").read_bytes().startswith(b"\x89PNG")


def test_numbers_without_a_picture(run, quay):
    ran = run("movement", "curves", "stroller.json")
    assert ran.code == 0
    assert ran.out.startswith("profile,figure,")
    assert run("movement", "curves", "stroller.json", "--format", "csv").out == ran.out
    assert (
        json.loads(run("movement", "curves", "stroller.json", "--format", "json").out)["profiles"][0]["name"]
        == "stroller"
    )


def test_a_picture_and_numbers(run, quay, here):
    ran = run("movement", "curves", "stroller.json", "stroller.json", "-o", "two.png", "--format", "json")
    assert ran.code == 0
    assert len(json.loads(ran.out)) == 2
    assert (here / "two.png").exists()


@pytest.mark.parametrize("ending", ["csv", "json"])
def test_numbers_in_a_file(run, quay, here, ending):
    ran = run("movement", "curves", "stroller.json", "-o", f"curves.{ending}", "--tile-px", "20")
    assert (ran.code, ran.out) == (0, "")
    printed = run("movement", "curves", "stroller.json", "--format", ending, "--tile-px", "20").out
    assert (here / f"curves.{ending}").read_text(encoding="utf-8") == printed


def test_what_is_left_out_is_said(run, quay, here):
    slow = json.loads((here / "stroller.json").read_text(encoding="utf-8"))
    slow["ground"]["walk"]["acceleration"] = 0.001
    (here / "slow.json").write_text(json.dumps(slow), encoding="utf-8")
    ran = run("movement", "curves", "slow.json", "-o", "slow.png")
    assert ran.code == 0
    assert "reach: stroller: the phase 'walk' takes more than 20 s" in ran.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["missing.json", "-o", "a.png"], "missing.json"),
        (["stroller.json", "-o", "a.gif"], ".png"),
        (["stroller.json", "-o", "no/a.png"], "no folder"),
        (["stroller.json", "-o", "stroller.json"], "same name"),
        (["-", "-", "-o", "a.png"], "standard input"),
        (["stroller.json", "--tile-px", "0"], "--tile-px"),
        ([], "MOVEMENT"),
    ],
)
def test_a_mistake_is_one_message_and_nothing_is_written(run, quay, here, words, told):
    before = sorted(path.name for path in here.iterdir())
    ran = run("movement", "curves", *words)
    assert (ran.code, ran.out) == (2, "")
    assert told in ran.err
    assert sorted(path.name for path in here.iterdir()) == before
