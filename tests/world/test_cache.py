import os
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np
import pytest

from reach.level import level_from_dict
from reach.movement import movement_from_dict
from reach.options import CheckOptions
from reach.world import cache as module
from reach.world.cache import TOLD_SINGLY, Cache, default_folder, is_settled, key_of, open_cache, product_stamp
from reach.world.result import Job
from reach.world.stored_report import to_bytes
from reach.world.task import task_for
from tests.checked import MOVEMENT
from tests.checkout import ROOT
from tests.made_reports import make_report

KEY = "ab" + "0" * 62
OTHER_KEY = "ab" + "1" * 62
SMALL = make_report(places=(), moves=(), route=(), coverage=np.ones((3, 3), np.bool_))
STORED = to_bytes(SMALL)
LEVEL = {"format": "reach-level/1", "name": "quay", "tile_px": 16, "rows": ["....", ".@.!", "####"]}


@pytest.fixture
def said():
    return []


@pytest.fixture
def cache(tmp_path, said):
    return open_cache(tmp_path / "deep" / "kept", said.append)


def files(folder):
    return sorted(path for path in folder.rglob("*") if path.is_file())


def found(cache, key=KEY):
    report = cache.find(key)
    return None if report is None else to_bytes(report)


def test_what_is_kept_is_found(cache, said):
    assert cache.find(KEY) is None
    cache.keep(KEY, STORED)
    assert found(cache) == STORED
    assert found(cache, OTHER_KEY) is None
    assert (cache.taken, cache.kept, cache.damaged, said) == (1, 1, 0, [])
    assert [path.suffix for path in files(cache.folder)] == [".report"]


def test_a_later_run_finds_it_too(cache, said):
    cache.keep(KEY, STORED)
    assert found(open_cache(cache.folder, said.append)) == STORED
    assert not said


def test_every_changed_byte_of_a_file_is_noticed_told_and_made_again(cache, said):
    cache.keep(KEY, STORED)
    (path,) = files(cache.folder)
    whole = path.read_bytes()
    for at in range(len(whole)):
        for damaged in (whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :], whole[:at]):
            path.write_bytes(damaged)
            once = Cache(cache.folder, said.append)
            assert once.find(KEY) is None
            assert once.damaged == 1 and len(said) == 1 and f"{KEY[2:]}.report" in said.pop()
            assert not path.exists()
    cache.keep(KEY, STORED)
    assert found(cache) == STORED and path.read_bytes() == whole


def test_a_file_under_another_name_does_not_count(cache, said):
    cache.keep(KEY, STORED)
    (path,) = files(cache.folder)
    path.rename(path.with_name(f"{OTHER_KEY[2:]}.report"))
    assert cache.find(OTHER_KEY) is None
    assert cache.damaged == 1 and said


def test_a_file_that_cannot_be_read_is_told(cache, said):
    path = cache.folder / KEY[:2] / f"{KEY[2:]}.report"
    path.mkdir(parents=True)
    assert cache.find(KEY) is None
    assert "is a directory" in said[0]


def test_many_damaged_files_are_not_told_one_by_one(cache, said):
    for number in range(TOLD_SINGLY + 5):
        key = f"{number:064x}"
        cache.keep(key, STORED)
        path = cache.folder / key[:2] / f"{key[2:]}.report"
        path.write_bytes(b"?")
        assert cache.find(key) is None
    assert cache.damaged == TOLD_SINGLY + 5
    assert len(said) == TOLD_SINGLY + 1 and said[-1].startswith("further kept reports")


@pytest.mark.parametrize("place", ["file", "file/below"])
def test_a_folder_that_cannot_be_written_to_is_told_and_there_is_no_cache(tmp_path, said, place):
    (tmp_path / "file").write_text("here")
    assert open_cache(tmp_path / place, said.append) is None
    assert len(said) == 1 and "no reports are kept" in said[0] and str(tmp_path / place) in said[0]


@pytest.mark.skipif(os.name == "nt" or os.getuid() == 0, reason="whoever may write everywhere is not kept out")
def test_a_folder_without_the_right_to_write_is_told(tmp_path, said):
    tmp_path.chmod(0o500)
    assert open_cache(tmp_path, said.append) is None
    assert "permission denied" in said[0]


def test_a_folder_that_can_no_longer_be_written_to_is_told_once(cache, said):
    cache.folder.rmdir()
    cache.folder.write_text("something else")
    cache.keep(KEY, STORED)
    cache.keep(OTHER_KEY, STORED)
    assert len(said) == 1 and "no more reports are kept" in said[0]
    assert cache.kept == 0


def test_a_folder_that_vanishes_is_made_again(cache, said):
    cache.folder.rmdir()
    cache.prune()
    cache.keep(KEY, STORED)
    assert found(cache) == STORED and not said


