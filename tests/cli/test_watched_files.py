"""Files that are looked at again and again: every way to save is noticed once, when it is over."""

import pytest

from reach.cli import watched_files
from reach.cli.watched_files import GONE_S, LOOK_EVERY_S, WatchedFiles
from tests.cli.conftest import Clock


@pytest.fixture
def files(tmp_path):
    first, second = tmp_path / "level.json", tmp_path / "movement.json"
    first.write_text("one")
    second.write_text("two")
    return first, second


@pytest.fixture
def clock(monkeypatch):
    clock = Clock()
    monkeypatch.setattr(watched_files, "time", clock)
    return clock


def test_a_save_in_place_is_noticed_whichever_file_it_is(files, clock):
    watched = WatchedFiles(files)
    for file, text in ((files[0], "uno"), (files[1], "due")):
        clock.then(lambda file=file, text=text: file.write_text(text))
        watched.wait()
        assert clock.done
        assert not watched.changed
        assert watched.take_saved() == [file]
    assert watched.take_saved() == []


def test_a_second_save_of_the_same_size_at_the_same_time_is_noticed(files, clock):
    import os

    watched = WatchedFiles(files)
    status = files[0].stat()

    def save():
        files[0].write_text("eno")
        os.utime(files[0], ns=(status.st_atime_ns, status.st_mtime_ns))

    clock.then(save)
    watched.wait()
    assert clock.done


def test_a_save_that_moves_another_file_there_is_noticed(files, clock, tmp_path):
    watched = WatchedFiles(files)

    def save():
        (tmp_path / "new").write_text("uno")
        (tmp_path / "new").replace(files[0])

    clock.then(save)
    watched.wait()
    assert clock.done


def test_a_save_in_steps_is_noticed_when_it_is_over(files, clock):
    watched = WatchedFiles(files)
    steps = ["", "u", "un", "uno"]
    clock.then(*[lambda text=text: files[0].write_text(text) for text in steps])
    watched.wait()
    assert clock.done
    assert not watched.changed


def test_a_file_that_is_gone_for_a_moment_is_waited_for(files, clock):
    watched = WatchedFiles(files)
    clock.then(files[0].unlink, None, None, None, lambda: files[0].write_text("uno"))
    watched.wait()
    assert clock.done


def test_a_file_that_stays_away_is_noticed(files, clock):
    watched = WatchedFiles(files)
    clock.then(files[0].unlink)
    before = clock.now
    watched.wait()
    assert GONE_S < clock.now - before < GONE_S + 5 * LOOK_EVERY_S


def test_a_save_that_changes_nothing_is_not_noticed(files, clock):
    watched = WatchedFiles(files)
    clock.then(
        lambda: files[0].write_text("one"), None, lambda: files[0].write_text("x"), lambda: files[0].write_text("one")
    )
    clock.then(None, None, None, lambda: files[1].write_text("end"))
    watched.wait()
    assert clock.done


def test_during_other_work_a_save_is_told_at_the_next_look(files, clock):
    watched = WatchedFiles(files)
    files[0].write_text("uno")
    assert not watched.changed  # it is too soon to look again
    clock.sleep(LOOK_EVERY_S)
    assert watched.changed
    watched.settle()
    clock.sleep(LOOK_EVERY_S)
    assert not watched.changed
