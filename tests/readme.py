"""The commands that README shows, so that they are run as written. `python tests/readme.py tests` prints the tests'.

A block of shell commands may be preceded by a comment that says how its last command exits, `<!-- exits with 1 -->`,
and is followed, if it differs on Windows, by the same commands for PowerShell.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from pathlib import Path

README = Path(__file__).parents[1] / "README.md"
_BLOCK = re.compile(
    r"(?:^<!-- exits with (?P<exit>\d+) -->\n)?^```sh\n(?P<shell>.*?)^```$(?:(?P<between>(?:(?!```).)*?)"
    r"^```powershell\n(?P<powershell>.*?)^```$)?",
    re.MULTILINE | re.DOTALL,
)


@dataclass(frozen=True)
class Block:
    """One block of commands: for a POSIX shell, for PowerShell ("" if they are not shown), and its exit code."""

    shell: str
    powershell: str
    exit_code: int

    @property
    def runs_the_tests(self) -> bool:
        """Tell whether this is the command that runs the tests."""
        return "pytest" in self.shell


def blocks() -> list[Block]:
    """Return README's blocks of commands, in their order."""
    found = _BLOCK.finditer(README.read_text(encoding="utf-8"))
    return [Block(each["shell"], each["powershell"] or "", int(each["exit"] or 0)) for each in found]


def test_command() -> str:
    """Return the commands that run the tests; there is one block of them."""
    (block,) = [each for each in blocks() if each.runs_the_tests]
    return block.shell


if __name__ == "__main__":
    if sys.argv[1:] != ["tests"]:
        sys.exit("usage: python tests/readme.py tests")
    print(test_command(), end="")
