"""Where compiled kernels are kept: what their files are named after, and what really happens in new processes."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from reach.compiler import kernel_cache
from reach.compiler.kernel_cache import Entry, Kept
from tests.checkout import ROOT

KEPT = Kept("symbol", ["tuple", None, ["int", "bool"]], b"\x00code\nwith lines\n")


@pytest.fixture
def sources(tmp_path: Path) -> Path:
    folder = tmp_path / "kernels"
    (folder / "more").mkdir(parents=True)
    (folder / "a.py").write_text("from reach.kernels.more.b import y\n")
    (folder / "c.py").write_text("z = 1\n")
    (folder / "more" / "b.py").write_text("from reach.kernels import c\n")
    return folder


def stamp(path: Path, folder: Path) -> str:
    kernel_cache.source_stamp.cache_clear()
    return kernel_cache.source_stamp(path, folder)


def test_the_stamp_follows_every_kernel_source_that_is_imported(sources: Path) -> None:
    first = stamp(sources / "a.py", sources)
    os.utime(sources / "a.py", (1, 1))
    (sources / "d.py").write_text("not imported = 1")
    assert stamp(sources / "a.py", sources) == first
    stamps = {first}
    for changed in ("c.py", "more/b.py", "a.py"):
        path = sources / changed
        path.write_text(path.read_text() + "# changed\n")
        stamps.add(stamp(sources / "a.py", sources))
    assert len(stamps) == 4


def test_kernels_that_import_each_other_have_a_stamp(sources: Path) -> None:
    (sources / "c.py").write_text("from reach.kernels import a\n")
    assert stamp(sources / "a.py", sources) != ""


def path_now(name: str = "f", version: str = "i") -> str:
    kernel_cache.circumstances.cache_clear()
    return kernel_cache.entry(name, kernel_cache.KERNELS / "step.py", version).path.name


@pytest.mark.parametrize("setting", ["NUMBA_BOUNDSCHECK", "NUMBA_DEBUGINFO", "NUMBA_OPT", "NUMBA_NEW", "VS_PROFILER"])
def test_a_setting_that_may_shape_the_code_leads_to_another_file(setting: str, monkeypatch: pytest.MonkeyPatch) -> None:
    before = path_now()
    monkeypatch.setenv(setting, "7")
    assert path_now() != before
    monkeypatch.undo()
    assert path_now() == before


@pytest.mark.parametrize("setting", [*kernel_cache.NOT_IN_CODE, "REACH_DEBUG"])
def test_a_setting_that_does_not_is_no_reason_to_compile_anew(setting: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(setting, raising=False)
    before = path_now()
    monkeypatch.setenv(setting, "7")
    assert path_now() == before


def test_so_does_numbas_own_file_of_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    names = {path_now()}
    for text in ("boundscheck: 1\n", "boundscheck: 0\n"):
        Path(".numba_config.yaml").write_text(text)
        names.add(path_now())
    monkeypatch.setattr(kernel_cache.importlib.util, "find_spec", lambda name: None)
    names.add(path_now())
    assert len(names) == 4
    Path(".numba_config.yaml").unlink()
    assert path_now() in names


def test_versions_and_argument_types_lead_to_another_file(monkeypatch: pytest.MonkeyPatch) -> None:
    before = path_now()
    assert path_now(version="b") != before
    real = kernel_cache.importlib.metadata.version
    for library in ("numba", "llvmlite", "numpy"):
        monkeypatch.setattr(
            kernel_cache.importlib.metadata,
            "version",
            lambda name, changed=library: "0.0.test" if name == changed else real(name),
        )
        assert path_now() != before
    monkeypatch.undo()
    assert path_now() == before


def test_what_is_kept_comes_back(tmp_path: Path) -> None:
    entry = Entry(tmp_path / "new" / "step.f-1.kernel")
    assert entry.load() is None
    entry.save(KEPT)
    assert entry.load() == KEPT
    assert [path.name for path in entry.path.parent.iterdir()] == ["step.f-1.kernel"]


@pytest.mark.parametrize(
    "damage",
    [
        lambda b: b[:-1],
        lambda b: b"",
        lambda b: b"\xff" + b,
        lambda b: b[:30] + b[40:],
        lambda b: b.replace(b'symbol"', b'symbal"'),
        lambda b: b.replace(b': "symbol', b': "symbal'),
        lambda b: b.replace(b"bool", b"int"),
    ],
)
def test_a_damaged_file_counts_as_missing(damage, tmp_path: Path) -> None:
    entry = Entry(tmp_path / "step.f-1.kernel")
    entry.save(KEPT)
    entry.path.write_bytes(damage(entry.path.read_bytes()))
    assert entry.load() is None
    entry.save(KEPT)
    assert entry.load() == KEPT


def test_nothing_is_kept_where_nothing_can_be_written(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    entry = Entry(tmp_path / "file" / "step.f-1.kernel")
    entry.save(KEPT)
    assert entry.load() is None


def test_what_was_long_not_used_goes(tmp_path: Path) -> None:
    then = time.time() - (kernel_cache.DAYS_KEPT + 1) * 86400
    for name in ("a.kernel", "a.lock", "b.kernel", "c.part", "theirs.txt", "d.part"):
        (tmp_path / name).write_bytes(b"")
        if name != "d.part":
            os.utime(tmp_path / name, (then, then))
    Entry(tmp_path / "b.kernel").save(KEPT)
    os.utime(tmp_path / "b.kernel", (then, then))
    assert Entry(tmp_path / "b.kernel").load() == KEPT  # used now
    Entry(tmp_path / "e.kernel").save(KEPT)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.kernel", "d.part", "e.kernel", "theirs.txt"]


def test_who_reserves_waits_for_who_has(tmp_path: Path) -> None:
    entry = Entry(tmp_path / "step.f-1.kernel")
    begun, found = threading.Event(), []

    def second() -> None:
        begun.set()
        with entry.reserved():
            found.append(entry.load())

    with entry.reserved():
        thread = threading.Thread(target=second)
        thread.start()
        begun.wait()
        entry.save(KEPT)
        assert not found
    thread.join()
    assert found == [KEPT]


def test_nobody_waits_forever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kernel_cache, "MOST_WAIT_S", 0.0)
    entry = Entry(tmp_path / "step.f-1.kernel")
    done: list[int] = []

    def second() -> None:
        with entry.reserved():
            done.append(1)

    with entry.reserved():
        thread = threading.Thread(target=second)
        thread.start()
        thread.join()
    assert done == [1]


def test_where_nothing_can_be_locked_it_goes_on(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with Entry(tmp_path / "file" / "step.f-1.kernel").reserved():
        pass
    with pytest.raises(PermissionError), Entry(tmp_path / "step.f-1.kernel").reserved():
        raise PermissionError("what happens within is not hidden")


def test_who_asked_is_told_of_the_first_compilation_alone() -> None:
    told: list[int] = []
    with kernel_cache.when_compiling(lambda: told.append(1)):
        kernel_cache.tell_compiling()
        kernel_cache.tell_compiling()
    assert told == [1]
    with kernel_cache.when_compiling(lambda: told.append(2)):
        pass
    kernel_cache.tell_compiling()
    assert told == [1]


# --- new processes ---

PROGRAM = """
import sys
from reach.compiler import kernel_cache
compiled = []
with kernel_cache.when_compiling(lambda: compiled.append(1)):
    from reach.kernels.step import approach
    assert approach(1, 2, 3) == 2
