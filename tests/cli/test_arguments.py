"""Outputs that cannot be, refused before any work."""

import pytest

from reach.cli.arguments import require_ending, require_no_file, require_one_reader, require_places_for
from reach.errors import InputError, OutputError


def test_an_output_needs_its_folder_and_is_none(tmp_path):
    require_places_for(tmp_path / "new.json", None, tmp_path / "other.png")
    with pytest.raises(OutputError, match="there is no folder"):
        require_places_for(tmp_path / "new.json", tmp_path / "no" / "new.json")
    with pytest.raises(OutputError, match="it is a folder"):
        require_places_for(tmp_path)


def test_an_output_replaces_no_other_file_of_the_command(tmp_path):
    level, report = tmp_path / "level.json", tmp_path / "report.json"
    require_places_for(report, inputs=(str(level), "-", None))
    with pytest.raises(OutputError, match="same name"):
        require_places_for(tmp_path / "." / "level.json", inputs=(str(level),))
    with pytest.raises(OutputError, match="same name"):
        require_places_for(report, None, report)


def test_a_folder_may_be_there_or_not_but_no_file(tmp_path):
    (tmp_path / "file").write_text("")
    require_no_file(None)
    require_no_file(tmp_path)
    require_no_file(tmp_path / "new")
    with pytest.raises(OutputError, match="not a folder"):
        require_no_file(tmp_path / "file")


def test_the_ending_decides_in_either_case(tmp_path):
    assert require_ending(tmp_path / "map.PNG", ".png", ".gif") == ".png"
    with pytest.raises(OutputError, match=r"must end in \.png or \.gif"):
        require_ending(tmp_path / "map.bmp", ".png", ".gif")
    with pytest.raises(OutputError):
        require_ending(tmp_path / "png", ".png")


def test_standard_input_is_read_by_one_file_only():
    require_one_reader("-", "movement.json", None)
    with pytest.raises(InputError, match="<standard input>: found 2 files to be read from it"):
        require_one_reader("-", "-", None)


@pytest.mark.parametrize(
    "words",
    [
        ("check", "-", "-m", "-"),
        ("draw", "-", "-m", "-", "-o", "map.png"),
        ("prove", "-", "-m", "-", "--to", "goal-1"),
        ("replay", "-", "-m", "moves.json", "--script", "-"),
        ("convert", "-", "--mapping", "-", "-o", "level.json"),
    ],
)
def test_every_command_says_so_in_one_line(run, words):
    ran = run(*words)
    assert (ran.code, ran.out) == (2, "")
    assert len(ran.err.splitlines()) == 1 and "'-' for one file only" in ran.err
