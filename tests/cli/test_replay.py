"""`reach replay`: tables and pictures of a script."""

import json

import pytest

from reach.script import Script, Step, save_script
from tests.cli.conftest import WALK


@pytest.fixture
def played(quay, here):
    save_script(WALK, here / "walk.json")
    return [*quay, "--script", "walk.json"]


def test_csv_has_a_row_a_tick_from_the_start_state(run, played):
    ran = run("replay", *played)
    header, *rows = ran.out.splitlines()
    assert ran.code == 0
    assert header == "tick,x_spx,y_spx,vx_spx,vy_spx,grounded,lost,places"
    assert len(rows) == WALK.ticks + 1
    # The body of 10 x 20 px is centred on tile (1, 3) of 16 px with its feet on the ground below.
    assert rows[0] == f"0,{(16 + 3) * 65536},{(64 - 20) * 65536},0,0,1,0,start-1"
    # From rest at 250 px/s^2 and 50 ticks a second: 0.1 px a tick gained in each.
    assert rows[1].split(",")[3] == str(round(0.1 * 65536))


def test_json_holds_the_same_numbers(run, played):
    table = [line.split(",") for line in run("replay", *played).out.splitlines()]
    data = json.loads(run("replay", *played, "--format", "json").out)
    assert [list(row) for row in data] == [table[0]] * len(data)
    for row, cells in zip(data, table[1:], strict=True):
        assert [str(value) for value in list(row.values())[:-1]] == cells[:-1]
        assert " ".join(row["places"]) == cells[-1]


@pytest.mark.parametrize("ending", ["csv", "json"])
def test_a_file_holds_what_would_be_printed(run, played, here, ending):
    ran = run("replay", *played, "-o", f"walk_table.{ending}")
    assert (ran.code, ran.out) == (0, "")
    printed = run("replay", *played, "--format", ending).out
    assert (here / f"walk_table.{ending}").read_bytes() == printed.encode()


@pytest.mark.parametrize(("ending", "first"), [("png", b"\x89PNG"), ("gif", b"GIF8")])
def test_pictures_by_the_ending_of_the_file(run, played, here, ending, first):
    assert run("replay", *played, "-o", f"walk.{ending}").code == 0
    assert (here / f"walk.{ending}").read_bytes().startswith(first)


@pytest.mark.parametrize("words", [["-o", "walk.txt"], ["--format", "csv", "-o", "walk.json.json"], ["-o", "no/w.csv"]])
def test_a_file_that_cannot_be_is_refused(run, played, here, words):
    ran = run("replay", *played, *words)
    assert (ran.code, ran.out) == (2, "")
    assert words[-1] in ran.err


@pytest.mark.parametrize(
    ("to", "code", "told"),
    [
        ("start-1", 0, "start-1 is reached in tick 0"),
        ("2,4", 0, "2,4 is reached in tick"),
        ("goal-1", 1, "the script does not get to goal-1"),
        ("0,2", 1, "the script does not get to 0,2"),
        ("nowhere", 2, "nowhere"),
    ],
)
def test_a_script_can_be_held_to_where_it_gets(run, played, to, code, told):
    ran = run("replay", *played, "--to", to)
    assert ran.code == code and told in ran.err


def test_a_script_for_another_level_replays_with_a_warning(run, quay, here):
    save_script(Script("Bell Tower", "stroller", "start-1", (Step(2, ()),)), here / "other.json")
    ran = run("replay", *quay, "--script", "other.json")
    assert ran.code == 0
    assert len(ran.out.splitlines()) == 4
    assert "warning: " in ran.err
    assert "Bell Tower" in ran.err


def test_a_missing_script_is_one_message(run, quay):
    ran = run("replay", *quay, "--script", "missing.json")
    assert (ran.code, ran.out) == (2, "")
    assert "missing.json" in ran.err
