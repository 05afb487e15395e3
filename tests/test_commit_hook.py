"""README's hook in a repository: a commit with a planted mistake is refused, one without passes."""

import json
import os
import re
import subprocess
import sys

from tests.checkout import ROOT
from tests.cli.conftest import LEVEL, MOVEMENT

WALLED = LEVEL | {"rows": ["........", ".....###", ".....#!#", ".@...###", "########"]}


def command():
    """The command of the hook for the framework, without a parser of YAML: one key, one line."""
    text = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    return re.search(r"^  entry: (.+)$", text, re.MULTILINE)[1]


def readme():
    return (ROOT / "README.md").read_text(encoding="utf-8")


def test_a_commit_with_a_level_that_cannot_be_finished_is_refused(tmp_path):
    (hook,) = re.findall(r"^```console\n(#!/bin/sh\n.*?)^```$", readme(), re.MULTILINE | re.DOTALL)
    assert f"\nexec .venv/bin/{command()}\n" in hook
    game = tmp_path / "game"
    programs = game / ".venv" / "bin"
    programs.mkdir(parents=True)
    (programs / "reach").write_text(f'#!/bin/sh\nexec "{sys.executable}" -m reach "$@"\n')
    (programs / "reach").chmod(0o755)
    environment = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")} | {
        "PYTHONPATH": str(ROOT),
    }

    def git(*words):
        setup = ("-c", "user.name=Keeper", "-c", "user.email=keeper@example.org", "-c", "commit.gpgsign=false")
        ran = ["git", *setup, *words]
        return subprocess.run(ran, cwd=game, env=environment, capture_output=True, text=True, check=False)

    git("init", "-q")
    (game / ".gitignore").write_text(".venv\n")
    for name, data in (("quay.json", LEVEL), ("mole.json", LEVEL | {"name": "Mole"}), ("walker.json", MOVEMENT)):
        (game / name).write_text(json.dumps(data), encoding="utf-8")
    (game / "reach.toml").write_text('world = "."\nmovement = "walker.json"\njobs = 1\ncache = ".git/reach"\n')
    (game / ".git" / "hooks").mkdir(exist_ok=True)
    (game / ".git" / "hooks" / "pre-commit").write_text(hook)
    (game / ".git" / "hooks" / "pre-commit").chmod(0o755)
    git("add", "-A")
    first = git("commit", "-q", "-m", "levels")
    assert first.returncode == 0, first.stdout + first.stderr
    assert "reach: no commit yet: the whole world is checked\n" in first.stderr

    (game / "quay.json").write_text(json.dumps(WALLED), encoding="utf-8")
    refused = git("commit", "-q", "-a", "-m", "a wall")
    assert refused.returncode == 1
    told = refused.stdout + refused.stderr
    assert "unreachable-goal" in told and "1 level not checked" in told and "changed since HEAD: mole." in told
    (game / "quay.json").write_text(json.dumps(LEVEL | {"name": "Quay Wall"}), encoding="utf-8")
    passed = git("commit", "-q", "-a", "-m", "a name")
    assert passed.returncode == 0, passed.stdout + passed.stderr
    assert "nothing found, 1 level not checked" in passed.stdout + passed.stderr


def test_the_hook_for_the_framework_is_told_in_readme():
    text = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    hook = re.search(r"^- id: (.+)$", text, re.MULTILINE)[1]
    assert f"- id: {hook}\n" in readme()
    assert "\n  language: python\n" in text and "\n  pass_filenames: false\n" in text
