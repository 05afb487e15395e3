"""Level files as they are written."""

import itertools
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reach.errors import OutputError
from reach.json_text import parse_json
from reach.level import PlaceKind, level_from_dict, load_level
from reach.level_sources import level_to_dict, level_to_text, save_level
from tests.made_files import level_data

SYMBOLS = {
    "*": {"material": "spring", "launch_px_per_s": 480.25},
    "%": {"material": "spring", "launch_px_per_s": 300},
    "k": {"place": "checkpoint"},
    "e": {"place": "exit", "ends_level": False},
    "p": {"place": "pickup", "required": True},
    "a": {"place": "entrance"},
}


def test_the_layout():
    data = level_data(
        rows=["..+=.", ".@..!", "#%*##"],
        symbols=SYMBOLS,
        places=[{"id": "attic", "kind": "pickup", "at": [3, 0], "must_be": "unreachable"}],
        accept=[{"rule": "softlock", "at": [0, 2], "reason": "the tide"}, {"rule": "undecided", "reason": "known"}],
        note="left out",
    )
    assert level_to_text(level_from_dict(data)) == (
        "{\n"
        '  "format": "reach-level/1",\n'
        '  "name": "Quay",\n'
        '  "tile_px": 16,\n'
        '  "rows": [\n'
        '    "..+=.",\n'
        '    ".@..!",\n'
        '    "#*S##"\n'
        "  ],\n"
        '  "symbols": {\n'
        '    "*": {"material": "spring", "launch_px_per_s": 300},\n'
        '    "S": {"material": "spring", "launch_px_per_s": 480.25}\n'
        "  },\n"
        '  "places": [\n'
        '    {"id": "attic", "kind": "pickup", "at": [3, 0], "required": false, "must_be": "unreachable"}\n'
        "  ],\n"
        '  "accept": [\n'
        '    {"rule": "softlock", "at": [0, 2], "reason": "the tide"},\n'
        '    {"rule": "undecided", "reason": "known"}\n'
        "  ]\n"
        "}\n"
    )


def test_a_level_without_extras_has_no_empty_lists():
    assert list(level_to_dict(level_from_dict(level_data()))) == ["format", "name", "tile_px", "rows"]


def test_only_places_that_a_symbol_says_all_about_are_drawn():
    level = level_from_dict(
        level_data(
            rows=["!!+=@"],
            places=[{"id": "goal-9", "kind": "goal", "at": [1, 0]}, {"id": "goal-3", "kind": "goal", "at": [3, 0]}],
        )
    )
    data = level_to_dict(level)
    assert data["rows"] == ["!.+=@"]
    assert [(place["id"], place["at"]) for place in data["places"]] == [
        ("goal-2", [1, 0]),
        ("goal-9", [1, 0]),
        ("goal-3", [3, 0]),
    ]


@given(st.data())
def test_what_is_written_is_the_same_level(data):
    columns, rows = data.draw(st.integers(1, 5)), data.draw(st.integers(1, 4))
    tiles = [data.draw(st.sampled_from("...#=^*%!+kepa")) for _ in range(columns * rows)]
    tiles[data.draw(st.integers(0, len(tiles) - 1))] = "@"
    tiles = "".join("." if tile == "@" and index != tiles.index("@") else tile for index, tile in enumerate(tiles))
    open_tiles = [[i % columns, i // columns] for i, tile in enumerate(tiles) if tile not in "#^*%"]
    ids = st.sampled_from(["goal-1", "goal-2", "pickup-1", "pickup-7", "lamp", "exit-2"])
    kinds = st.sampled_from([kind.value for kind in PlaceKind if not kind.is_way_in])
    entry = st.fixed_dictionaries(
        {"id": ids, "kind": kinds, "at": st.sampled_from(open_tiles)},
        optional={"required": st.booleans(), "must_be": st.just("reachable")},
    )
    entries = data.draw(st.lists(entry, max_size=4, unique_by=lambda place: place["id"]))
    drawn = level_from_dict(
        level_data(rows=[tiles[r * columns : (r + 1) * columns] for r in range(rows)], symbols=SYMBOLS)
    )
    taken = {place.id for place in drawn.places}
    level = level_from_dict(
        level_data(
            rows=[tiles[r * columns : (r + 1) * columns] for r in range(rows)],
            symbols=SYMBOLS,
            places=[place for place in entries if place["id"] not in taken],
        )
    )
    text = level_to_text(level)
    again = level_from_dict(parse_json(text, "f").value)
    assert again.sha256 == level.sha256
    assert again.places == level.places
    assert again.launch_px_per_s == level.launch_px_per_s
    assert level_to_text(again) == text
    assert json.loads(text)["rows"] == level_to_dict(level)["rows"]


def test_saving(tmp_path):
    level = level_from_dict(level_data(name="Küste"))
    save_level(level, tmp_path / "a.json")
    assert load_level(tmp_path / "a.json").sha256 == level.sha256
    assert "Küste".encode() in (tmp_path / "a.json").read_bytes()
    with pytest.raises(OutputError):
        save_level(level, tmp_path / "none" / "a.json")
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]


def test_many_launches_get_a_symbol_each():
    rows = ["@" + "".join(chr(0x4E00 + index) for index in range(200))]
    symbols = {chr(0x4E00 + index): {"material": "spring", "launch_px_per_s": 1 + index / 4} for index in range(200)}
    level = level_from_dict(level_data(rows=rows, symbols=symbols))
    data = level_to_dict(level)
    assert level_from_dict(data).launch_px_per_s == level.launch_px_per_s
    assert len(set(itertools.chain(*data["rows"]))) == 201
