"""From what happened to an exit code: every way a run can end."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from reach.__main__ import main
from reach.errors import InputError, OutputError, Problem

ROOT = Path(__file__).parents[1]
QUIET = {**os.environ, "PYTHONUNBUFFERED": ""}


@pytest.fixture
def failing(monkeypatch):
    """Let `reach explain` raise this."""

    def set_error(error):
        def fail():
            raise error

        monkeypatch.setattr("reach.rules.registry.all_rules", fail)
        monkeypatch.delenv("REACH_DEBUG", raising=False)

    return set_error


def test_each_problem_of_the_user_is_one_line(failing, capsys):
    failing(InputError([Problem("a.json", "$.rows", "a", "b"), Problem("a.json", "$.name", "c", "d")]))
    assert main(["explain"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.splitlines() == [
        "reach: a.json: $.rows: found a; allowed: b",
        "reach: a.json: $.name: found c; allowed: d",
    ]


def test_an_output_that_fails_is_one_line(failing, capsys):
    failing(OutputError("map.png", "no space left on device"))
    assert main(["explain"]) == 2
    assert capsys.readouterr().err == "reach: map.png: cannot be written: no space left on device\n"


def test_memory_that_runs_out_is_one_line_that_says_what_to_do(failing, capsys):
    failing(MemoryError())
    assert main(["explain"]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and len(captured.err.splitlines()) == 1
    assert "out of memory" in captured.err and "--memory-limit" in captured.err and "smaller" in captured.err


def test_a_fault_of_our_own_is_one_line_with_type_message_and_place(failing, capsys):
    failing(ZeroDivisionError("division\nby zero"))
    assert main(["explain"]) == 70
    captured = capsys.readouterr()
    assert captured.out == ""
    assert len(captured.err.splitlines()) == 1
    assert "internal error: ZeroDivisionError: division by zero at " in captured.err
    assert " at reach/cli/rule_pages.py, line " in captured.err
    assert str(ROOT) not in captured.err
    assert "Traceback" not in captured.err


def test_the_trace_is_shown_to_those_who_ask(failing, capsys, monkeypatch):
    failing(ZeroDivisionError("oh"))
    monkeypatch.setenv("REACH_DEBUG", "1")
    assert main(["explain"]) == 70
    assert "Traceback (most recent call last)" in capsys.readouterr().err


def test_an_interrupt_is_130(failing, capsys):
    failing(KeyboardInterrupt())
    assert main(["explain"]) == 130
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--help"], ["explain"]])
@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such pipes")
def test_a_reader_that_leaves_early_ends_it_quietly(words):
    reader, writer = os.pipe()
    os.close(reader)
    ran = subprocess.run(
        [sys.executable, "-m", "reach", *words], cwd=ROOT, stdout=writer, stderr=subprocess.PIPE, text=True, check=False
    )
    os.close(writer)
    assert (ran.returncode, ran.stderr) == (141, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize("words", [["--help"], ["explain"]])
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_full_disk_behind_standard_output_is_told(words, unbuffered):
    with Path("/dev/full").open("w") as full:
        ran = subprocess.run(
            [sys.executable, "-m", "reach", *words],
            cwd=ROOT,
            env={**os.environ, "PYTHONUNBUFFERED": unbuffered},
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert ran.returncode == 2
    assert len(ran.stderr.splitlines()) == 1
    assert "standard output: cannot be written" in ran.stderr


def test_a_stream_without_the_letters_gets_escapes():
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "NO_COLOR": "1"}
    code = "from reach.__main__ import main; from reach.cli import streams; main(['--version']); streams.say('灯')"
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, env=environment, check=False
    )
    assert (ran.returncode, ran.stderr) == (0, "reach: \\u706f\n")
