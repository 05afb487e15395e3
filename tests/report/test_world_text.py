from dataclasses import replace

from reach.report.world_text import compose, headline
from reach.world.result import Job
from reach.world.world_file import WorldAccept
from tests.made_reports import MEANT, SOFTLOCK, TIGHT_LANDING, UNUSED
from tests.made_worlds import NO, OPEN, judged, judged_part, made_world

ROOMS = {
    "hall": {"a": "exit", "b": "exit", "c": "exit"},
    "den": {"lamp": {"kind": "goal", "ends_level": False}, "out": "exit"},
    "attic": {},
    "lost": None,
    "barn": {"out": "exit"},
    "well": {"out": "exit"},
}
LINKS = {
    "hall/a": "den/in",
    "hall/b": "lost/gate",
    "hall/c": "barn/in",
    "den/out": "hall/in",
    "barn/out": "well/in",
    "well/out": "hall/in",
}
TABLE = {"den/in": {"lamp": NO}, "barn/in": {"out": OPEN}}
FOUND = {Job("hall", "in"): (TIGHT_LANDING, UNUSED, MEANT), Job("den", "in"): (SOFTLOCK,)}


def made(table=TABLE, rooms=ROOMS, links=LINKS, found=FOUND, start="hall/in", must_reach=("den/lamp",)):
    return judged(made_world(rooms, links, start, must_reach), table, findings=found)


def rows(report):
    text = compose(report).plain
    return [line for line in text.splitlines()[3:] if line][: len(report.levels) + 1]


def test_the_first_line_says_it_all():
    text = compose(made()).plain
    assert text.splitlines()[0] == (
        "1 level failed, 3 errors, 2 warnings, 1 note  made: 6 levels, 1 cannot be entered, 1 perhaps not entered; "
        "6 links; begins at hall/in"
    )


def test_the_table_has_the_worst_level_first_and_says_where_to_look():
    words = [line.split() for line in rows(made())]
    assert [line[:5] for line in words[1:]] == [
        ["x", "failed", "lost", "-", "-"],
        ["x", "errors", "den", "2", "-"],
        ["x", "not", "entered", "attic", "1"],
        ["!", "warnings", "hall", "-", "1"],
        ["?", "undecided", "well", "-", "1"],
        ["+", "good", "barn", "-", "-"],
    ]
    assert words[2][7:] == ["goal-out-of-reach", "of", "lamp"]
    assert words[4][7:] == ["tight-landing", "on", "tile", "6,1"]
    assert len({line.index(line.split()[-1]) for line in rows(made())[:1]}) == 1


def test_columns_stand_below_their_titles():
    title, *lines = rows(made())
    for line in lines:
        for heading in ("errors", "warnings", "notes"):
            end = title.index(heading) + len(heading)
            assert line[end - 1] in "-0123456789" and line[end : end + 2].strip() == ""


def test_every_error_and_warning_is_written_out_and_notes_are_counted():
    text = compose(made()).plain
    assert "\nErrors\n  den: softlock on tile 4,5\n" in text
    assert "    To do: Add a way out.\n  goal-out-of-reach of den/lamp\n" in text
    assert (
        "  den: softlock on tile 4,5\n    From the cistern no input leads to a goal.\n    To do: Add a way out.\n"
        in text
    )
    assert "\nWarnings\n  hall: tight-landing on tile 6,1\n" in text
    assert "\nWarnings that follow from others\n  unentered-level of well\n" in text
    assert "1 note not shown here (1 unused-ground)" in text
    assert "\nKnown and meant, not counted\n  hall: no-return on tile 4,2\n    Meant: The tide has come in.\n" in text


def test_where_a_timing_is_told_it_is_said_to_be_no_promise():
    assert "none of accessibility" in " ".join(compose(made()).plain.split())
    assert "accessibility" not in compose(made(found={})).plain


def test_what_is_known_and_meant_stands_apart_with_its_reason():
    world = made_world({"hall": {"a": "exit"}}, {}, "hall/in")
    accept = (WorldAccept("loose-exit", None, None, "The tide has come in."),)
    text = compose(judged(replace(world, accept=accept))).plain
    assert text.startswith("OK  made: 1 level")
    assert "\nKnown and meant, not counted\n  loose-exit of hall/a\n    Meant: The tide has come in.\n" in text


