from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from reach.report.gap_chart import GapChart
from reach.report.palette import BLUE, BLUISH_GREEN, INK, MIN_MARK_CONTRAST, MOVE, PAGE, contrast
from tests.made_sheets import sample_sheet

SPX = 65536


@pytest.mark.parametrize("name", ["lamplighter", "courier", "ferryman"])
def test_each_gap_is_marked_where_it_ends_at_its_height(name):
    sheet = sample_sheet(name)
    chart = GapChart(sheet, 594)
    pixels = np.asarray(chart.draw().image)
    for row in sheet.reach.rows:
        for spx, colour in ((row.gap.at_least_spx, BLUE), (row.gap_with_window_spx, BLUISH_GREEN)):
            x = chart.left + (2 + spx / SPX / 16) * chart.tile
            y = chart.top + (chart.up - row.height_tiles) * chart.tile
            assert tuple(pixels[round(y), round(x)]) == colour


def test_marks_and_lines_stand_out_and_differ_in_shape():
    for colour in (BLUE, BLUISH_GREEN, INK, MOVE):
        assert contrast(colour, PAGE) >= MIN_MARK_CONTRAST
    chart = GapChart(sample_sheet("lamplighter"), 594)
    legend = np.asarray(chart._legend().image)
    row = 20
    square = (legend[:row] == BLUE).all(axis=2)
    disc = (legend[row : 2 * row] == BLUISH_GREEN).all(axis=2)
    # the corners of the square are filled, those of the disc are not; its line is broken
    assert square.sum() > disc.sum()
    assert (~disc[row // 2, chart.left : chart.left + 34]).sum() > 4


def test_the_scale_keeps_it_inside_its_width_whatever_the_gaps():
    sheet = sample_sheet("courier")
    for stretch in (1, 4, 12):
        rows = tuple(
            replace(row, gap=replace(row.gap, at_least_spx=row.gap.at_least_spx * stretch)) for row in sheet.reach.rows
        )
        chart = GapChart(replace(sheet, reach=replace(sheet.reach, rows=rows)), 594)
        assert chart.left + (chart.columns + 2) * chart.tile <= 594
        drawn = chart.draw()
        assert all(item.box[0] >= 0 and item.box[2] <= 594 for item in drawn.texts)
        numbers = [item for item in drawn.texts if item.text.isdigit()]
        assert all(one.box[2] < other.box[0] for one, other in pairwise(numbers))


def test_it_tells_the_window_in_its_legend():
    words = [item.text for item in GapChart(sample_sheet("courier"), 594).draw().texts]
    assert "at least so wide with a window of 4 ticks (67 ms)" in words
    assert "level" in words and "8 down" in words and "3 up" in words
