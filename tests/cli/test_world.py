"""`reach world`: what is read, where results go, what is told on the way, and exit codes."""

import io
import json
from contextlib import contextmanager
from pathlib import Path

import pytest

from reach.cli import streams
from tests.cli.conftest import LEVEL, MOVEMENT
from tests.made_reports import SOFTLOCK, TIGHT_LANDING, UNUSED, make_report

ALONE = ("--jobs", "1", "--no-cache")
"""In this process, where it is quickest, and without what an earlier run has kept."""

DOORS = LEVEL | {
    "rows": ["........", "........", "........", "D@.....D", "########"],
    "symbols": {"D": {"place": "exit"}},
}


@pytest.fixture
def house(here, quay):
    """The name of a world of two levels, of which the first leads to the second and to itself."""
    (here / "porch.json").write_text(json.dumps(DOORS | {"name": "Porch"}), encoding="utf-8")
    data = {
        "format": "reach-world/1",
        "name": "House",
        "movement": "stroller.json",
        "levels": [{"id": "porch", "file": "porch.json"}, {"id": "quay", "file": "quay.json"}],
        "links": [{"from": "porch/exit-1", "to": "porch/start"}, {"from": "porch/exit-2", "to": "quay/start"}],
        "start": "porch",
    }
    return save(here, data)


def save(here, data):
    (here / "house.world.json").write_text(json.dumps(data), encoding="utf-8")
    return "house.world.json"


def change(here, **values):
    return save(here, json.loads((here / "house.world.json").read_text(encoding="utf-8")) | values)


def test_a_good_world_is_told_as_text_with_results_as_they_come(run, house):
    ran = run("world", *ALONE, house)
    assert ran.code == 0
    assert ran.out.splitlines()[0].startswith("OK")
    assert "House: 2 levels; 2 links; begins at porch/start-1" in ran.out.splitlines()[0]
    told = [line for line in ran.err.splitlines() if "compiling" not in line]
    assert told == ["reach: porch from start-1: nothing found", "reach: quay from start-1: nothing found"]


def test_json_holds_what_reach_check_says_of_each_level(run, house):
    ran = run("world", *ALONE, house, "--format", "json")
    assert ran.code == 0
    data = json.loads(ran.out)
    (quay,) = data["levels"][1]["entrances"]
    alone = json.loads(run("check", "quay.json", "-m", "stroller.json", "--from", "start-1", "--format", "json").out)
    assert quay["report"] == alone
    assert ran.err.splitlines()[-1] == "reach: OK"


def test_the_same_bytes_wherever_it_is_run_from_and_however_the_world_is_named(run, house, here, monkeypatch):
    first = run("world", *ALONE, house, "--format", "json").out
    inner = here / "inner"
    inner.mkdir()
    monkeypatch.chdir(inner)
    assert run("world", *ALONE, f"../{house}", "--format", "json").out == first
    assert run("world", *ALONE, str(here / house), "--format", "json").out == first
    assert str(here) not in first


@pytest.mark.parametrize(
    ("found", "fail_on", "code"),
    [((UNUSED,), "warning", 0), ((UNUSED,), "note", 1), ((TIGHT_LANDING,), "error", 0), ((SOFTLOCK,), "error", 1)],
)
def test_exit_code_follows_the_gravest_finding(run, quay, here, checker, found, fail_on, code):
    checker.report = make_report(findings=found)
    (here / "levels").mkdir()
    (here / "quay.json").rename(here / "levels" / "quay.json")
    assert run("world", *ALONE, "levels", "-m", "stroller.json", "--fail-on", fail_on).code == code


def test_a_finding_of_the_world_counts(run, house, here):
    change(here, links=[{"from": "porch/exit-1", "to": "porch/start"}])
    ran = run("world", *ALONE, house)
    assert (ran.code, "unentered-level of quay" in ran.out, "loose-exit of porch/exit-2" in ran.out) == (1, True, True)


