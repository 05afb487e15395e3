"""What git knows to be unchanged, in repositories made for it; everything else may have changed."""

import os
import subprocess

import pytest

from reach.errors import InputError
from reach.world.git_changes import unchanged_since


def git(folder, *words):
    own = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    setup = ("-c", "user.name=Keeper", "-c", "user.email=keeper@example.org", "-c", "commit.gpgsign=false")
    subprocess.run(["git", *setup, *words], cwd=folder, env=own, check=True, capture_output=True)


@pytest.fixture
def repository(tmp_path, monkeypatch):
    """A repository with one commit, in whose folder the test runs."""
    folder = tmp_path / "island game"
    (folder / "levels").mkdir(parents=True)
    for name in ("dock.json", "Mole Sud.json", "jetée.json", "pier.json", "wall.json"):
        (folder / "levels" / name).write_text("1\n", encoding="utf-8")
    (folder / ".gitignore").write_text("*.tmp\n")
    git(tmp_path, "init", "-q", str(folder))
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "levels")
    monkeypatch.chdir(folder)
    return folder


def test_committed_staged_unstaged_and_untracked_files_have_changed_and_the_others_have_not(repository):
    levels = repository / "levels"
    (levels / "dock.json").write_text("2\n")
    git(repository, "commit", "-q", "-a", "-m", "dock")
    (levels / "Mole Sud.json").write_text("2\n")
    git(repository, "add", "-A")
    (levels / "Mole Sud.json").write_text("1\n")  # put back, but still staged
    (levels / "jetée.json").write_text("2\n", encoding="utf-8")
    (levels / "new.json").write_text("1\n")
    (levels / "ignored.tmp").write_text("1\n")
    git(repository, "mv", "levels/wall.json", "levels/tower.json")
    unchanged = unchanged_since("HEAD~1", levels)
    names = [path.name for path in sorted(levels.iterdir()) if f"levels/{path.name}" in unchanged]
    assert names == ["pier.json"]
    assert "levels/wall.json" not in unchanged, "it is gone"
    assert "levels/../levels/pier.json" in unchanged
    assert "levels/dock.json" in unchanged_since("HEAD", levels)
    assert "../elsewhere.json" not in unchanged and "levels" not in unchanged


def test_a_file_that_git_was_told_not_to_look_at_may_have_changed(repository):
    git(repository, "update-index", "--assume-unchanged", "levels/dock.json")
    git(repository, "update-index", "--skip-worktree", "levels/pier.json")
    unchanged = unchanged_since("HEAD", repository)
    assert "levels/dock.json" not in unchanged and "levels/pier.json" not in unchanged
    assert "levels/wall.json" in unchanged


def test_a_monitor_or_a_setting_that_hides_a_change_is_not_believed(repository):
    pier = repository / "levels" / "pier.json"
    os.utime(pier, (1, 1))
    git(repository, "add", "-A", "--renormalize")
    git(repository, "config", "core.trustctime", "false")
    git(repository, "config", "core.checkStat", "minimal")
    git(repository, "status")
    other = repository / "other.tmp"
    other.write_text("2\n")
    os.utime(other, (1, 1))
    other.replace(pier)
    assert "levels/pier.json" not in unchanged_since("HEAD", repository)
    monitor = repository.parent / "monitor"  # a path without a space, for the shell
    monitor.write_text("#!/bin/sh\nprintf 'token\\0'\n")
    monitor.chmod(0o755)
    git(repository, "config", "core.fsmonitor", str(monitor))
    git(repository, "config", "core.fsmonitorHookVersion", "2")
    git(repository, "update-index", "--fsmonitor")
    git(repository, "status")
    git(repository, "status")  # marks what the monitor did not name
    (repository / "levels" / "dock.json").write_text("2\n")
    unchanged = unchanged_since("HEAD", repository)
    assert "levels/dock.json" not in unchanged and "levels/wall.json" in unchanged


def test_links_on_the_way_have_to_be_unchanged_too(repository):
    try:
        (repository / "first.json").symlink_to("levels/dock.json")
        (repository / "inner").symlink_to("levels", target_is_directory=True)
        (repository / "round").symlink_to("round")
    except OSError:
        pytest.skip("this system makes no symbolic links")
    assert "first.json" not in unchanged_since("HEAD", repository)
    git(repository, "add", "-A")
    git(repository, "commit", "-q", "-m", "links")
    unchanged = unchanged_since("HEAD", repository)
    assert "first.json" in unchanged and "inner/dock.json" in unchanged and "inner/../levels/dock.json" in unchanged
    assert "round" not in unchanged
    (repository / "levels" / "dock.json").write_text("2\n")
    unchanged = unchanged_since("HEAD", repository)
    assert "first.json" not in unchanged and "inner/dock.json" not in unchanged and "inner/pier.json" in unchanged
    (repository / "inner").unlink()
    (repository / "inner").symlink_to("./levels", target_is_directory=True)
    assert "inner/pier.json" not in unchanged_since("HEAD", repository)


def test_what_git_tells_a_hook_does_not_lead_astray(repository, monkeypatch):
    monkeypatch.setenv("GIT_INDEX_FILE", "nowhere/index")
    monkeypatch.setenv("GIT_DIR", ".git")
    assert "levels/dock.json" in unchanged_since("HEAD", repository / "levels")


@pytest.mark.parametrize("revision", ["nope", "-p", "--all", "", "HEAD:levels", "HEAD~9", "a\0b", "HEAD\n"])
def test_an_unknown_revision_is_refused(repository, revision):
    with pytest.raises(InputError) as error:
        unchanged_since(revision, repository)
    assert str(error.value).startswith("<arguments>: --changed-since: found ")
    assert "which git knows no commit by; allowed: a commit that this clone has" in str(error.value)


def test_before_the_first_commit_nothing_is_known_to_be_unchanged(repository):
    git(repository, "checkout", "-q", "--orphan", "new")
    assert unchanged_since("HEAD", repository) is None
    for revision in ("HEAD~1", "new", "head"):
        with pytest.raises(InputError, match="which git knows no commit by"):
            unchanged_since(revision, repository)


def test_a_folder_in_no_repository_and_a_missing_git_are_told(tmp_path, repository, monkeypatch):
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    with pytest.raises(InputError, match="not a git repository"):
        unchanged_since("HEAD", tmp_path)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(InputError, match="no program 'git' that can be run; allowed: git, installed and in PATH"):
        unchanged_since("HEAD", repository)
