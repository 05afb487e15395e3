"""Which files git knows to be as they were at an earlier commit.

Nothing is taken for unchanged that git does not know to be: a file that it does not track, ignores, was told not to
look at, or that lies outside the working tree, may have changed. git itself is asked (the program `git`); what it is
asked and how it answers is in its manual: git-rev-parse(1), git-ls-files(1), git-diff(1).
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from reach.errors import InputError, Problem
from reach.json_text import shown

HEAD = "HEAD"
"""What git calls the last commit of what is checked out (gitrevisions(7))."""
MOST_SYMLINKS = 40
"""So many symbolic links are followed on the way to a file."""

_OF_A_HOOK = ("GIT_COMMON_DIR", "GIT_DIR", "GIT_INDEX_FILE", "GIT_PREFIX", "GIT_WORK_TREE")
"""What git tells hooks about its own run; paths in it need not lead anywhere from the world's folder."""
_LOOKING = ("core.fsmonitor=false", "core.trustctime=true", "core.checkStat=default")
"""Settings under which git itself looks at every file, and at all that tells whether it was written to."""
_TRACKED = "H"
"""The tag of a file that is tracked, and that git was not told to pass by."""


@dataclass(frozen=True)
class Unchanged:
    """The files of a working tree that are as they were. `top` is its folder, resolved, `names` lead from there."""

    top: Path
    names: Collection[str]

    def __contains__(self, file: object) -> bool:
        """Tell whether a file is known to be unchanged, and every symbolic link in the working tree on the way to it.

        Whether or not it exists, `file` is a path from the working folder.
        """
        waiting = [*reversed((Path.cwd() / str(file)).parts)]
        here, links, inside = Path(waiting.pop()), 0, False
        while waiting:
            part = waiting.pop()
            if part == "..":
                here = here.parent
                continue
            inside = inside or here.is_relative_to(self.top)
            step = here / part
            if not step.is_symlink():
                here = step
                continue
            links += 1
            if links > MOST_SYMLINKS or (inside and not self._knows(step)):
                return False
            target = step.readlink()
            waiting += [*reversed(target.parts)]
            if target.is_absolute():
                here = Path(waiting.pop())
        return self._knows(here)

    def _knows(self, path: Path) -> bool:
        return path.is_relative_to(self.top) and path.relative_to(self.top).as_posix() in self.names


def unchanged_since(revision: str, folder: Path) -> Unchanged | None:
    """Return the files that are the same at a commit, in git's index and in the working tree.

    For `HEAD` where nothing was committed yet, None: there is nothing that could be unchanged.

    Parameters
    ----------
    revision : str
        What git takes for a commit: a branch, a tag, `HEAD~1`, a hash.
    folder : Path
        A folder in the working tree.

    Raises
    ------
    InputError
        If git is not installed, the folder is in no working tree, or there is no such commit.
    """
    top_line = _git(folder, "rev-parse", "--show-toplevel")
    if isinstance(top_line, str):
        allowed = "a world in the working tree of a git repository"
        raise _refused(f"a world in {shown(folder.as_posix())}, of which git says {shown(top_line)}", allowed)
    top = Path(os.fsdecode(top_line.removesuffix(b"\n"))).resolve()
    allowed = "a commit that this clone has, such as HEAD, HEAD~1 or a branch; a shallow clone lacks older ones"
    # A word that begins with a hyphen would be an option of git's.
    commit = "" if revision.startswith("-") else _git(top, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}")
    if isinstance(commit, str):
        if revision == HEAD and _is_unborn(top):
            return None
        raise _refused(f"{shown(revision)}, which git knows no commit by", allowed)
    compare = ("diff", "--name-only", "-z", "--no-renames", "--no-ext-diff", "--no-relative", "--ignore-submodules=all")
    then = os.fsdecode(commit.strip())
    answers = [
        _git(top, *words)
        for words in (("ls-files", "-v", "-z"), (*compare, then, "--"), (*compare, "--cached", then, "--"))
    ]
    listed, *changed = (_names(answer) for answer in answers)
    tracked = {name[2:] for name in listed if name[:1] == _TRACKED}
    return Unchanged(top, tracked.difference(*changed))


def _is_unborn(top: Path) -> bool:
    """Tell whether the branch that is checked out has no commit yet."""
    branch, commit = _git(top, "symbolic-ref", "--quiet", HEAD), _git(top, "rev-parse", "--verify", "--quiet", HEAD)
    return not isinstance(branch, str) and isinstance(commit, str)


def _names(answer: bytes | str) -> list[str]:
    if isinstance(answer, str):
        raise _refused(f"a repository of which git says {shown(answer)}", "one that git can compare")
    return [os.fsdecode(name) for name in answer.split(b"\0") if name]


def _git(folder: Path, *words: str) -> bytes | str:
    """What git prints, or, where it fails, the first line of why."""
    environment = {name: value for name, value in os.environ.items() if name not in _OF_A_HOOK}
    environment |= {"GIT_OPTIONAL_LOCKS": "0", "LC_ALL": "C"}
    try:
        ran = subprocess.run(
            ["git", "-C", str(folder), *(word for each in _LOOKING for word in ("-c", each)), *words],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            env=environment,
            check=False,
        )
    except (OSError, ValueError):
        if "\0" in "".join(words):
            return "no such name"
        raise _refused("no program 'git' that can be run", "git, installed and in PATH") from None
    if ran.returncode == 0:
        return ran.stdout
    return (ran.stderr.decode(errors="replace").splitlines() or ["nothing"])[0]


def _refused(found: str, allowed: str) -> InputError:
    return InputError([Problem("<arguments>", "--changed-since", found, allowed)])