def test_a_missing_level_fails_the_run_at_its_end_and_the_others_are_checked(run, house, here):
    (here / "quay.json").unlink()
    ran = run("world", *ALONE, house)
    assert ran.code == 2
    assert "reach: quay from start: failed: quay.json: found no such file" in ran.err
    assert "x failed  quay" in ran.out and "porch" in ran.out
    assert run("world", *ALONE, house, "--format", "json", "-o", "report.json").code == 2
    states = {
        level["id"]: level["entrances"][0]["state"] for level in json.loads(Path("report.json").read_text())["levels"]
    }
    assert states == {"porch": "checked", "quay": "failed"}


def test_mistakes_of_the_world_are_told_all_at_once_and_nothing_is_checked(run, house, here, checker):
    change(here, start="cellar", links=[{"from": "porch/start-1", "to": "quay/start"}], movement="lost.json")
    ran = run("world", *ALONE, house, "-o", "report.txt")
    assert (ran.code, ran.out, checker.calls) == (2, "", [])
    assert len(ran.err.splitlines()) == 3
    assert not (here / "report.txt").exists()


def test_a_folder_needs_a_movement_and_tells_what_it_leaves_out(run, house, here):
    (here / "attic.json").write_text(json.dumps(LEVEL | {"name": "Attic"}), encoding="utf-8")
    assert run("world", *ALONE, ".").code == 2
    ran = run("world", *ALONE, ".", "-m", "stroller.json")
    assert ran.code == 0
    assert "not a level, left out: house.world.json and stroller.json" in ran.err
    assert [line.split()[2] for line in ran.out.splitlines() if line.startswith("  +")] == ["attic", "porch", "quay"]


def test_options_reach_every_check(run, house, checker):
    words = "--window-ms 80 --timing-spread-ms 50 --time-limit 2.5 --memory-limit 512"
    checker.report = make_report(places=())
    run("world", *ALONE, house, *words.split())
    assert checker.calls
    for _, _, options in checker.calls:
        assert (options.from_place, options.window_threshold_ms, options.timing_spread_ms) == ("start-1", 80.0, 50.0)
        assert (options.time_limit_s, options.memory_limit_mib) == (2.5, 512)


def test_over_a_limit_what_hangs_on_it_is_undecided(run, house):
    ran = run("world", *ALONE, house, "--memory-limit", "1")
    assert "? not finished  porch" in ran.out
    assert "Not finished: porch from start-1: the memory limit of 1 MiB was reached." in ran.out
    assert "(not finished: the memory limit of 1 MiB was reached)" in ran.err


def test_another_movement_may_be_given(run, house, here):
    (here / "other.json").write_text(json.dumps(MOVEMENT | {"name": "other"}), encoding="utf-8")
    data = json.loads(run("world", *ALONE, house, "-m", "other.json", "--format", "json").out)
    assert {level["movement"] for level in data["levels"]} == {"other"}


def test_a_report_in_a_file_is_the_one_that_would_be_printed(run, house):
    printed = run("world", *ALONE, house).out
    ran = run("world", *ALONE, house, "-o", "report.txt")
    assert (ran.out, Path("report.txt").read_text(encoding="utf-8")) == ("", printed)
    assert ran.err.splitlines()[-2:] == ["reach: OK", "reach: report: report.txt"]


def test_an_output_that_would_overwrite_an_input_is_refused_before_any_work(run, house, checker):
    ran = run("world", *ALONE, house, "-o", house)
    assert (ran.code, checker.calls) == (2, [])


def test_a_world_from_standard_input_has_its_files_beside_where_it_is_run(run, house, here, monkeypatch):
    data = (here / house).read_bytes()
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(data)))
    assert run("world", *ALONE, "-").code == 0


def test_it_is_told_what_is_running_and_what_is_left(run, house, monkeypatch):
    told = []

    @contextmanager
    def progress():
        yield lambda stage, part: told.append((stage, part))

    monkeypatch.setattr(streams, "progress", progress)
    assert run("world", *ALONE, house).code == 0
    stages = [stage for stage, _ in told]
    assert "porch/start-1: exploring every input (0 done, 0 waiting)" in stages
    assert "quay/start-1: exploring every input (1 done, 0 waiting)" in stages
    assert {part for _, part in told} == {0.0, 0.5}


