"""What a comparison says to people."""

from types import SimpleNamespace

import pytest

from reach.report.parity_text import decimal_text_px, to_text
from reach.workshop.explanations import Explained, Explanation
from reach.workshop.parity import Agreement, Difference
from reach.workshop.parity_hints import Hint

FIRST = Difference(43, 45, 43, 42, 0.25, -1.5, ("right", "jump"))


def course(name="", missing_tick=None, missing=0):
    return SimpleNamespace(
        take=SimpleNamespace(name=name), rows=61 - missing, missing=missing, missing_tick=missing_tick
    )


def comparison(differences=(FIRST,), courses=None, agreement=None):
    agreement = agreement or (Agreement.DIFFERS if any(differences) else Agreement.AGREES)
    return SimpleNamespace(
        movement=SimpleNamespace(name="lamplighter"),
        recording=SimpleNamespace(origin="hops.csv", rounding_said="exact, as told", rows=99),
        tolerance_px=0.05,
        courses=courses or tuple(course() for _ in differences),
        differences=differences,
        agreement=agreement,
    )


def change(name, said, ticks=60, off_px=0.0, is_fitted=False):
    return Explanation(name, said, is_fitted, ticks, off_px)


UNCHANGED = change("as it is", "the profile as it is", 42, 3.0)
LAUNCH = change("launch-tick-gravity", "gravity acts in the tick of the takeoff too")
GRAVITY = change("gravity", "gravity is 3 % higher", 60, 0.0625, True)


def test_agreement_is_said_plainly():
    assert to_text(comparison((None,)), None) == (
        'hops.csv against movement "lamplighter"\n'
        "positions exact, as told; tolerance 0.05 px\n"
        "1 take, 61 rows compared\n"
        "\n"
        "no difference: the character moves as the profile does\n"
    )


def test_the_first_difference_and_its_explanation():
    text = to_text(comparison(), Explained(UNCHANGED, (LAUNCH, GRAVITY), (LAUNCH, GRAVITY), 60, False))
    assert text.splitlines()[3:] == [
        "the recording: first differs in tick 43 (line 45), after 42 ticks that agree",
        "  the character is 0.25 px farther right and 1.5 px higher than the profile; buttons down: right, jump",
        "",
        "explained best as if",
        "  gravity acts in the tick of the takeoff too: follows all 60 ticks, 0 px off (root mean square)",
        "  the profile as it is follows 42 of 60",
        "as good an explanation, which this recording cannot tell from it:",
        "  gravity is 3 % higher (fitted): follows all 60 ticks, 0.0625 px off (root mean square)",
    ]


def test_no_explanation_and_too_short():
    text = to_text(comparison(), Explained(UNCHANGED, (change("x", "x is so", 44, 2.0),), (), 60, False))
    assert "none of the single changes tried explains the recording clearly" in text
    assert "the nearest, not near enough: x is so: follows 44 of 60 ticks" in text
    farther = Explained(UNCHANGED, (change("x", "x is so", 42, 2.0),), (), 60, False)
    assert "the nearest" not in to_text(comparison(), farther)
    assert "too soon after the difference" in to_text(comparison(), Explained(UNCHANGED, (LAUNCH,), (), 44, True))


def test_missing_ticks_are_told():
    text = to_text(comparison((None,), (course(missing=2),)), None)
    assert "1 take, 59 rows compared, and 2 missing ticks between them gone past" in text
    said = "no difference: the character moves as the profile does, with buttons in the 2 missing ticks that suit"
    assert f"{said} the rows after\n" in text
    part = to_text(comparison((None,), (course(missing_tick=12),), Agreement.UNDECIDED), None)
    assert "compared only up to tick 12, where more than 60 ticks are missing" in part
    assert part.endswith("\nundecided: no difference in the 61 of 99 rows that could be compared\n")
    open_ = to_text(comparison((FIRST,), (course(missing=9),), Agreement.UNDECIDED), None)
    assert open_.endswith("\nundecided: other buttons in the missing ticks might explain it\n")


def test_a_hint_is_told():
    assert to_text(comparison(), None, Hint("no-level", "give the level")).endswith("\n\ngive the level\n")


def test_takes_are_named_gaps_told_and_many_cut_short():
    named = comparison((None, FIRST), (course("stairs", 12), course("pit")))
    lines = to_text(named, None).splitlines()
    assert 'take "stairs": compared only up to tick 12, where more than 60 ticks are missing' in lines
    assert any(line.startswith('take "pit": first differs in tick 43') for line in lines)
    many = to_text(comparison((FIRST,) * 25), None)
    assert many.count("first differs") == 20
    assert "and 5 more takes that differ" in many


@pytest.mark.parametrize(("value", "text"), [(0, "0"), (0.05, "0.05"), (1 / 65536, "0.000015"), (12.5, "12.5")])
def test_lengths_keep_the_digits_that_matter(value, text):
    assert decimal_text_px(value) == text