print(len(compiled), "numba" in sys.modules)
"""


def run(home: Path, **environment: str) -> str:
    """What the program prints in a new process, with `home` for the user's caches."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("NUMBA_", "XDG_"))}
    variables = {"HOME": str(home), "XDG_CACHE_HOME": str(home / "caches"), "LOCALAPPDATA": str(home / "caches")}
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        cwd=ROOT,
        env=kept | variables | {"PYTHONPATH": str(ROOT)} | environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_a_second_process_loads_without_the_compiler(tmp_path: Path) -> None:
    assert run(tmp_path) == "1 True"
    assert run(tmp_path) == "0 False"
    kept = list(tmp_path.rglob("*.kernel"))
    assert [path.name.partition("-")[0] for path in kept] == ["step.approach"]
    kept[0].write_bytes(kept[0].read_bytes()[:-100])
    assert run(tmp_path) == "1 True"
    assert run(tmp_path) == "0 False"


def test_a_users_own_folder_is_respected_below_a_folder_of_our_name(tmp_path: Path) -> None:
    assert run(tmp_path, NUMBA_CACHE_DIR=str(tmp_path / "chosen")) == "1 True"
    (kept,) = tmp_path.rglob("*.kernel")
    assert kept.parent == tmp_path / "chosen" / "levelreach"


def test_without_a_place_to_write_kernels_compile_every_time(tmp_path: Path) -> None:
    (tmp_path / "caches").write_text("a file where a folder would be")
    for _ in range(2):
        assert run(tmp_path) == "1 True"
    assert [path.name for path in tmp_path.iterdir()] == ["caches"]


def test_without_compilation_nothing_is_said_and_nothing_kept(tmp_path: Path) -> None:
    assert run(tmp_path, NUMBA_DISABLE_JIT="1") == "0 False"
    assert not list(tmp_path.rglob("*.kernel"))


COUNTING = """
from reach.kernels.compiling import Kernel
from reach.kernels.step import approach
translated = []
translate = Kernel._translate
Kernel._translate = lambda *given: translated.append(1) or translate(*given)
assert approach(1, 2, 3) == 2
print(len(translated))
"""


def test_of_many_processes_at_once_one_compiles(tmp_path: Path) -> None:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("NUMBA_")}
    environment = kept | {"NUMBA_CACHE_DIR": str(tmp_path), "PYTHONPATH": str(ROOT)}
    for compiling in (1, 0):
        processes = [
            subprocess.Popen(
                [sys.executable, "-c", COUNTING],
                cwd=ROOT,
                env=environment,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )
            for _ in range(3)
        ]
        compiled = 0
        for process in processes:
            out, error = process.communicate()
            assert (process.returncode, error) == (0, ""), out
            compiled += int(out)
        assert compiled == compiling
    assert len(list(tmp_path.rglob("*.kernel"))) == 1