def test_after_an_interruption_nothing_is_left_half_written(run, house, here, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("reach.checker.check", interrupted)
    before = sorted(path.name for path in here.iterdir())
    assert run("world", *ALONE, house, "-o", "report.json").code == 130
    assert sorted(path.name for path in here.iterdir()) == before


OTHERS = ("--junit", "house.xml", "--sarif", "house.sarif", "--markdown", "house.md")


def test_reports_for_other_readers_stand_beside_the_one(run, house, here):
    printed = run("world", *ALONE, house).out
    ran = run("world", *ALONE, house, *OTHERS)
    assert ran.code == 0
    names = "\n  JUnit XML: house.xml\n  SARIF: house.sarif\n  summary: house.md\n"
    assert ran.out == f"{printed}\nWritten{names}"
    first = {name: Path(name).read_bytes() for name in OTHERS[1::2]}
    assert first["house.md"].startswith(b"## House: OK\n")
    assert b'<testcase name="unentered-level" classname="House" time="0" />' in first["house.xml"]
    assert not any(str(here).encode() in data for data in first.values())
    ran = run("world", *ALONE, str(here / house), *OTHERS, "--format", "json", "-o", "house.json")
    assert [line.partition(": ")[2] for line in ran.err.splitlines()[-5:]] == [
        "OK",
        "JUnit XML: house.xml",
        "SARIF: house.sarif",
        "summary: house.md",
        "report: house.json",
    ]
    assert {name: Path(name).read_bytes() for name in first} == first


def test_what_fails_the_command_fails_in_junit_and_review_finds_the_file_from_here(run, house, here, monkeypatch):
    change(here, links=[{"from": "porch/exit-1", "to": "porch/start"}])
    inner = here / "inner"
    inner.mkdir()
    monkeypatch.chdir(inner)
    for fail_on, failing in (("error", 1), ("warning", 2)):
        assert run("world", *ALONE, f"../{house}", *OTHERS, "--fail-on", fail_on).code == 1
        assert f'failures="{failing}"' in Path("house.xml").read_text(encoding="utf-8").splitlines()[2]
    (results,) = [each["results"] for each in json.loads(Path("house.sarif").read_text(encoding="utf-8"))["runs"]]
    uris = [each["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for each in results]
    assert set(uris) == {"../quay.json", "../porch.json"}


def test_a_world_from_standard_input_has_reports_for_other_readers_too(run, house, here, monkeypatch):
    data = (here / house).read_bytes()
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(data)))
    assert run("world", *ALONE, "-", *OTHERS).code == 0
    assert all(Path(name).stat().st_size for name in OTHERS[1::2])


@pytest.mark.parametrize(
    "words",
    [
        "--markdown house.txt",
        "--junit house.json",
        "--sarif house.json",
        "--markdown lost/house.md",
        "--junit a.xml -o a.xml",
    ],
)
def test_a_report_that_could_not_be_written_is_refused_before_any_work(run, house, checker, words):
    ran = run("world", *ALONE, house, *words.split())
    assert (ran.code, ran.out, checker.calls) == (2, "", [])


def test_checks_in_processes_say_the_same_and_are_kept_between_runs(run, house, here):
    alone = run("world", *ALONE, house, "--format", "json")
    ways = ("--jobs", "2", "--cache", str(here / "kept"))
    first = run("world", *ways, house, "--format", "json")
    again = run("world", *ways, house, "--format", "json")
    assert alone.code == first.code == again.code == 0
    assert alone.out == first.out == again.out
    assert "taken from the cache" not in first.err
    assert "2 checks taken from the cache" in again.err
    assert any(path.is_file() for path in (here / "kept").rglob("*"))


def test_a_cache_that_cannot_be_written_is_told_and_done_without(run, house, here):
    (here / "file").write_text("no folder", encoding="utf-8")
    ran = run("world", "--jobs", "1", "--cache", str(here / "file" / "kept"), house)
    assert ran.code == 0
    assert "no reports are kept between runs" in ran.err


def test_pictures_of_every_entrance_and_of_the_whole_world(run, house, here):
    ran = run("world", *ALONE, house, "--images", "new/pictures", "--contact-sheet", "world.png")
    assert ran.code == 0
    assert ran.out.splitlines()[-2:] == ["  contact sheet: world.png", f"  2 pictures: {Path('new/pictures')}"]
    assert sorted(path.name for path in Path("new/pictures").iterdir()) == ["porch.png", "quay.png"]
    run("check", "quay.json", "-m", "stroller.json", "--from", "start-1", "--image", "alone.png")
    assert Path("alone.png").read_bytes() == Path("new/pictures/quay.png").read_bytes()
    first = Path("world.png").read_bytes()
    assert run("world", *ALONE, house, "--contact-sheet", "world.png").code == 0
    assert Path("world.png").read_bytes() == first


def test_pictures_that_an_earlier_run_left_are_told(run, house, here):
    (here / "quay.png").write_bytes(b"")
    (here / "quay.json").write_text(json.dumps(DOORS | {"name": "Quay"}), encoding="utf-8")
    change(here, links=[{"from": "porch/exit-1", "to": "porch/start"}, {"from": "quay/exit-1", "to": "quay/start"}])
    ran = run("world", *ALONE, house, "--images", ".")
    assert "left by an earlier run in ., and not drawn now: quay.png" in ran.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--images", "quay.json"], "it is a file, not a folder"),
        (["--contact-sheet", "world.gif"], "its name must end in .png"),
        (["--contact-sheet", "none/world.png"], "there is no folder none"),
        (["--contact-sheet", "a.png", "-o", "a.png"], "has the same name"),
    ],
)
def test_pictures_that_cannot_be_written_are_refused_before_any_work(run, house, checker, words, told):
    ran = run("world", *ALONE, house, *words)
    assert (ran.code, checker.calls, told in ran.err) == (2, [], True)


