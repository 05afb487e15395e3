"""Text grids."""

import pytest

from reach.level_sources.mapping import TileMapping, load_mapping
from reach.level_sources.text_grid import read, refuse_ragged
from tests.made_files import refused


@pytest.fixture
def grid(tmp_path):
    def write(text, mapping=None):
        (tmp_path / "a.txt").write_bytes(text if isinstance(text, bytes) else text.encode())
        if mapping is None:
            return tmp_path / "a.txt", TileMapping()
        (tmp_path / "m.json").write_text('{"format": "reach-mapping/1", "tiles": ' + mapping + "}", encoding="utf-8")
        return tmp_path / "a.txt", load_mapping(tmp_path / "m.json")

    return write


@pytest.mark.parametrize("text", ["..@\n###\n", "..@\n###", "..@\r\n###\r\n", "\ufeff..@\n###\n"])
def test_lines_are_rows_however_they_end(grid, text):
    assert read(*grid(text)).rows == ["..@", "###"]


def test_spaces_are_empty_tiles_and_count(grid):
    assert read(*grid("  @\n   \n")).rows == ["  @", "   "]


def test_a_mapping_adds_to_the_known_symbols(grid):
    made = read(*grid("k@\u2028\n###", '{"k": {"place": "exit"}, "\u2028": "hazard"}'))
    assert made.rows == ["k@\u2028", "###"]
    assert made.symbols == {"k": {"place": "exit"}, "\u2028": {"material": "hazard"}}


@pytest.mark.parametrize(
    ("text", "problems"),
    [
        ("..@\n##\n###\n", [("line 2", "2 characters", "3 characters, as in line 1")]),
        ("..\n..@\n###\n", [("line 1", "2 characters", "3 characters, as in line 2")]),
        ("..@\n###\n\n", [("line 3", "0 characters", "3 characters, as in line 1")]),
        ("", [("", "an empty map", "1 to 4096 rows of 1 to 4096 tiles")]),
        ("\n\n", [("", "an empty map", "1 to 4096 rows of 1 to 4096 tiles")]),
        ("@" * 4097, [("", "4097 x 1 tiles", "1 to 4096 rows of 1 to 4096 tiles")]),
        ("@\n" * 4097, [("", "1 x 4097 tiles", "1 to 4096 rows of 1 to 4096 tiles")]),
    ],
)
def test_a_map_of_another_shape_is_refused(grid, text, problems):
    assert refused(read, *grid(text)) == problems


def test_unknown_symbols_are_told_once_each_with_their_first_place(grid):
    found = refused(read, *grid("..@\n?*?\n", '{"k": "solid"}'))
    assert [each[:2] for each in found] == [
        ("line 2, column 2", 'the unknown symbol "*"'),
        ("line 2, column 1", 'the unknown symbol "?"'),
    ]
    assert found[0][2].endswith('m.json: "k"')


def test_a_tab_is_no_symbol(grid):
    assert refused(read, *grid("\t@\n"))[0][:2] == ("line 1, column 1", 'the unknown symbol "\\t"')


def test_a_key_of_more_than_a_character_is_refused_in_the_mapping(grid):
    ((place, found, allowed),) = refused(read, *grid("..@\n", '{"ab": "solid"}'))
    assert place == "$.tiles.ab (line 1, column 41)"
    assert (found, allowed) == ('the key "ab"', "one character, for a text grid")


def test_bytes_that_are_no_text(grid):
    assert refused(read, *grid(b"..@\n#\xff#\n"))[0][1] == "the byte 0xFF in line 2, which is not UTF-8"


def test_the_usual_length_is_the_one_most_rows_have():
    assert refuse_ragged("f", [3, 3, 3], "row", "cells") is None
    found = refused(refuse_ragged, "f", [2, 3, 3, 4], "row", "cells")
    assert found == [("row 1", "2 cells", "3 cells, as in row 2"), ("row 4", "4 cells", "3 cells, as in row 2")]
