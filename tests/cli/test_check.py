"""`reach check`: what it hands to the checker, where results go, and its exit codes."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from reach.findings import Severity
from reach.report.json_report import dump
from reach.report.text_report import compose
from reach.script import load_script, script_to_dict
from tests.cli.conftest import LEVEL, WALK
from tests.made_reports import MEANT, SOFTLOCK, TIGHT_LANDING, UNUSED, make_report


def test_text_goes_to_standard_output_and_nothing_beside_it(run, quay, checker):
    ran = run("check", *quay)
    assert (ran.code, ran.out) == (0, compose(checker.report).plain)
    assert not ran.err.replace(ran.err[: ran.err.find("...\n") + 4] if "compiling" in ran.err else "", "")


def test_json_is_the_report_and_nothing_else(run, quay, checker):
    ran = run("check", *quay, "--format", "json")
    assert (ran.code, ran.out) == (0, dump(checker.report))


@pytest.mark.parametrize(
    ("found", "fail_on", "code"),
    [
        ((), "note", 0),
        ((UNUSED,), "error", 0),
        ((UNUSED,), "warning", 0),
        ((UNUSED,), "note", 1),
        ((TIGHT_LANDING,), "error", 0),
        ((TIGHT_LANDING,), "warning", 1),
        ((TIGHT_LANDING,), "note", 1),
        ((SOFTLOCK,), "error", 1),
        ((MEANT, replace(SOFTLOCK, accepted="A trap.")), "note", 0),
    ],
)
def test_exit_code_follows_the_gravest_finding_that_is_not_accepted(run, quay, checker, found, fail_on, code):
    checker.report = make_report(findings=found)
    assert run("check", *quay, "--fail-on", fail_on).code == code


def test_only_errors_fail_unless_asked_otherwise(run, quay, checker):
    checker.report = make_report(findings=(TIGHT_LANDING,))
    assert run("check", *quay).code == 0
    checker.report = make_report(findings=(replace(TIGHT_LANDING, severity=Severity.ERROR),))
    assert run("check", *quay).code == 1


def test_options_reach_the_checker(run, quay, checker):
    words = "--from gate --window-ms 80 --timing-spread-ms 50 --time-limit 2.5 --memory-limit 512"
    assert run("check", *quay, *words.split()).code == 0
    level, movement, options = checker.calls[0]
    assert (level.name, movement.name) == ("Quay", "stroller")
    assert options.from_place == "gate"
    assert (options.window_threshold_ms, options.timing_spread_ms) == (80.0, 50.0)
    assert (options.time_limit_s, options.memory_limit_mib) == (2.5, 512)


@pytest.mark.parametrize("words", [("--window-ms", "1e9"), ("--time-limit", "1e12")])
def test_a_number_beyond_what_is_allowed_is_one_line_before_any_work(run, quay, checker, words):
    ran = run("check", *quay, *words)
    assert (ran.code, ran.out, checker.calls) == (2, "", [])
    assert len(ran.err.splitlines()) == 1 and "allowed: a number" in ran.err


def test_without_options_the_checker_gets_its_own_defaults(run, quay, checker):
    from reach.options import CheckOptions

    run("check", *quay)
    assert checker.calls[0][2] == CheckOptions()


def test_a_report_in_a_file_is_the_one_that_would_be_printed(run, quay, checker, here):
    checker.report = make_report(findings=(SOFTLOCK,))
    ran = run("check", *quay, "--format", "json", "-o", "report.json")
    assert (ran.code, ran.out) == (1, "")
    assert (here / "report.json").read_bytes() == dump(checker.report).encode()
    assert "reach: 1 error" in ran.err
    assert "report.json" in ran.err


def test_scripts_of_every_reachable_place_but_the_start(run, quay, checker, here):
    ran = run("check", *quay, "--scripts", "proofs")
    assert sorted(path.name for path in (here / "proofs").iterdir()) == ["lamp.json"]
    assert load_script(here / "proofs" / "lamp.json") == WALK
    assert "1 proof script: proofs" in ran.out


def test_a_script_that_an_earlier_run_left_is_named(run, quay, checker, here):
    (here / "proofs").mkdir()
    (here / "proofs" / "attic.json").write_text("{}")
    (here / "proofs" / "mine.json").write_text("{}")
    ran = run("check", *quay, "--scripts", "proofs")
    assert "no proof now: attic.json\n" in ran.out
    assert (here / "proofs" / "attic.json").read_text() == "{}"


def test_scripts_into_ground_without_a_way_out_are_written_and_named(run, quay, checker, here):
    stuck = replace(SOFTLOCK, details={"way_in": script_to_dict(WALK)})
    checker.report = replace(checker.report, findings=(stuck,))
    (here / "proofs" / "stuck").mkdir(parents=True)
    (here / "proofs" / "stuck" / "softlock-9-9.json").write_text("{}")
    ran = run("check", *quay, "--scripts", "proofs")
    folder = Path("proofs") / "stuck"
    assert load_script(here / folder / "softlock-4-5.json") == WALK
    assert f"1 script into ground without a way out: {folder}\n" in ran.out
    assert f"left by an earlier run in {folder}, and no proof now: softlock-9-9.json\n" in ran.out


def test_the_picture_is_written_and_named(run, quay, checker, here):
    ran = run("check", *quay, "--image", "map.png")
    assert ran.code == 0
    assert (here / "map.png").read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    assert "picture: map.png" in ran.out


@pytest.mark.parametrize(
    "words",
    [
        ["--image", "nowhere/map.png"],
        ["--image", "map.bmp"],
        ["-o", "nowhere/report.txt"],
        ["-o", "."],
        ["--scripts", "quay.json"],
    ],
)
def test_an_output_that_cannot_be_is_refused_before_any_work(run, quay, checker, here, words):
    before = sorted(here.iterdir())
    ran = run("check", *quay, *words)
    assert (ran.code, ran.out) == (2, "")
    assert words[1] in ran.err
    assert "Traceback" not in ran.err
    assert checker.calls == []
    assert sorted(here.iterdir()) == before


def test_a_level_is_read_from_standard_input(run, quay, checker, monkeypatch):
    import io

    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(json.dumps(LEVEL).encode())))
    assert run("check", "-", *quay[1:]).code == 0
    assert checker.calls[0][0].name == "Quay"


def test_every_mistake_of_a_file_is_one_line_on_standard_error(run, quay, checker, here):
    (here / "quay.json").write_text(json.dumps(LEVEL | {"tile_px": 1, "colour": "red"}))
    ran = run("check", *quay)
    assert (ran.code, ran.out) == (2, "")
    lines = [line for line in ran.err.splitlines() if "quay.json" in line]
    assert len(lines) == 2
    assert any("tile_px" in line for line in lines)
    assert any("colour" in line for line in lines)


def test_a_number_that_means_nothing_is_refused(run, quay, checker):
    ran = run("check", *quay, "--timing-spread-ms", "nan")
    assert ran.code == 2
    assert "timing" in ran.err
    assert checker.calls == []


def test_a_check_of_a_real_level_from_end_to_end(run, quay, here):
    ran = run("check", *quay, "--format", "json", "--scripts", "proofs")
    data = json.loads(ran.out)
    assert [(place["id"], place["verdict"]) for place in data["places"]] == [
        ("start-1", "reachable"),
        ("goal-1", "reachable"),
    ]
    assert data["tiles"]["unreachable"] == data["tiles"]["undecided"] == []
    assert [path.name for path in (here / "proofs").iterdir()] == ["goal-1.json"]
    assert run("check", *quay, "--format", "json").out == ran.out
