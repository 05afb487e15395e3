"""Colours against the published palette, and contrasts against the standard's formula and worked values."""

from __future__ import annotations

import pytest

from reach.findings import Severity, Verdict
from reach.report import palette
from reach.report.palette import (
    BLACK,
    COVERED,
    COVERED_EDGE,
    EDGE,
    HAZARD_FILL,
    INK,
    MIN_MARK_CONTRAST,
    MIN_TEXT_CONTRAST,
    MOVE,
    PAGE,
    QUIET_INK,
    ROUTE,
    SEVERITY_COLOUR,
    SOLID_FILL,
    SOLID_HATCH,
    VERDICT_COLOUR,
    WHITE,
    YELLOW,
    contrast,
    relative_luminance,
    text_colour_on,
)

# Okabe & Ito, "Color Universal Design" (2002, revised 2008); Wong, "Points of view: Color blindness", Nature Methods
# 8:441 (2011). Values as in the colour tables of published plotting packages.
OKABE_ITO = {
    "BLACK": "#000000",
    "ORANGE": "#E69F00",
    "SKY_BLUE": "#56B4E9",
    "BLUISH_GREEN": "#009E73",
    "YELLOW": "#F0E442",
    "BLUE": "#0072B2",
    "VERMILLION": "#D55E00",
    "REDDISH_PURPLE": "#CC79A7",
}


def rgb(code: str) -> tuple[int, int, int]:
    return int(code[1:3], 16), int(code[3:5], 16), int(code[5:7], 16)


@pytest.mark.parametrize(("name", "code"), OKABE_ITO.items())
def test_the_named_colours_are_the_published_ones(name, code):
    assert getattr(palette, name) == rgb(code)


# Worked values of the formula of the Web Content Accessibility Guidelines 2.2. #767676 on white is the standard's own
# example of a border that passes (understanding 1.4.11); the others were worked by hand from the same formula.
@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000000", "#FFFFFF", 21.0),
        ("#767676", "#FFFFFF", 4.5422),
        ("#777777", "#FFFFFF", 4.4781),
        ("#949494", "#FFFFFF", 3.0335),
        ("#959595", "#FFFFFF", 2.9953),
        ("#595959", "#FFFFFF", 7.0047),
        ("#FF0000", "#FFFFFF", 3.9985),
        ("#00FF00", "#FFFFFF", 1.3722),
        ("#0000FF", "#FFFFFF", 8.5925),
        ("#0000FF", "#000000", 2.4440),
        ("#808080", "#FFFFFF", 3.9494),
        ("#808080", "#000000", 5.3172),
    ],
)
def test_contrast_is_the_standards(one, other, ratio):
    assert contrast(rgb(one), rgb(other)) == pytest.approx(ratio, abs=5e-5)
    assert contrast(rgb(other), rgb(one)) == contrast(rgb(one), rgb(other))


def test_contrast_is_not_rounded_before_it_is_compared():
    assert 4.47 < contrast(rgb("#777777"), WHITE) < MIN_TEXT_CONTRAST
    assert 2.99 < contrast(rgb("#959595"), WHITE) < MIN_MARK_CONTRAST


@pytest.mark.parametrize(
    ("code", "luminance"),
    [("#E69F00", 0.4162), ("#56B4E9", 0.4050), ("#009E73", 0.2569), ("#F0E442", 0.7441), ("#0072B2", 0.1525)],
)
def test_luminance_of_the_palette(code, luminance):
    assert relative_luminance(rgb(code)) == pytest.approx(luminance, abs=5e-5)


@pytest.mark.parametrize("dark", [10, 11])
def test_luminance_joins_its_two_branches(dark):
    # 10 and 11 of 255 lie on both sides of the threshold 0.04045 (10.31 of 255); the curve is continuous there.
    low, high = relative_luminance((dark,) * 3), relative_luminance((dark + 1,) * 3)
    assert 0 < high - low < 4e-4


TEXTS = [
    (INK, PAGE),
    (QUIET_INK, PAGE),
    (YELLOW, BLACK),
    *((BLACK, colour) for colour in (*VERDICT_COLOUR.values(), *SEVERITY_COLOUR.values())),
]


@pytest.mark.parametrize(("ink", "paper"), TEXTS)
def test_text_stands_out(ink, paper):
    assert contrast(ink, paper) >= MIN_TEXT_CONTRAST


# A line of a finding is coloured on a black casing, or grey where it is accepted, and stands on whatever is below.
GROUNDS = (PAGE, COVERED, SOLID_FILL, SOLID_HATCH)
MARKS = [
    *((colour, BLACK) for colour in SEVERITY_COLOUR.values()),
    *((QUIET_INK, ground) for ground in GROUNDS),
    *((BLACK, ground) for ground in GROUNDS),
    *((INK, ground) for ground in GROUNDS),
    (VERDICT_COLOUR[Verdict.REACHABLE], WHITE),
    (VERDICT_COLOUR[Verdict.UNREACHABLE], WHITE),
    (VERDICT_COLOUR[Verdict.UNDECIDED], BLACK),
    (MOVE, WHITE),
    (MOVE, COVERED),
    (ROUTE, WHITE),
    (ROUTE, COVERED),
    (COVERED_EDGE, PAGE),
    (COVERED_EDGE, COVERED),
    *((EDGE, ground) for ground in GROUNDS),
    *((HAZARD_FILL, ground) for ground in GROUNDS),
]


@pytest.mark.parametrize(("mark", "ground"), MARKS)
def test_marks_stand_out(mark, ground):
    assert contrast(mark, ground) >= MIN_MARK_CONTRAST


def test_verdicts_and_severities_have_colours_of_their_own():
    assert set(VERDICT_COLOUR) == set(Verdict)
    assert set(SEVERITY_COLOUR) == set(Severity)
    assert len(set(VERDICT_COLOUR.values())) == 3
    assert len({*SEVERITY_COLOUR.values(), QUIET_INK}) == 4


def test_text_colour_is_the_one_that_stands_out_more():
    assert text_colour_on((250, 250, 250)) == BLACK
    assert text_colour_on((40, 40, 40)) == WHITE