def test_an_entry_that_accepts_nothing_is_told_in_full():
    world = made_world({"hall": {"a": "exit"}}, {"hall/a": "hall/in"}, "hall/in")
    text = compose(judged(replace(world, accept=(WorldAccept("loose-exit", "hall", None, "Later."),)))).plain
    assert "\nNotes\n  stale-accept of hall\n    The world file accepts a finding of 'loose-exit' about 'hall'" in text
    assert "To do: Remove the entry" in text and "not shown here" not in text


def test_the_movement_is_named_and_that_it_is_another_than_the_worlds_own():
    report = made()
    first, *others = report.levels
    report = replace(report, levels=(replace(first, movement_name="courier"), *others), instead_of="walker.json")
    assert compose(report).plain.splitlines()[1] == (
        "Played as tests; hall as courier. Given in place of walker.json, which the world file names."
    )


def test_a_failed_level_is_told_with_its_reason():
    assert "\nFailed: lost (lost.json)\n    lost.json: found no such file; allowed: a file\n" in compose(made()).plain
    text = compose(made({"hall/in": None})).plain
    assert "\nFailed: hall (hall.json)\n    From in: a made failure\n" in text


def test_a_finding_of_a_level_with_several_entrances_names_them():
    rooms = {**ROOMS, "den": {"gate": "entrance", "out": "exit"}, "lost": {"out": "exit"}}
    links = LINKS | {"hall/b": "den/gate"}
    text = compose(made({}, rooms, links, {Job("den", "gate"): (SOFTLOCK,)}, must_reach=())).plain
    assert "  den: softlock on tile 4,5, from gate\n" in text


def test_a_limit_is_told():
    report = made({}, {"hall": {"a": "exit"}}, {"hall/a": "hall/in"}, {}, must_reach=())
    (level,) = report.levels
    (outcome,) = level.outcomes
    late = replace(
        outcome, report=replace(outcome.report, complete=False, incomplete_why="the time limit of 2 s was reached")
    )
    text = compose(replace(report, levels=(replace(level, outcomes=(late,)),))).plain
    assert "? not finished  hall" in text
    assert "Not finished: hall from in: the time limit of 2 s was reached. What was not proved" in text


def test_a_good_world_is_ok_and_short():
    report = made({}, {"hall": {"a": "exit"}}, {"hall/a": "hall/in"}, {}, must_reach=())
    assert headline(report) == "OK"
    assert compose(report, written=["picture: a.png"]).plain.splitlines() == [
        "OK  made: 1 level; 1 link; begins at hall/in",
        "Played as tests.",
        "",
        "          level  errors  warnings  notes  look first at",
        "  + good  hall        -         -      -",
        "",
        "Written",
        "  picture: a.png",
    ]


def test_a_folder_says_that_its_levels_stand_alone():
    report = made({}, {"hall": {"a": "exit"}, "den": {}}, {}, {}, None, ())
    assert compose(report).plain.startswith("OK  made: 2 levels, each on its own from its start\n")


def test_a_report_on_a_part_is_never_ok_and_names_what_was_not_checked():
    world = made_world({"hall": {"a": "exit"}, "den": {"lamp": "goal"}, "attic": {}}, {"hall/a": "den/in"}, "hall/in")
    text = compose(judged_part(world, ["hall", "den"])).plain
    assert text.startswith("nothing found, 1 level not checked  made: 2 of 3 levels checked, those changed since main ")
    assert "the world as a whole was not looked at" in text
    assert "Not checked, since nothing that they follow from has changed since main: attic.\n" in text
    assert [line.split()[:4] for line in text.splitlines() if "  + " in line] == [
        ["+", "not", "grave", "hall"],
        ["+", "not", "grave", "den"],
    ]
    none = compose(judged_part(world, [])).plain
    assert none.startswith("3 levels not checked  made: no level of 3 has changed since main\n")
    assert "good" not in none and "hall, den and attic." in none
