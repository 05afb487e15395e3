from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from PIL import Image

from reach.errors import OutputError
from reach.report.font import text_width
from reach.report.movement_sheet_picture import STRIPE, WIDTH, draw_page, save_page, table_block
from reach.report.movement_sheet_tables import SheetTable, tables
from reach.report.palette import MIN_TEXT_CONTRAST, QUIET_INK, contrast
from reach.workshop.bounds import Bound
from tests.made_sheets import sample_sheet

NAMES = ["lamplighter", "courier", "ferryman"]


@pytest.mark.parametrize("name", NAMES)
def test_no_text_overlaps_another_or_leaves_the_page_and_all_is_legible(name):
    page = draw_page(sample_sheet(name))
    assert page.width == WIDTH
    for item in page.texts:
        left, top, right, bottom = item.box
        assert 0 <= left < right <= page.width and 0 <= top < bottom <= page.height, item.text
        assert contrast(item.ink, item.paper) >= MIN_TEXT_CONTRAST, item.text
    for one, other in combinations(page.texts, 2):
        apart = (
            one.box[2] <= other.box[0]
            or other.box[2] <= one.box[0]
            or one.box[3] <= other.box[1]
            or other.box[3] <= one.box[1]
        )
        assert apart, (one.text, other.text)


@pytest.mark.parametrize("name", NAMES)
def test_every_cell_and_note_of_every_table_is_on_the_page(name):
    sheet = sample_sheet(name)
    written = [item.text for item in draw_page(sheet).texts]
    for table in tables(sheet):
        for row in (table.columns, *table.rows):
            assert all(cell in written for cell in row if cell)
        assert table.title in written
        assert " ".join(table.notes) in " ".join(written)
    assert name in written


def test_texts_stand_on_the_paper_that_they_say():
    page = draw_page(sample_sheet("courier"))
    pixels = np.asarray(page.image)
    for item in page.texts:
        left, top, right, bottom = item.box
        block = pixels[top:bottom, left:right].reshape(-1, 3)
        assert (block == item.paper).all(axis=1).any(), item.text
    assert contrast(QUIET_INK, STRIPE) >= MIN_TEXT_CONTRAST


def test_columns_are_as_wide_as_their_widest_cell_and_their_headings():
    table = SheetTable(
        "Widths", (("", 1), ("a heading wider than its columns", 2)), ("a", "b", "c"), (("word", "1", "2"),), ()
    )
    texts = {item.text: item.box for item in table_block(table, 600).texts}
    heading = texts["a heading wider than its columns"]
    assert texts["word"][2] < heading[0]
    assert texts["2"][2] <= heading[2] + 1 and texts["c"][2] <= heading[2] + 1
    assert heading[2] - heading[0] <= text_width("a heading wider than its columns", 13, bold=True) + 1


def test_a_sheet_with_hardly_a_figure_is_drawn_too():
    sheet = sample_sheet("courier")
    row = replace(sheet.reach.rows[0], gap=Bound(None, None), whole_tiles=None, ledge=None, gap_with_window_spx=None)
    empty = replace(sheet, reach=replace(sheet.reach, rows=(row,), path_spx=(), limits=("no time",)))
    assert any("Not finished: no time." in item.text for item in draw_page(empty).texts)
    nothing = replace(sheet, reach=replace(sheet.reach, rows=(), path_spx=()))
    assert draw_page(nothing).height > 100


def test_a_long_name_is_cut():
    page = draw_page(replace(sample_sheet("courier"), name="the courier of the outer island " * 20))
    assert all(item.box[2] <= WIDTH for item in page.texts)


def test_the_page_is_written_whole_or_not_at_all(tmp_path):
    save_page(sample_sheet("courier"), tmp_path / "page.png")
    with Image.open(tmp_path / "page.png") as image:
        assert image.width == WIDTH
    with pytest.raises(OutputError):
        save_page(sample_sheet("courier"), tmp_path / "no" / "page.png")
