from dataclasses import replace
from math import ceil, floor

from reach.report.movement_sheet_tables import SheetNumbers, jump_table, tables, title, window_words
from reach.workshop.bounds import Bound
from tests.made_sheets import sample_sheet

PX = 65536
SHEET = sample_sheet("courier")
NUMBERS = SheetNumbers(SHEET)


def test_numbers_are_rounded_so_that_they_promise_nothing():
    third = PX // 3
    assert NUMBERS.px(third, floor) == "0.33" and NUMBERS.px(third, ceil) == "0.34"
    assert NUMBERS.px(-third) == "-0.33" and NUMBERS.px(5 * PX) == "5.00" and NUMBERS.px(None) == "-"
    assert NUMBERS.tiles(24 * PX) == "1.50" and NUMBERS.both(8 * PX) == ("8.00", "0.50")
    assert NUMBERS.ms(4) == "67" and NUMBERS.speed(2 * PX) == "120"
    assert NUMBERS.needed(1) == ("any", "any") and NUMBERS.needed(2) == ("0.01", "0.01")


def test_a_length_between_two_bounds_is_told_as_two():
    assert NUMBERS.bound(Bound(PX + 1, PX + 1), down=True) == ("1.00", "0.06")
    assert NUMBERS.bound(Bound(PX + 1, PX + 1), down=False) == ("1.01", "0.07")
    assert NUMBERS.bound(Bound(PX, 2 * PX), down=True) == ("1.00..2.00", "0.06..0.13")
    assert NUMBERS.bound(Bound(PX, None), down=True) == ("1.00..-", "0.06..-")
    assert NUMBERS.bound(None, down=True) == ("-", "-")


def test_every_row_has_a_cell_for_every_column_and_every_group_its_columns():
    for name in ("lamplighter", "courier", "ferryman"):
        for table in tables(sample_sheet(name)):
            assert table.rows
            assert {len(row) for row in table.rows} == {len(table.columns)}
            assert not table.groups or sum(count for _, count in table.groups) == len(table.columns)


def test_a_tapped_jump_that_is_higher_than_a_held_one_is_remarked_on():
    remark = "A tapped jump is higher than a held one"
    assert remark not in jump_table(SHEET).notes[0]
    bands = [
        replace(band, tapped=replace(band.held, height_spx=band.held.height_spx + 1)) for band in SHEET.takeoff_bands
    ]
    assert remark in jump_table(replace(SHEET, takeoff_bands=tuple(bands))).notes[0]


def test_the_title_tells_body_tile_clock_and_fall():
    words = "body 10 x 19 px, tiles of 16 px, 60 ticks a second, falls at most 335 px/s"
    assert title(SHEET) == words
    assert window_words(SHEET) == "a window of 4 ticks (67 ms)"


def test_gaps_of_two_bounds_and_limits_are_told_under_the_table():
    row = SHEET.reach.rows[0]
    wide = replace(row, gap=Bound(row.gap.at_least_spx, None))
    sheet = replace(SHEET, reach=replace(SHEET.reach, rows=(wide,), limits=("time ran out",)))
    gaps = tables(sheet)[0]
    assert gaps.rows[0][1] == "78.83..-"
    assert any("at least a and at most b" in note for note in gaps.notes)
    assert "Not finished: time ran out." in gaps.notes
    assert not any("at least a" in note for note in tables(SHEET)[0].notes)


def test_timing_figures_promise_nothing():
    assert any("average" in note and "no promise" in note for note in tables(SHEET)[0].notes)


def test_bands_out_of_reach_are_marked():
    band = replace(SHEET.takeoff_bands[0], is_reached=False, from_spx_per_tick=4 * PX)
    jumps = tables(replace(SHEET, takeoff_bands=(band,)))[2]
    assert jumps.rows[0][0] == "240 and more*"
    assert "*: walking and running from rest never take off at such a speed." in jumps.notes[0]


def test_what_has_no_figure_is_a_dash():
    walk = replace(SHEET.ground_speeds[0], to_top=None)
    assert tables(replace(SHEET, ground_speeds=(walk,)))[1].rows[0][2:] == ("-",) * 4
    band = replace(SHEET.takeoff_bands[0], held=None)
    assert tables(replace(SHEET, takeoff_bands=(band,)))[2].rows[0][2:] == ("-",) * 7


def test_whole_tiles_are_told_from_both_sides():
    row = replace(SHEET.reach.rows[0], gap=Bound(63 * PX, 80 * PX))
    table = tables(replace(SHEET, reach=replace(SHEET.reach, rows=(row,))))[0]
    assert table.rows[0][3] == "3..5"
