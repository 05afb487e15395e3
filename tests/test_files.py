"""Reading within limits, and writing whole or not at all."""

import io
import os
import stat
import sys
import threading
from pathlib import Path

import pytest

from reach import files
from reach.errors import OutputError
from reach.files import origin_of, read_bytes, read_json, read_text, write_bytes, write_text
from tests.made_files import refused


@pytest.fixture
def standard_input(monkeypatch):
    def give(data):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))

    return give


def test_reading_a_text(tmp_path):
    (tmp_path / "a.txt").write_bytes("Käi\r\n".encode())
    assert read_text(tmp_path / "a.txt") == "Käi\r\n"


def test_a_byte_order_mark_is_passed_over(tmp_path):
    (tmp_path / "a.json").write_bytes(b"\xef\xbb\xbf[1]")
    assert read_json(tmp_path / "a.json").value == [1]
    assert read_json(tmp_path / "a.json").place((0,)) == "$[0] (line 1, column 2)"


@pytest.mark.parametrize(
    ("data", "found"),
    [
        # RFC 3629: an overlong form (section 10), a surrogate (section 3), past U+10FFFF (section 3), cut off.
        (b'"\n\xc0\x80"', "the byte 0xC0 in line 2"),
        (b"\xed\xa0\x80", "the byte 0xED in line 1"),
        (b"\xf4\x90\x80\x80", "the byte 0xF4 in line 1"),
        (b"ab\xc3", "the byte 0xC3 in line 1"),
        ("quay".encode("utf-16"), "UTF-16"),
        ("quay é".encode("latin-1"), "the byte 0xE9 in line 1"),
    ],
)
def test_what_is_not_utf_8_is_refused(tmp_path, data, found):
    (tmp_path / "a.json").write_bytes(data)
    ((place, said, allowed),) = refused(read_json, tmp_path / "a.json")
    assert (place, allowed) == ("", "text in UTF-8")
    assert said.startswith(found)


def test_standard_input(standard_input):
    standard_input(b"[1, 2]")
    document = read_json("-")
    assert document.value == [1, 2]
    assert document.origin == origin_of("-") == "<standard input>"


def test_a_missing_file_a_directory_and_names_no_file_has(tmp_path):
    assert refused(read_bytes, tmp_path / "none.json")[0][1] == "no such file"
    assert refused(read_bytes, tmp_path)[0][1] == "a directory"
    assert refused(read_bytes, "a\0b")[0][1] == "a name that no file can have"
    assert refused(read_bytes, "x" * 5000)[0][1] == "file name too long"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root reads and writes everything")
def test_a_file_without_the_right_to_read_or_write(tmp_path):
    path = tmp_path / "a.json"
    path.write_text("[]")
    path.chmod(0)
    assert refused(read_bytes, path)[0][1] == "permission denied"
    path.chmod(0o444)
    with pytest.raises(OutputError, match="permission denied"):
        write_text(path, "x")
    assert path.read_text() == "[]"


def test_a_file_over_the_limit_is_refused(tmp_path, monkeypatch, standard_input):
    monkeypatch.setattr(files, "MAX_FILE_BYTES", 2**20)
    path = tmp_path / "a.json"
    path.write_bytes(b"[" + b" " * (2**20 - 2) + b"]")
    assert read_json(path).value == []
    path.write_bytes(b"[" + b" " * (2**20 - 1) + b"]")
    assert refused(read_json, path) == [("", "a larger file", "at most 1 MiB")]
    standard_input(b" " * (2**20 + 1))
    assert refused(read_json, "-") == [("", "a larger file", "at most 1 MiB")]


def test_messages_show_a_file_name_on_one_line():
    assert origin_of(Path("quay/räder.json")) == str(Path("quay/räder.json"))
    assert origin_of("a\nb\x1b\udc80") == "a\ufffdb\ufffd\ufffd"


def test_writing_and_writing_again(tmp_path):
    path = tmp_path / "a.txt"
    write_text(path, "Käi\n")
    assert path.read_bytes() == "Käi\n".encode()
    write_bytes(path, b"x")
    assert path.read_bytes() == b"x"
    assert [each.name for each in tmp_path.iterdir()] == ["a.txt"]


@pytest.mark.skipif(os.name != "posix", reason="rights are those of POSIX")
def test_a_new_file_gets_the_rights_of_any_new_file_and_an_old_one_keeps_its(tmp_path):
    (tmp_path / "usual").touch()
    write_text(tmp_path / "new", "x")
    assert (tmp_path / "new").stat().st_mode == (tmp_path / "usual").stat().st_mode
    (tmp_path / "new").chmod(0o640)
    write_text(tmp_path / "new", "y")
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o640


@pytest.mark.skipif(os.name != "posix", reason="links are those of POSIX")
def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "link").symlink_to("file")
    write_text(tmp_path / "link", "x")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "file").read_text() == "x"


@pytest.mark.parametrize("name", ["none/a.txt", "file/a.txt", ".", "a\0b", "x" * 5000])
def test_places_that_cannot_be_written(tmp_path, name):
    (tmp_path / "file").write_text("old")
    with pytest.raises(OutputError, match="cannot be written") as caught:
        write_text(tmp_path / name, "x")
    assert "\n" not in str(caught.value)
    assert caught.value.file == origin_of(tmp_path / name)
    assert [each.name for each in tmp_path.iterdir()] == ["file"]
    assert (tmp_path / "file").read_text() == "old"


@pytest.mark.parametrize("stop", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_write_that_fails_half_way_leaves_what_was_there(tmp_path, monkeypatch, stop):
    path = tmp_path / "a.txt"
    path.write_text("old")

    def fails(descriptor):
        raise stop

    monkeypatch.setattr(files.os, "fsync", fails)
    with pytest.raises(OutputError if isinstance(stop, OSError) else KeyboardInterrupt) as caught:
        write_text(path, "new")
    if isinstance(stop, OSError):
        assert str(caught.value) == f"{path}: cannot be written: no space left on device"
    assert [each.name for each in tmp_path.iterdir()] == ["a.txt"]
    assert path.read_text() == "old"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_device():
    with pytest.raises(OutputError, match="no space left on device"):
        write_text("/dev/full", "x")
    assert stat.S_ISCHR(Path("/dev/full").stat().st_mode)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_is_written_to_and_read_from_not_replaced(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer = threading.Thread(target=write_text, args=(pipe, "[1]"))
    writer.start()
    assert read_json(pipe).value == [1]
    writer.join()
    assert stat.S_ISFIFO(pipe.stat().st_mode)
