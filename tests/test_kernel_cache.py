"""Where compiled kernels are kept: the key, the folders, and what really happens in new processes."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from reach import kernel_cache

ROOT = Path(kernel_cache.__file__).parents[1]


# --- the key ---


@pytest.fixture
def sources(tmp_path: Path) -> Path:
    folder = tmp_path / "kernels"
    (folder / "more").mkdir(parents=True)
    (folder / "a.py").write_text("x = 1\n")
    (folder / "more" / "b.py").write_text("y = 1\n")
    return folder


def test_the_stamp_follows_every_kernel_source_that_is_imported(sources: Path) -> None:
    (sources / "a.py").write_text("from reach.kernels.more.b import y\n")
    (sources / "c.py").write_text("z = 1\n")
    (sources / "more" / "b.py").write_text("from reach.kernels import c\n")
    stamp = kernel_cache.source_stamp(sources / "a.py", sources)
    assert len(stamp) == 24
    os.utime(sources / "a.py", (1, 1))
    (sources / "d.py").write_text("not imported = 1")
    assert kernel_cache.source_stamp(sources / "a.py", sources) == stamp
    stamps = {stamp}
    for changed in ("c.py", "more/b.py", "a.py"):
        path = sources / changed
        path.write_text(path.read_text() + "# changed\n")
        stamps.add(kernel_cache.source_stamp(sources / "a.py", sources))
    assert len(stamps) == 4


def test_kernels_that_import_each_other_have_a_stamp(sources: Path) -> None:
    (sources / "a.py").write_text("from reach.kernels import c\n")
    (sources / "c.py").write_text("from reach.kernels import a\n")
    assert kernel_cache.source_stamp(sources / "a.py", sources) != ""


@pytest.mark.parametrize("setting", ["OPT", "BOUNDSCHECK"])
def test_the_key_follows_settings_that_shape_the_code(setting: str, monkeypatch) -> None:
    key = kernel_cache.cache_key()
    monkeypatch.setattr(kernel_cache.config, setting, 1)
    assert kernel_cache.cache_key() != key


@pytest.mark.parametrize("library", ["numba", "np"])
def test_the_key_follows_the_versions(library: str, monkeypatch) -> None:
    key = kernel_cache.cache_key()
    monkeypatch.setattr(getattr(kernel_cache, library), "__version__", "0.0.test")
    assert kernel_cache.cache_key() != key


# --- folders ---

KEY, OLD = "0" * 24, "1" * 24


def test_two_at_once_work_in_two_folders_and_the_second_starts_from_the_first(tmp_path: Path) -> None:
    first, held = kernel_cache.take_folder(tmp_path, KEY)
    (first / "sub").mkdir()
    (first / "sub" / "step.step-1.nbi").write_bytes(b"index")
    (first / "sub" / "step.step-1.1.nbc").write_bytes(b"code")
    (first / "half-written.tmp").write_bytes(b"")
    second, held_too = kernel_cache.take_folder(tmp_path, KEY)
    assert second != first
    assert sorted(path.name for path in second.rglob("*.*")) == ["step.step-1.1.nbc", "step.step-1.nbi"]
    held.close()
    again, held_again = kernel_cache.take_folder(tmp_path, KEY)
    assert again == first
    held_too.close()
    held_again.close()


def test_when_every_folder_is_taken_the_caller_is_told(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(kernel_cache, "FOLDERS_AT_ONCE", 1)
    _, held = kernel_cache.take_folder(tmp_path, KEY)
    with pytest.raises(OSError, match="in use"):
        kernel_cache.take_folder(tmp_path, KEY)
    held.close()


def old_folder(base: Path, key: str, days: float) -> Path:
    _, held = kernel_cache.take_folder(base, key)
    held.close()
    then = time.time() - days * 86400
    os.utime(base / key / "used", (then, then))
    return base / key


def test_pruning_keeps_the_newest_the_recent_and_what_is_in_use(tmp_path: Path) -> None:
    folders = {days: old_folder(tmp_path, f"{days:024x}", days) for days in (1, 3, 5, 7, 9, 11)}
    stranger = tmp_path / "not-ours"
    stranger.mkdir()
    _, held = kernel_cache.take_folder(tmp_path, folders[7].name)
    os.utime(folders[7] / "used", (0, 0))
    kernel_cache.prune(tmp_path, folders[11].name, keys_kept=3)
    left = {days for days, folder in folders.items() if folder.exists()}
    assert left == {1, 3, 7, 11}  # the two newest besides the one in use now, the locked one, and that one itself
    assert stranger.exists()
    held.close()
    kernel_cache.prune(tmp_path, folders[11].name, keys_kept=1)
    assert {days for days, folder in folders.items() if folder.exists()} == {1, 11}  # used a day ago: kept


# --- new processes ---

PROGRAM = """
import sys
from numba import njit
from reach import kernel_cache
compiled = []
with kernel_cache.when_compiling(lambda: compiled.append(1)):
    from reach.kernels.step import approach
    approach(1, 2, 3)
    import theirs
    theirs.double(2)
