"""Drawing on a sheet: smooth, inside its bounds, dashes as long as asked, texts kept."""

from __future__ import annotations

from itertools import pairwise
from math import dist

import numpy as np
import pytest

from reach.report.palette import BLACK, INK, WHITE
from reach.report.sheet import Sheet, dashed


def ink(sheet) -> float:
    """How many pixels' worth of black there is."""
    return float((255 - np.asarray(sheet.image)[:, :, 0].astype(float)).sum() / 255)


def test_a_disc_has_the_area_of_a_circle():
    sheet = Sheet(60, 60, WHITE)
    sheet.disc((30, 30), 20, BLACK)
    assert ink(sheet) == pytest.approx(np.pi * 20**2, rel=0.02)


def test_a_polygon_has_its_area():
    sheet = Sheet(60, 60, WHITE)
    sheet.shape([(10, 10), (50, 10), (10, 50)], BLACK)
    assert ink(sheet) == pytest.approx(800, rel=0.05)


@pytest.mark.parametrize("width", [1.3, 2.0, 3.2])
def test_a_stroke_is_as_wide_as_asked(width):
    sheet = Sheet(120, 40, WHITE)
    sheet.strokes([[(10, 20), (110, 20)]], BLACK, width)
    column = (255 - np.asarray(sheet.image)[:, 60, 0].astype(float)).sum() / 255
    assert column == pytest.approx(width, abs=0.3)


def test_crossing_strokes_do_not_darken_each_other():
    grey = (100, 100, 100)
    sheet = Sheet(40, 40, WHITE)
    sheet.strokes([[(0, 20), (40, 20)], [(20, 0), (20, 40)]], grey, 6)
    assert sheet.image.getpixel((20, 20)) == grey


def test_what_lies_off_the_sheet_is_cut_off():
    sheet = Sheet(20, 20, WHITE)
    sheet.strokes([[(-500, 10), (500, 10)]], BLACK, 2)
    sheet.disc((-90, -90), 5, BLACK)
    assert ink(sheet) == pytest.approx(40, abs=6)


def test_dashes_and_gaps_are_as_long_as_asked():
    path = [(0.0, 0.0), (30.0, 0.0), (30.0, 40.0)]
    dashes = dashed(path, 8, 5)
    lengths = [sum(dist(a, b) for a, b in pairwise(one)) for one in dashes]
    assert lengths[:-1] == pytest.approx([8.0] * (len(lengths) - 1))
    assert 0 < lengths[-1] <= 8
    assert sum(lengths) == pytest.approx(8 * 5 + min(8, 70 - 65))
    gaps = [dist(before[-1], after[0]) for before, after in pairwise(dashes)]
    assert max(gaps) <= 5 + 1e-9


def test_texts_keep_their_place_when_a_sheet_is_pasted():
    inner = Sheet(100, 30)
    inner.text((5, 6), "lamp", 13)
    inner.text((50, 6), "   ", 13)
    page = Sheet(200, 100)
    page.paste(inner, (40, 50))
    (item,) = page.texts
    assert item.text == "lamp"
    left, top, right, bottom = item.box
    dark = (np.asarray(page.image.convert("L")) < 128).nonzero()
    assert left <= dark[1].min() and dark[1].max() < right
    assert top <= dark[0].min() and dark[0].max() < bottom
    assert item.ink == INK
