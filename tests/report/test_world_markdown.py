"""The summary as a reader of Markdown sees it: parsed with markdown-it-py, a parser of CommonMark and its tables."""

from dataclasses import replace
from itertools import pairwise

import pytest
from markdown_it import MarkdownIt

from reach.report import world_markdown
from reach.report.world_markdown import dump, escaped
from reach.world.result import Job
from reach.world.world_file import WorldAccept
from tests.made_reports import MEANT, SOFTLOCK, TIGHT_LANDING
from tests.made_worlds import NO, judged, judged_part, made_world

ROOMS = {"hall": {"a": "exit", "b": "exit"}, "den": {"lamp": "goal"}, "attic": {}, "lost": None}
LINKS = {"hall/a": "den/in", "hall/b": "lost/gate"}
FOUND = {Job("hall", "in"): (SOFTLOCK, TIGHT_LANDING, MEANT)}


def made(start="hall/in", rooms=ROOMS, links=LINKS, found=FOUND, must_reach=("den/lamp",), **values):
    world = made_world(rooms, links, start, must_reach if start else ())
    return judged(replace(world, **values), {"den/in": {"lamp": NO}}, findings=found)


def good(**values):
    return made("hall/in", {"hall": {"a": "exit"}}, {"hall/a": "hall/in"}, {}, (), **values)


def parsed(text):
    return MarkdownIt("commonmark").enable("table").parse(text)


def text_of(token):
    return "".join(child.content for child in token.children if child.type in ("text", "text_special", "softbreak"))


def inlines(text, after):
    """The text of everything that comes right after an opening of this kind."""
    tokens = parsed(text)
    return [text_of(then) for token, then in pairwise(tokens) if token.type == after]


def table(text):
    cells = inlines(text, "th_open") + inlines(text, "td_open")
    columns = len(inlines(text, "th_open"))
    return [cells[index : index + columns] for index in range(0, len(cells), columns)]


def test_the_heading_says_it_all():
    assert inlines(dump(made()), "heading_open")[0] == "made: 1 level failed, 3 errors, 1 warning"
    assert inlines(dump(made()), "paragraph_open")[0] == "4 levels, 1 cannot be entered; 2 links; begins at hall/in."


def test_the_table_has_the_worst_level_first():
    assert table(dump(made())) == [
        ["how", "level", "errors", "warnings", "notes", "accepted", "look first at"],
        ["x failed", "lost", "-", "-", "-", "-", "not checked: see below"],
        ["x errors", "hall", "1", "1", "-", "1", "softlock on tile 4,5"],
        ["x errors", "den", "1", "-", "-", "-", "goal-out-of-reach of lamp"],
        ["x not entered", "attic", "1", "-", "-", "-", "unentered-level"],
    ]


def test_what_failed_and_what_is_wrong_with_the_world_is_written_out():
    text = dump(made())
    assert inlines(text, "heading_open")[1:] == ["Failed", "Errors", "Warnings", "Known and meant, not counted"]
    entries = [line for line in inlines(text, "paragraph_open")[2:] if not line.startswith("Timing")]
    assert entries == [
        "lost lost.json: found no such file; allowed: a file",
        "hall: softlock on tile 4,5: From the cistern no input leads to a goal. To do: Add a way out.",
        "goal-out-of-reach of den/lamp: The goal 'den/lamp' must be reached, and cannot be, from where its level is "
        "entered: in. To do: Lead a link to another entrance, or open a way from the ones that are linked.",
        "unentered-level of attic: Nobody can enter the level 'attic': no link leads to it from another level. To do: "
        "Link an exit to it, or take it out of the world.",
        "hall: tight-landing on tile 6,1: The jump from tile 4,2 to tile 6,1 leaves a window of 3 ticks (50 ms). "
        "To do: Bring the ledge 5 px nearer.",
        "hall: no-return on tile 4,2: Meant: The tide has come in.",
    ]


def test_a_failed_check_is_told_with_its_entrance():
    report = judged(made_world({"hall": {}}, {}, "hall/in"), {"hall/in": None})
    assert "hall from in: a made failure" in inlines(dump(report), "paragraph_open")


def test_a_good_world_is_short():
    assert dump(good()) == (
        "## made: OK\n\n1 level; 1 link; begins at hall/in.\n\nPlayed as tests.\n\n"
        "1 level without an error or a warning.\n"
    )