print(len(compiled))
print(hasattr(approach, "dispatcher") and approach.dispatcher.stats.cache_path)
print(theirs.double.stats.cache_path if hasattr(theirs.double, "stats") else None)
"""


@pytest.fixture
def outside(tmp_path: Path) -> Path:
    """Somebody else's module with a compiled function."""
    folder = tmp_path / "outside"
    folder.mkdir()
    (folder / "theirs.py").write_text("from numba import njit\n@njit(cache=True)\ndef double(x):\n    return 2 * x\n")
    return folder


def run(program: str, outside: Path, home: Path, **environment: str) -> list[str]:
    """Lines printed by the program in a new process, with `home` for the user's caches."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("NUMBA_", "XDG_"))}
    variables = {
        "HOME": str(home),
        "XDG_CACHE_HOME": str(home / "caches"),
        "LOCALAPPDATA": str(home / "caches"),
        "PYTHONPATH": os.pathsep.join([str(ROOT), str(outside)]),
    }
    done = subprocess.run(
        [sys.executable, "-c", program],
        env=kept | variables | environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


def test_kernels_are_kept_by_the_user_and_other_peoples_caches_stay(tmp_path: Path, outside: Path) -> None:
    said, ours, theirs = run(PROGRAM, outside, tmp_path)
    assert said == "1"
    assert Path(ours).is_relative_to(tmp_path)
    assert kernel_cache.cache_key() in Path(ours).parts
    assert Path(theirs) == outside / "__pycache__"
    assert run(PROGRAM, outside, tmp_path)[0] == "0"


def test_a_users_own_folder_is_respected_below_a_folder_of_our_name(tmp_path: Path, outside: Path) -> None:
    chosen = tmp_path / "chosen"
    _, ours, theirs = run(PROGRAM, outside, tmp_path, NUMBA_CACHE_DIR=str(chosen))
    assert Path(ours).is_relative_to(chosen / "levelreach" / kernel_cache.cache_key())
    assert Path(theirs).is_relative_to(chosen)
    assert not Path(theirs).is_relative_to(chosen / "levelreach")


def test_without_a_place_to_write_kernels_compile_and_nothing_is_left(tmp_path: Path, outside: Path) -> None:
    blocked = tmp_path / "home"
    blocked.mkdir()
    (blocked / "caches").write_text("a file where a folder would be")
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    said, ours, _ = run(PROGRAM, outside, blocked, TMPDIR=str(temporary), TEMP=str(temporary))
    assert said == "1"
    assert Path(ours).is_relative_to(temporary)
    assert not list(temporary.iterdir())
    assert run(PROGRAM, outside, blocked, TMPDIR=str(temporary), TEMP=str(temporary))[0] == "1"


def test_without_compilation_nothing_is_said_and_nothing_kept(tmp_path: Path, outside: Path) -> None:
    said, ours, _ = run(PROGRAM, outside, tmp_path, NUMBA_DISABLE_JIT="1")
    assert (said, ours) == ("0", "False")


ELSEWHERE = """
import pathlib, sys
from reach import kernel_cache
kernel_cache.KERNELS = pathlib.Path(r"{folder}").resolve()
kernel_cache.install()
sys.path.insert(0, r"{folder}")
import caller
print(caller.call(1))
"""


def test_a_change_in_a_called_file_is_noticed(tmp_path: Path, outside: Path) -> None:
    folder = tmp_path / "kernels"
    folder.mkdir()
    header = "from numba import njit\n"
    (folder / "caller.py").write_text(
        f"{header}from called import add\n\n@njit(cache=True)\ndef call(x):\n    return add(x)\n"
    )
    for more in (1, 2):
        (folder / "called.py").write_text(f"{header}\n@njit(cache=True)\ndef add(x):\n    return x + {more}\n")
        program = ELSEWHERE.format(folder=folder)
        assert run(program, outside, tmp_path, PYTHONDONTWRITEBYTECODE="1") == [str(1 + more)]
        assert run(program, outside, tmp_path, PYTHONDONTWRITEBYTECODE="1") == [str(1 + more)]


def test_many_processes_at_once_do_no_harm(tmp_path: Path, outside: Path) -> None:
    program = """
from tests.builders import make_motion, make_terrain, standing, play
motion, terrain = make_motion(), make_terrain(["....", "....", "####"])
from reach.kernels.contact import is_carried
print(is_carried(0, 2 * terrain.tile - motion.body_h, motion, terrain))
"""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("NUMBA_", "XDG_"))}
    environment = kept | {"XDG_CACHE_HOME": str(tmp_path), "HOME": str(tmp_path), "PYTHONPATH": str(ROOT)}
    for _ in range(2):
        processes = [
            subprocess.Popen(
                [sys.executable, "-c", program],
                env=environment,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )
            for _ in range(3)
        ]
        for process in processes:
            out, error = process.communicate()
            assert (process.returncode, out.strip(), error) == (0, "True", "")