def test_only_what_has_changed_is_checked_unless_that_is_everything(run, house, monkeypatch):
    known = {house, "stroller.json", "quay.json", "porch.json"}
    monkeypatch.setattr("reach.world.changed_levels.unchanged_since", lambda revision, folder: known)
    ran = run("world", *ALONE, house, "--changed-since", "main", "--format", "json")
    assert ran.code == 0 and json.loads(ran.out)["changed_since"] == "main"
    assert ran.err == "reach: 2 levels not checked\n"
    known.remove(house)
    ran = run("world", *ALONE, house, "--changed-since", "main")
    assert ran.out.startswith("OK  House: 2 levels; 2 links")
    assert ran.err.startswith(f"reach: {house} has changed since main, or git does not know it: the whole world is")


def test_a_revision_that_is_an_option_is_refused(run, house, here, monkeypatch):
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(here.parent))
    ran = run("world", house, "--changed-since", "-p")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("reach: <arguments>: --changed-since: found ") and ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--scheduler", "192.0.2.7"], "<arguments>: --scheduler: found '192.0.2.7'; allowed: HOST:PORT"),
        (["--scheduler", "192.0.2.7:8786", "--jobs", "2"], "<arguments>: --jobs: found it beside --scheduler"),
    ],
)
def test_a_cluster_that_cannot_be_is_refused_before_any_work(run, house, checker, words, told):
    ran = run("world", house, *words)
    assert (ran.code, ran.out, checker.calls, told in ran.err) == (2, "", [], True)
    assert len(ran.err.splitlines()) == 1


def test_a_number_of_jobs_in_the_settings_does_not_bar_a_cluster(run, house, here, checker):
    (here / "reach.toml").write_text("jobs = 2\n", encoding="utf-8")
    ran = run("world", house, "--scheduler", "192.0.2.7")
    assert ran.code == 2 and "--scheduler: found '192.0.2.7'" in ran.err and "--jobs" not in ran.err