def test_what_is_accepted_is_told_with_its_reason():
    accept = (WorldAccept("loose-exit", None, None, "The tide has come in."),)
    report = made("hall/in", {"hall": {"a": "exit"}}, {}, {}, (), accept=accept)
    text = dump(report)
    assert table(text)[1] == ["+ good", "hall", "-", "-", "-", "1", ""]
    assert "### Known and meant, not counted\n\n- **loose-exit of hall/a**: Meant: The tide has come in.\n" in text
    assert text.startswith("## made: OK\n")


def test_what_follows_from_others_stands_behind_them(monkeypatch):
    monkeypatch.setattr(world_markdown, "MAX_WARNINGS", 1)
    rooms = {"hall": {"a": "exit", "b": "exit", "c": "exit"}, "den": {"lamp": "goal"}}
    text = dump(judged(made_world(rooms, {"hall/a": "den/in"}, "hall/in"), {"hall/in": {"a": NO}}))
    assert inlines(text, "heading_open")[1:] == ["Warnings", "Errors that follow from others"]
    assert text.count("- **loose-exit") == 1 and "\n\n1 more not shown here.\n\n### Errors" in text


def test_a_limit_is_told():
    report = good()
    (level,) = report.levels
    (outcome,) = level.outcomes
    late = replace(outcome, report=replace(outcome.report, complete=False, incomplete_why="the time limit was reached"))
    text = dump(replace(report, levels=(replace(level, outcomes=(late,)),)))
    assert table(text)[1][:2] == ["? not finished", "hall"]
    assert (
        inlines(text, "paragraph_open")[-1]
        == "hall from in: the time limit was reached. What was not proved by then is undecided."
    )


def test_where_a_timing_finding_is_named_it_is_said_to_be_no_promise():
    assert "none of accessibility" in dump(made())
    assert "accessibility" not in dump(made(found={}))


def test_more_than_a_comment_holds_is_counted(monkeypatch):
    monkeypatch.setattr(world_markdown, "MAX_ENTRIES", 2)
    rooms = {"hall": {"a": "exit"}, **{f"attic-{number}": {} for number in range(5)}}
    text = dump(made("hall/in", rooms, {"hall/a": "hall/in"}, {}, ()))
    assert len(table(text)) == 3
    assert text.count("3 more not shown here.") == 2
    assert sum(token.type == "list_item_open" for token in parsed(text)) == 2


@pytest.mark.parametrize(
    "text",
    [
        "a|b",
        "*a* _b_ ~~c~~ `d`",
        "<script>x</script>",
        "[a](b) ![c](d)",
        "&lt; &#64;",
        "back\\slash \\*",
        "# no heading #",
        "@someone, someone@example.org",
        "https://example.org/a_b www.example.org",
        "{{ x }}",
    ],
)
def test_a_name_is_shown_as_it_is(text):
    assert table(f"| a | b | c | d | e | f |\n|--|--|--|--|--|--|\n| {escaped(text)} | | | | | |\n")[1][0] == text
    report = replace(good(), name=text)
    assert inlines(dump(report), "heading_open") == [f"{text}: OK"]
    (heading,) = [token for token in parsed(dump(report)) if token.type == "inline"][:1]
    assert {child.type for child in heading.children} <= {"text", "text_special"}


@pytest.mark.parametrize("text", ["@someone", "https://example.org", "HTTP://example.org", "www.example.org"])
def test_nothing_becomes_a_link_or_a_mention_by_itself(text):
    """GitHub Flavored Markdown 6.9 makes links of these; they are no longer in the text."""
    assert text not in escaped(text)


def test_a_name_stays_on_its_line():
    assert escaped("a\n\n# b\u2028c\u202ed") == "a \\# b c\N{REPLACEMENT CHARACTER}d"


def test_levels_that_were_not_checked_are_named_and_counted_beyond_a_hundred():
    rooms = {f"r{number}": {} for number in range(103)}
    text = dump(judged_part(made_world(rooms, {}, None), ["r0"]))
    assert text.startswith("## made: nothing found, 102 levels not checked\n")
    assert "1 level without an error or a warning.\n\nNot checked, since " in text
    assert text.endswith(" r99 and r100.\n\n2 more not shown here.\n")
