from dataclasses import replace

from reach.findings import Severity
from reach.world.result import Job, LevelResult, Outcome, State, without_drawing
from tests.made_reports import MEANT, SOFTLOCK, TIGHT_LANDING, make_report
from tests.made_worlds import YES, judged, made_world

LOOSE = {"hall": {"door": "exit"}, "den": {}}


def test_findings_of_the_world_and_of_its_levels_are_counted_unless_accepted():
    told = {Job("hall", "in"): (SOFTLOCK, TIGHT_LANDING, MEANT)}
    report = judged(made_world(LOOSE, {}, "hall/in"), findings=told)
    assert [report.count(each) for each in (Severity.ERROR, Severity.WARNING, Severity.NOTE)] == [2, 2, 0]
    assert [report.count_of("hall", each) for each in (Severity.ERROR, Severity.WARNING)] == [1, 2]
    assert report.count_of("den", Severity.ERROR) == 1


def test_a_level_fails_with_its_file_or_with_any_job():
    report = judged(made_world(LOOSE | {"lost": None}, {"hall/door": "den/in"}, "hall/in"), {"den/in": None})
    assert [level.id for level in report.failed] == ["den", "lost"]
    assert not report.complete
    assert judged(made_world(LOOSE, {"hall/door": "den/in"}, "hall/in")).complete


def test_a_level_is_complete_only_if_no_limit_was_hit():
    checked = Outcome(Job("hall", "in"), State.CHECKED, make_report(complete=False, incomplete_why="late"))
    level = LevelResult("hall", "hall.json", "Hall", "walker", YES, (checked,), ())
    assert not level.failed and not level.complete
    assert replace(level, outcomes=(replace(checked, report=make_report()),)).complete


def test_what_only_a_picture_needs_is_left_out_and_nothing_else():
    from reach.report.json_report import dump

    report = make_report(findings=(TIGHT_LANDING,))
    lean = without_drawing(report)
    assert dump(lean) == dump(report)
    assert not lean.coverage.size and report.coverage.size
    assert not any(move.arc_px for move in lean.moves) and not lean.findings[0].marks
