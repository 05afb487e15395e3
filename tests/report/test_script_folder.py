"""The folder of proof scripts: which places get one, and what is said of those left from before."""

from dataclasses import replace

import pytest

from reach.errors import OutputError
from reach.report.script_folder import save_scripts
from reach.script import Script, Step, load_script, script_to_dict
from tests.made_reports import ATTIC, LAMP, SOFTLOCK, START, make_report

WALK = Script("Rope Walk", "lamplighter", "start", (Step(4, ("right",)),))
NOTHING = Script("Rope Walk", "lamplighter", "start", ())


@pytest.mark.parametrize("begun_at", ["start", "start-1"])
def test_every_place_with_a_script_but_the_start(tmp_path, begun_at):
    report = make_report(from_place=begun_at, scripts={"start-1": NOTHING, "lamp": WALK})
    kept = save_scripts(report, tmp_path / "new" / "proofs")
    assert (kept.saved, kept.outdated) == (("lamp",), ())
    assert [path.name for path in (tmp_path / "new" / "proofs").iterdir()] == ["lamp.json"]
    assert load_script(tmp_path / "new" / "proofs" / "lamp.json") == WALK


def test_from_an_entrance_the_start_is_a_place_like_others(tmp_path):
    report = make_report(from_place="lamp", scripts={"start-1": WALK, "lamp": NOTHING})
    assert save_scripts(report, tmp_path).saved == ("start-1",)


def test_scripts_of_places_that_have_none_now_are_named_and_left_alone(tmp_path):
    for name in ("attic.json", "lamp.json", "notes.txt", "start-1.json"):
        (tmp_path / name).write_text("old")
    kept = save_scripts(make_report(places=(START, LAMP, ATTIC), scripts={"lamp": WALK}), tmp_path)
    assert (kept.saved, kept.outdated) == (("lamp",), ("attic", "start-1"))
    assert (tmp_path / "attic.json").read_text() == "old"
    assert load_script(tmp_path / "lamp.json") == WALK


def test_a_file_in_the_way_is_told(tmp_path):
    (tmp_path / "proofs").write_text("")
    with pytest.raises(OutputError, match="proofs"):
        save_scripts(make_report(scripts={"lamp": WALK}), tmp_path / "proofs")


FALL = Script("Rope Walk", "lamplighter", "start", (Step(9, ("left",)),))
STUCK = replace(SOFTLOCK, details={"way_in": script_to_dict(FALL)})


def test_ways_into_ground_without_a_way_out_have_a_folder_of_their_own(tmp_path):
    loss = replace(STUCK, rule="forced-loss", at=(0, 12), accepted="Meant.")
    kept = save_scripts(make_report(scripts={"lamp": WALK}, findings=(STUCK, loss)), tmp_path)
    assert (kept.ways_in, kept.outdated_ways_in) == (("forced-loss-0-12", "softlock-4-5"), ())
    names = sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*.json"))
    assert names == ["lamp.json", "stuck/forced-loss-0-12.json", "stuck/softlock-4-5.json"]
    assert load_script(tmp_path / "stuck" / "softlock-4-5.json") == FALL


def test_two_pits_on_one_tile_have_two_files(tmp_path):
    again = replace(STUCK, details={"way_in": script_to_dict(WALK)})
    assert save_scripts(make_report(findings=(STUCK, again)), tmp_path).ways_in == ("softlock-4-5", "softlock-4-5-2")
    assert load_script(tmp_path / "stuck" / "softlock-4-5-2.json") == WALK


@pytest.mark.parametrize("details", [{}, {"way_in": None}, {"way_in": script_to_dict(NOTHING)}])
def test_without_a_way_in_to_play_there_is_no_such_folder(tmp_path, details):
    kept = save_scripts(make_report(findings=(replace(SOFTLOCK, details=details),)), tmp_path)
    assert kept.ways_in == () and list(tmp_path.iterdir()) == []


def test_ways_in_that_an_earlier_run_left_are_named_and_left_alone(tmp_path):
    (tmp_path / "stuck").mkdir()
    for name in ("softlock-9-9.json", "softlock-4-5.json", "forced-loss-1-2-2.json", "mine.json", "softlock-1-2.txt"):
        (tmp_path / "stuck" / name).write_text("old")
    kept = save_scripts(make_report(findings=(STUCK,)), tmp_path)
    assert (kept.ways_in, kept.outdated_ways_in) == (("softlock-4-5",), ("forced-loss-1-2-2", "softlock-9-9"))
    assert (tmp_path / "stuck" / "softlock-9-9.json").read_text() == "old"
    assert load_script(tmp_path / "stuck" / "softlock-4-5.json") == FALL


def test_a_file_in_the_way_of_the_folder_of_ways_in_is_told(tmp_path):
    (tmp_path / "stuck").write_text("")
    with pytest.raises(OutputError, match="stuck"):
        save_scripts(make_report(findings=(STUCK,)), tmp_path)
    assert save_scripts(make_report(), tmp_path).ways_in == ()
