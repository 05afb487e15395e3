"""The text report: what it must say, and that it says it without colour too."""

import io
from dataclasses import replace

import pytest
from rich.console import Console

from reach.findings import Verdict
from reach.report.text_report import TIMING_NOTE, compose, headline
from tests.made_reports import (
    ATTIC,
    DROP,
    LAMP,
    MEANT,
    SOFTLOCK,
    START,
    TIGHT_HOP,
    TIGHT_LANDING,
    UNUSED,
    WIDE_HOP,
    make_report,
)


def plain(report, **options):
    return compose(report, **options).plain


def flat(report, **options):
    return " ".join(plain(report, **options).split())


@pytest.mark.parametrize(
    ("findings", "expected"),
    [
        ((), "OK"),
        ((UNUSED,), "OK, 1 note"),
        ((TIGHT_LANDING,), "1 warning"),
        ((SOFTLOCK, SOFTLOCK, TIGHT_LANDING, UNUSED), "2 errors, 1 warning, 1 note"),
        ((replace(SOFTLOCK, accepted="It is a trap."),), "OK"),
    ],
)
def test_headline_counts_what_is_not_accepted(findings, expected):
    report = make_report(findings=findings)
    assert headline(report) == expected
    assert plain(report).startswith(f"{expected}  Rope Walk, played as lamplighter from start-1\n")


def test_a_level_without_an_ending_says_what_was_not_asked():
    assert "No place ends this level" in flat(make_report(has_ending=False))
    assert "No place ends this level" not in flat(make_report())


def test_every_place_has_one_aligned_line_with_a_sign_and_a_word():
    undecided = replace(LAMP, id="belfry", verdict=Verdict.UNDECIDED, ticks=None)
    lines = plain(make_report(places=(START, LAMP, ATTIC, undecided))).splitlines()
    first = lines.index("Places") + 1
    assert lines[first : first + 4] == [
        "  + reachable    start-1  start   1,2            touched at once",
        "  + reachable    lamp     goal    6,1  required  in 143 ticks (2.4 s)",
        "  x unreachable  attic    pickup  3,0            meant to be unreachable",
        "  ? undecided    belfry   goal    6,1  required",
    ]


def test_a_promise_that_does_not_hold_is_said_beside_the_place():
    open_attic = replace(ATTIC, verdict=Verdict.REACHABLE, ticks=60)
    assert "in 60 ticks (1 s), meant to be unreachable, and is not" in plain(make_report(places=(open_attic,)))
    unsure = replace(ATTIC, verdict=Verdict.UNDECIDED)
    assert "and is not" not in plain(make_report(places=(unsure,)))


def test_tiles_are_counted_by_verdict():
    assert "Of 4 tiles to stand on: 3 reachable, 1 unreachable, 0 undecided." in plain(make_report())


def test_findings_stand_by_severity_with_tile_message_and_what_to_do():
    text = plain(make_report(findings=(UNUSED, TIGHT_LANDING, SOFTLOCK, MEANT)))
    order = [
        text.index(words) for words in ("Errors", "softlock", "Warnings", "tight-landing", "Notes", "unused-ground")
    ]
    assert order == sorted(order)
    assert "  softlock on tile 4,5\n    From the cistern no input leads to a goal.\n    To do: Add a way out.\n" in text
    assert "  unused-ground\n" in text, "a finding about the whole level names no tile"
    meant = text[text.index("Known and meant, not counted") :]
    assert "no-return on tile 4,2" in meant
    assert "Meant: The tide has come in." in meant
    assert "Add one." not in meant


def test_a_way_that_is_not_shown_to_be_the_easiest_is_not_called_so():
    words = plain(replace(make_report(), route_easiest=False, route=()))
    assert "Way that was proved to " in words and "Easiest" not in words


def test_narrowest_move_of_the_route_with_its_window_and_the_note_on_averages():
    words = flat(make_report())
    assert (
        "Easiest way to lamp: 2 moves Its narrowest is the jump from tile 4,2 to tile 6,1: a window of 3 ticks "
        "(50 ms), all its landings within 4.5 px; 68.3 % of tries succeed at a timing spread of 25 ms."
    ) in words
    assert TIMING_NOTE in words


def test_moves_left_out_by_a_limit_are_told_and_given_no_figures():
    late = replace(WIDE_HOP, window_ticks=None, window_ms=None, chance=None, landing_room_px=None, left_out=True)
    words = flat(make_report(moves=(late, DROP, TIGHT_HOP)))
    assert "Its narrowest measured one is the jump from tile 4,2 to tile 6,1" in words
    words = flat(make_report(moves=(late, DROP, late)))
    assert "No move of it has a measured window." in words and "window of" not in words


def test_a_window_at_the_cap_is_called_at_least():
    moves = (replace(TIGHT_HOP, window_ticks=30, window_ms=500.0, window_open=True),)
    assert "a window of at least 30 ticks (500 ms)" in flat(make_report(moves=moves, route=(0,)))


def test_no_timing_figure_and_no_note_without_a_route():
    words = flat(make_report(route=(), route_to=None))
    assert "Easiest way" not in words
    assert TIMING_NOTE not in words


def test_a_way_on_foot_has_no_move_to_measure():
    words = flat(make_report(route=()))
    assert "Easiest way to lamp: on foot" in words
    assert TIMING_NOTE not in words


def test_a_route_without_measured_moves_says_so():
    assert "No move of it has a measured window." in plain(make_report(route=(1,)))


def test_a_check_that_was_cut_short_says_so_at_the_top():
    text = plain(make_report(complete=False, incomplete_why="the time limit of 2 s was reached"))
    assert "Not finished: the time limit of 2 s was reached." in text.splitlines()[1]
    assert "undecided" in text.splitlines()[1]
    assert "Not finished" not in plain(make_report())


def test_what_was_written_stands_at_the_end():
    assert plain(make_report(), written=["picture: map.png"]).endswith("\nWritten\n  picture: map.png\n")
    assert "Written" not in plain(make_report())


@pytest.mark.parametrize("width", [60, 100])
def test_words_are_wrapped(width):
    long = replace(SOFTLOCK, message="word " * 80)
    text = plain(make_report(findings=(long,)), width=width)
    inside = [line for line in text.splitlines() if line.startswith("    word")]
    assert len(inside) > 1
    assert max(map(len, inside)) <= width


def test_colour_adds_nothing_to_the_words():
    report = make_report(findings=(SOFTLOCK, TIGHT_LANDING, UNUSED, MEANT))
    stream = io.StringIO()
    Console(file=stream, force_terminal=True, color_system="standard", soft_wrap=True, highlight=False).print(
        compose(report), end=""
    )
    coloured = stream.getvalue()
    assert "\x1b[" in coloured
    without = io.StringIO()
    Console(file=without, force_terminal=False, soft_wrap=True, highlight=False).print(compose(report), end="")
    assert without.getvalue() == compose(report).plain