def test_what_was_used_least_lately_goes_first(tmp_path, said):
    size = len(STORED) + 65
    cache = open_cache(tmp_path, said.append, most_bytes=10 * size)
    keys = [f"{number:064x}" for number in range(10)]
    now = time.time()
    for number, key in enumerate(keys):
        cache.keep(key, STORED)
        os.utime(cache._path(key), (now - 1000 + number, now - 1000 + number))
    assert {path.stat().st_size for path in files(tmp_path)} == {size}
    cache.prune()
    assert len(files(tmp_path)) == 10
    assert found(cache, keys[0]) == STORED
    cache.keep("f" * 64, STORED)
    cache.prune()
    assert [number for number, key in enumerate(keys) if not cache._path(key).exists()] == [1, 2]
    assert found(cache, "f" * 64) == STORED


def test_only_old_unfinished_files_are_removed(cache):
    cache.keep(KEY, STORED)
    folder = files(cache.folder)[0].parent
    for name, hours in ((".old.part", 30), (".new.part", 1)):
        (folder / name).write_bytes(b"half")
        then = time.time() - hours * 3600
        os.utime(folder / name, (then, then))
    cache.prune()
    assert [path.name for path in files(cache.folder)] == [".new.part", f"{KEY[2:]}.report"]


WRITER = """
import sys
from pathlib import Path
from reach.world.cache import open_cache
from tests.world.test_cache import STORED
said = []
cache = open_cache(Path(sys.argv[1]), said.append, most_bytes=20 * len(STORED))
right = 0
for turn in range(20):
    for number in range(25):
        key = f"{number:064x}"
        report = cache.find(key)
        right += report is not None
        cache.keep(key, STORED)
    cache.prune()
print(right, cache.damaged, cache.kept, said)
"""


def test_runs_beside_each_other_do_no_harm(tmp_path):
    command = [sys.executable, "-c", WRITER, str(tmp_path)]
    runs = [subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) for _ in range(2)]
    for each in runs:
        right, damaged, kept, said = each.communicate(timeout=120)[0].split()
        assert (damaged, kept, said) == ("0", "500", "[]")
        assert int(right) > 0
    assert all(path.suffix == ".report" for path in files(tmp_path))


def task(level=LEVEL, movement=MOVEMENT, entrance="start-1", **options):
    job = Job("quay", entrance)
    return task_for(job, level_from_dict(level), movement_from_dict(movement), CheckOptions(**options))


def test_a_key_follows_the_content_alone():
    spaced = {**LEVEL, "rows": [*LEVEL["rows"]], "symbols": {"%": "solid"}}
    assert key_of(task()) == key_of(task(spaced))
    other = replace(task(), job=Job("another name in the world", "start-1"))
    assert key_of(other) == key_of(task())
    assert len(key_of(task())) == 64


def test_whatever_shapes_a_report_changes_its_key(monkeypatch):
    moved = {**LEVEL, "rows": ["....", "@..!", "####"]}
    faster = {**MOVEMENT, "fall": {"terminal_speed": 301}}
    keys = [
        key_of(each)
        for each in (
            task(),
            task(moved),
            task(movement=faster),
            task(entrance="door"),
            task(window_threshold_ms=61),
            task(timing_spread_ms=26),
            task(time_limit_s=10),
            task(memory_limit_mib=100),
        )
    ]
    monkeypatch.setattr(module, "product_stamp", lambda: "another")
    keys.append(key_of(task()))
    assert len(set(keys)) == len(keys)


def test_the_product_s_stamp_follows_its_sources(tmp_path, monkeypatch):
    package = tmp_path / "reach"
    (package / "rules").mkdir(parents=True)
    (package / "schemas").mkdir()
    stamps = {product_stamp(package)}

    def stamped():
        product_stamp.cache_clear()
        return product_stamp(package)

    for name in ("checker.py", "rules/softlock.py", "schemas/level.schema.json"):
        (package / name).write_text("1")
        stamps.add(stamped())
        (package / name).write_text("2")
        stamps.add(stamped())
    (package / "checker.py").rename(package / "verdicts.py")
    stamps.add(stamped())
    monkeypatch.setattr("reach.__version__", "0.1.1")
    stamps.add(stamped())
    assert len(stamps) == 9
    assert stamped() == stamped()


def test_schemas_of_a_checkout_count():
    import reach

    assert module.PACKAGE.name == "reach" and reach.__file__ is not None
    assert (module.PACKAGE.parent / "schemas").is_dir()


def test_only_a_clock_leaves_a_report_unsettled():
    timed = {"time_limit_s": 3, "memory_limit_mib": None}
    assert is_settled(make_report())
    assert is_settled(make_report(options=timed))
    assert is_settled(make_report(complete=False, options={"time_limit_s": None, "memory_limit_mib": 1}))
    assert not is_settled(make_report(complete=False, options=timed))


def test_the_default_folder_is_among_the_user_s_caches(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    folder = default_folder()
    assert folder.parts[-2:] == ("levelreach", "checks")
    if sys.platform == "linux":
        assert folder == tmp_path / "levelreach" / "checks"
        assert open_cache(None, lambda message: None).folder == folder
