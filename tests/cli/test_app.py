"""The command line as a whole: help, version, and what it does not import."""

import subprocess
import sys
from pathlib import Path

import pytest

import reach

ROOT = Path(__file__).parents[2]
COMMANDS = ["check", "convert", "draw", "explain", "prove", "replay", "settings"]
HEAVY = {"numba", "numpy", "networkx", "PIL", "jsonschema", "reach.kernels", "reach.checker"}


def test_help_names_every_command_and_the_exit_codes(run):
    ran = run("--help")
    assert (ran.code, ran.err) == (0, "")
    for command in COMMANDS:
        assert f"\n  {command} " in ran.out
        assert (ROOT / "reach" / "cli" / f"{command}.py").exists()
    assert "..." not in ran.out.partition("Commands:")[2], "a summary was cut"
    assert "Exit codes" in ran.out


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help(run, command):
    ran = run(command, "--help")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(f"Usage: reach {command}")


def test_version(run):
    ran = run("--version")
    assert (ran.code, ran.out) == (0, f"reach {reach.__version__}\n")


def test_no_command_shows_the_help_as_a_mistake(run):
    ran = run()
    assert (ran.code, ran.out) == (2, "")
    assert "Commands:" in ran.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["chekc"], "'check'"),
        (["check"], "LEVEL"),
        (["check", "quay.json"], "--movement"),
        (["check", "quay.json", "-m", "a.json", "--fail-on", "never"], "'error', 'warning', 'note'"),
        (["check", "quay.json", "-m", "a.json", "--time-limit", "soon"], "--time-limit"),
        (["check", "quay.json", "-m", "a.json", "--no-such-option"], "--no-such-option"),
        (["check", "quay.json", "more.json", "-m", "a.json"], "more.json"),
    ],
)
def test_wrong_arguments_are_one_plain_line(run, words, told):
    ran = run(*words)
    assert (ran.code, ran.out) == (2, "")
    assert len(ran.err.splitlines()) == 1
    assert ran.err.startswith("reach: ")
    assert told in ran.err
    assert "--help" in ran.err
    assert "Value error" not in ran.err


def test_help_needs_no_heavy_imports():
    code = (
        "import sys\nfrom reach.__main__ import main\nassert main(['check', '--help']) == 0\n"
        f"print('loaded:', sorted(set({sorted(HEAVY)!r}) & set(sys.modules)))"
    )
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert ran.stdout.endswith("loaded: []\n")


def test_shell_completion_comes_with_it():
    environment = {"_REACH_COMPLETE": "complete_bash", "COMP_WORDS": "reach ch", "COMP_CWORD": "1", "PATH": ""}
    ran = subprocess.run(
        [sys.executable, "-m", "reach"], cwd=ROOT, capture_output=True, text=True, env=environment, check=False
    )
    assert ran.stdout.split() == ["check"]
