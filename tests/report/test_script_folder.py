"""The folder of proof scripts: which places get one, and what is said of those left from before."""

import pytest

from reach.errors import OutputError
from reach.report.script_folder import save_scripts
from reach.script import Script, Step, load_script
from tests.made_reports import ATTIC, LAMP, START, make_report

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
