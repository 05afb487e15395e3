"""A clean copy of the checkout: what is under version control or would be, and none of its products."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[1]
PRODUCTS = {".venv", "__pycache__", ".hypothesis", ".mypy_cache", ".pytest_cache", ".ruff_cache", "dist"}


def tracked_files() -> list[str]:
    """Return the files of the checkout, as paths from its root: those that git would take, or all but products."""
    if (ROOT / ".git").exists():
        ran = subprocess.run(
            ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
        )
        return sorted(name for name in ran.stdout.split("\0") if name and (ROOT / name).exists())
    files = (path.relative_to(ROOT) for path in ROOT.rglob("*") if path.is_file())
    return sorted(file.as_posix() for file in files if not PRODUCTS & set(file.parts))


def copy_checkout(target: Path) -> Path:
    """Copy the checkout's files to `target`, which must not exist yet, and return it."""
    for name in tracked_files():
        file = target / name
        file.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, file)
    return target
