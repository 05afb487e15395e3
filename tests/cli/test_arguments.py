"""Outputs that cannot be, refused before any work."""

import pytest

from reach.cli.arguments import (
    OPTIONS,
    message_lines,
    require_ending,
    require_no_file,
    require_one_reader,
    require_places_for,
)
from reach.errors import InputError, OutputError, Problem
from reach.options import CheckOptions
from reach.workshop.sheet import SheetOptions


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


def test_options_are_called_as_they_are_typed():
    fields = {*CheckOptions.__dataclass_fields__, *SheetOptions.__dataclass_fields__}
    assert fields == OPTIONS.keys() - {"name", "scale"}
    told = Problem("<options>", "time_limit_s", "0", "more")
    elsewhere = Problem("quay.json", "tile_px", "0", "more")
    assert message_lines(InputError([told, elsewhere])) == [
        "<arguments>: --time-limit: found 0; allowed: more",
        "quay.json: tile_px: found 0; allowed: more",
    ]
    assert message_lines(OutputError("map.png", "it is a folder")) == ["map.png: cannot be written: it is a folder"]


def test_every_option_that_means_nothing_is_named_as_it_was_typed(run, quay, here):
    names = ("--window-ms", "--timing-spread-ms", "--time-limit", "--memory-limit")
    ran = run("check", *quay, *(word for name in names for word in (name, "-1")))
    assert ran.code == 2
    assert [line.split(": ")[:3] for line in ran.err.splitlines()] == [["reach", "<arguments>", name] for name in names]
    (here / "fast.json").write_text((here / quay[2]).read_text().replace(": 50,", ": 1000,"))
    ran = run("check", quay[0], "-m", "fast.json", "--window-ms", "900")
    assert ran.err.startswith("reach: <arguments>: --window-ms: found 900.0; allowed: at most 250: 250 ticks ")
    ran = run("movement", "sheet", quay[2], "--time-limit", "0")
    assert ran.err.startswith("reach: <arguments>: --time-limit: found 0.0; ")
    (here / "quay.txt").write_text("@.!\n###\n")
    ran = run("convert", "quay.txt", "-o", "new.json", "--tile-px", "3", "--name", "a\nb")
    assert ran.err.splitlines() == [
        'reach: <arguments>: --name: found "a\\nb"; allowed: 1 to 200 characters without control characters',
        "reach: <arguments>: --tile-px: found 3; allowed: a whole number from 4 to 256",
    ]
    assert run("explain", "softlok").err.startswith("reach: <arguments>: RULE: found 'softlok'; ")


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
