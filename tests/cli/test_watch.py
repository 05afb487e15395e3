"""`reach watch`: what it says at first and after every save, what it makes of a broken file, how it ends."""

import json
import re

import pytest

from reach.cli import watched_files
from reach.report.text_report import compose
from tests.cli.conftest import LEVEL, MOVEMENT, Clock
from tests.made_reports import SOFTLOCK, make_report

WALL = ["....#...", "....#...", "....#...", ".@..#.!.", "########"]


@pytest.fixture
def clock(monkeypatch):
    clock = Clock()
    monkeypatch.setattr(watched_files, "time", clock)
    return clock


@pytest.fixture
def save(here):
    def save_level(rows):
        (here / "quay.json").write_text(json.dumps(LEVEL | {"rows": rows}), encoding="utf-8")

    return save_level


def interrupt():
    raise KeyboardInterrupt


def test_every_save_is_answered_and_a_broken_file_is_not_the_end(run, quay, here, clock, save):
    pictures = []
    clock.then(
        lambda: (pictures.append((here / "quay.png").read_bytes()), save(WALL)),
        None,
        lambda: (pictures.append((here / "quay.png").read_bytes()), (here / "quay.json").write_text('{"format": ')),
        None,
        lambda: save([".......", "........"]),
        None,
        lambda: save(LEVEL["rows"]),
        None,
        lambda: (here / "stroller.json").write_text(json.dumps(MOVEMENT | {"name": "walker"})),
        None,
        interrupt,
    )
    ran = run("watch", *quay, "--image", "quay.png")
    assert ran.code == 130
    assert ran.out.startswith("OK  Quay, played as stroller from start\n")
    answers = re.findall(r"^(\S.*); (.*)\n((?:  .*\n)*)", ran.out, re.MULTILINE)
    assert [answer[:2] for answer in answers] == [
        ("1 error, 3 notes", "3 worse"),
        ("OK", "3 better"),
        ("OK", "nothing changed"),
    ]
    assert re.findall("^saved: .*", ran.out, re.MULTILINE) == [
        "saved: quay.json",
        "saved: quay.json",
        "saved: stroller.json",
    ]
    errors = [line for line in ran.err.splitlines() if not re.search("checked in|compiling", line)]
    assert errors[0] == "reach: watching quay.json and stroller.json; Ctrl-C ends it"
    assert [line.partition(": ")[2].partition(":")[0] for line in errors[1:4:2]] == ["quay.json", "quay.json"]
    assert errors[2:5:2] == ["reach: quay.png still shows the level as it was before"] * 2
    assert errors[5:] in ([], ["reach: interrupted"])
    assert len(set(pictures)) == 2


def test_the_first_answer_is_the_whole_report(run, quay, checker):
    ran = run("watch", *quay, "--checks", "1", "--from", "gate", "--window-ms", "80", "--time-limit", "5")
    assert (ran.code, ran.out) == (0, compose(checker.report).plain)
    _, _, options = checker.calls[0]
    assert (options.from_place, options.window_threshold_ms, options.time_limit_s) == ("gate", 80.0, 5.0)


def test_a_save_during_a_check_begins_another_on_what_was_saved(run, quay, checker, clock, save, monkeypatch):
    read = []

    def check(level, movement, options, tell, memory):
        read.append(level.material[0, 4])
        if len(read) == 1:
            save(WALL)
            clock.sleep(1)
        tell("exploring", None)
        return checker.report

    monkeypatch.setattr("reach.checker.check", check)
    assert run("watch", *quay, "--checks", "1").code == 0
    assert len(read) == 2
    assert read[0] != read[1]


def test_the_memory_outlives_a_check(run, quay, checker, clock, save, monkeypatch):
    memories = []
    reports = [checker.report, make_report(findings=(SOFTLOCK,)), checker.report]

    def check(level, movement, options, tell, memory):
        memories.append(memory)
        return reports[len(memories) - 1]

    monkeypatch.setattr("reach.checker.check", check)
    clock.then(lambda: save(WALL), None, lambda: save(LEVEL["rows"]))
    ran = run("watch", *quay, "--checks", "3")
    assert ran.code == 0
    assert memories[0] is not None
    assert memories[0] is memories[1] is memories[2]
    assert "1 worse" in ran.out


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (["-", "-m", "stroller.json"], "<standard input>: found nothing that can be saved again"),
        (["none.json", "-m", "stroller.json"], "none.json: found no such file"),
        (["quay.json", "-m", "stroller.json", "--image", "quay.gif"], "must end in .png"),
        (["quay.json", "-m", "stroller.json", "--image", "none/quay.png"], "there is no folder"),
    ],
)
def test_what_cannot_be_watched_or_drawn_is_refused(run, quay, words, complaint):
    ran = run("watch", *words)
    assert (ran.code, ran.out) == (2, "")
    assert complaint in ran.err


def test_its_help_offers_no_standard_input(run):
    ran = run("watch", "--help")
    assert ran.code == 0
    assert "standard input" not in " ".join(ran.out.split())


def test_a_place_that_is_not_there_gives_its_message_and_the_watch_goes_on(run, quay, clock):
    clock.then(None, interrupt)
    ran = run("watch", *quay, "--from", "nowhere", "--image", "quay.png")
    assert ran.code == 130
    assert "nowhere" in ran.err
    assert "still shows" not in ran.err
