"""CSV tables."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reach.errors import InputError
from reach.level_sources.csv_grid import read
from reach.level_sources.mapping import TileMapping, load_mapping
from tests.made_files import refused

TILES = {
    "0": "empty",
    "1": "solid",
    "2": {"place": "start"},
    "-1": {"place": "exit", "required": False},
    "rope": {"material": "spring", "launch_px_per_s": 480},
}


@pytest.fixture(scope="module")
def table(tmp_path_factory):
    folder = tmp_path_factory.mktemp("csv")

    def write(text, tiles=None):
        (folder / "a.csv").write_bytes(text.encode())
        if tiles is None:
            return folder / "a.csv", TileMapping()
        (folder / "m.json").write_text(json.dumps({"format": "reach-mapping/1", "tiles": tiles}), encoding="utf-8")
        return folder / "a.csv", load_mapping(folder / "m.json")

    return write


def test_cells_of_symbols_need_no_mapping(table):
    made = read(*table('.,,@\r\n#,=,"^"\r\n'))
    assert made.rows == ["..@", "#=^"]
    assert made.symbols == {}


def test_whole_numbers_and_words_stand_for_what_the_mapping_tells(table):
    made = read(*table("0,02,-1\n1, rope ,+1\n", TILES))
    assert made.rows == [".@E", "#S#"]
    assert made.symbols == {"E": TILES["-1"], "S": TILES["rope"]}


def test_a_mapping_overrides_the_known_symbols(table):
    made = read(*table("#,@, \n", {"#": "hazard", " ": "solid"}))
    assert made.rows == ["^@#"]


def test_a_recording_is_told_as_one(table):
    text = "tick,x_px,y_px\n0,200,96\n1,201,96\n"
    found = "the header of a recording, with x_px and y_px"
    assert refused(read, *table(text)) == [("row 1", found, "a map, one cell a tile")]
    meant = dict.fromkeys(("tick", "x_px", "y_px", "200", "201", "96"), "empty") | TILES
    assert read(*table(text, meant)).rows == ["...", "...", "#.."]


def test_the_quoting_of_the_standard(table):
    """RFC 4180, section 2, rules 5 to 7: quoted fields, line breaks and commas in them, doubled quotes."""
    tiles = {",": "solid", "a b": "empty", '"': "one_way"}
    assert read(*table('"@",","\r\n"a b",""""\r\n', tiles)).rows == ["@#", ".="]
    ((place, found, _),) = refused(read, *table('"@","a\r\nb"\r\n', tiles))
    assert (place, found) == ("row 1, cell 2", 'the unknown cell "a\\r\\nb"')


@pytest.mark.parametrize(
    ("text", "problems"),
    [
        (".,@\n#\n", [("row 2", "1 cells", "2 cells, as in row 1")]),
        (".,@\n#,#\n\n#,#\n", [("row 3", "0 cells", "2 cells, as in row 1")]),
        ("", [("", "an empty map", "1 to 4096 rows of 1 to 4096 tiles")]),
        ("\n\n", [("", "an empty map", "1 to 4096 rows of 1 to 4096 tiles")]),
        (",".join("." * 4097), [("", "4097 x 1 tiles", "1 to 4096 rows of 1 to 4096 tiles")]),
    ],
)
def test_a_table_of_another_shape_is_refused(table, text, problems):
    assert refused(read, *table(text)) == problems


def test_blank_lines_at_the_end_are_no_rows(table):
    assert read(*table(".,@\n#,#\n\n\n")).rows == [".@", "##"]


def test_unknown_cells_are_told_once_each_with_their_first_place(table):
    found = refused(read, *table("0,2,7\n7,1;0,9999999999999999999\n", TILES))
    assert [each[:2] for each in found] == [
        ("row 1, cell 3", 'the unknown cell "7"'),
        ("row 2, cell 2", 'the unknown cell "1;0"'),
        ("row 2, cell 3", 'the unknown cell "9999999999999999999"'),
    ]
    assert 'm.json: "0" "1" "2" "-1" "rope"' in found[0][2]
    assert "none was given" in refused(read, *table("7,@\n"))[0][2]


@pytest.mark.parametrize("text", ['"@\n', '"@"x,.\n', "@," + "x" * 200_000])
def test_broken_csv_is_refused(table, text):
    ((place, found, allowed),) = refused(read, *table(text))
    assert place.startswith("line ")
    assert found.startswith("broken CSV (")
    assert allowed == "RFC 4180"


@given(st.text(st.sampled_from('.@#012-,;"\n\r \0é'), max_size=40))
def test_any_text_is_a_table_or_refused(table, text):
    try:
        made = read(*table(text, TILES))
    except InputError as error:
        assert error.problems
        return
    assert len({len(row) for row in made.rows}) == 1
