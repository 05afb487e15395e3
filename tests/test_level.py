"""Levels: what a file says, what it may not say, and what kernels get."""

import itertools
import json
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reach.errors import InputError
from reach.kernels.params import EMPTY, HAZARD, ONE_WAY, SOLID, SPRING
from reach.level import (
    KNOWN_SYMBOLS,
    MAX_PLACES,
    MAX_TILES,
    Accept,
    PlaceKind,
    compile_terrain,
    ending_at,
    level_from_dict,
    load_level,
)
from reach.movement import movement_from_dict
from tests.made_files import level_data, movement_data, refused

SPRING_SYMBOL = {"*": {"material": "spring", "launch_px_per_s": 480.5}}


def test_the_known_symbols():
    level = level_from_dict(level_data(rows=[". #=^", "@!+.."]))
    assert level.material.tolist() == [[EMPTY, EMPTY, SOLID, ONE_WAY, HAZARD], [EMPTY] * 5]
    assert [(place.id, place.kind, place.column, place.row) for place in level.places] == [
        ("start-1", PlaceKind.START, 0, 1),
        ("goal-1", PlaceKind.GOAL, 1, 1),
        ("pickup-1", PlaceKind.PICKUP, 2, 1),
    ]
    assert (level.columns, level.rows, level.tile_px, level.name, level.origin) == (5, 2, 16, "Quay", "<level>")
    assert set(KNOWN_SYMBOLS) == set(". #=^@!+")


def test_own_symbols_add_to_the_known_ones_and_override_them():
    symbols = SPRING_SYMBOL | {"#": "hazard", "é": {"material": "one_way"}, "\U0001d11e": {"place": "exit"}}
    level = level_from_dict(level_data(rows=["@#=", "é*\U0001d11e"], symbols=symbols))
    assert level.material.tolist() == [[EMPTY, HAZARD, ONE_WAY], [ONE_WAY, SPRING, EMPTY]]
    assert level.launch_px_per_s == {(1, 1): Decimal("480.5")}
    assert level.place("exit-1").column == 2


def test_material_and_launches_are_read_only():
    level = level_from_dict(level_data(rows=["@*"], symbols=SPRING_SYMBOL))
    with pytest.raises(ValueError, match="read-only"):
        level.material[0, 0] = SOLID
    with pytest.raises(TypeError):
        level.launch_px_per_s[(0, 0)] = Decimal(1)


def test_drawn_places_are_numbered_by_kind_in_reading_order():
    symbols = {"a": {"place": "pickup", "required": True}, "b": {"place": "entrance"}}
    level = level_from_dict(level_data(rows=["+.a", "b@+", "..b"], symbols=symbols))
    assert [(place.id, place.column, place.row, place.required) for place in level.places] == [
        ("pickup-1", 0, 0, False),
        ("pickup-2", 2, 0, True),
        ("entrance-1", 0, 1, False),
        ("start-1", 1, 1, False),
        ("pickup-3", 2, 1, False),
        ("entrance-2", 2, 2, False),
    ]


def test_places_are_sorted_by_row_column_and_id_however_they_are_told():
    entries = [
        {"id": "b", "kind": "goal", "at": [2, 0]},
        {"id": "c", "kind": "goal", "at": [0, 1]},
        {"id": "a", "kind": "goal", "at": [2, 0]},
    ]
    for order in itertools.permutations(entries):
        level = level_from_dict(level_data(places=list(order)))
        assert [place.id for place in level.places] == ["a", "b", "c", "start-1", "goal-1"]


@pytest.mark.parametrize(
    ("kind", "required", "ends_level"),
    [
        ("entrance", False, False),
        ("goal", True, True),
        ("pickup", False, False),
        ("checkpoint", True, False),
        ("exit", True, True),
    ],
)
def test_what_a_kind_says_where_the_file_is_silent(kind, required, ends_level):
    place = level_from_dict(level_data(places=[{"id": "a", "kind": kind, "at": [0, 0]}])).place("a")
    assert (place.required, place.must_be, place.ends_level) == (required, None, ends_level)
    assert (place.kind.is_way_in, place.kind.may_end_level) == (kind == "entrance", ends_level)
    symbols = {"k": {"place": kind}}
    drawn = level_from_dict(level_data(rows=["k@"], symbols=symbols)).place(f"{kind}-1")
    assert (drawn.required, drawn.must_be, drawn.ends_level) == (required, None, ends_level)


def test_what_a_file_says_of_a_place_counts():
    entry = {"id": "a", "kind": "goal", "at": [0, 0], "required": False, "must_be": "reachable", "ends_level": False}
    place = level_from_dict(level_data(places=[entry])).place("a")
    assert (place.required, place.must_be, place.ends_level) == (False, "reachable", False)


def test_what_must_be_unreachable_is_not_required():
    entry = {"id": "a", "kind": "goal", "at": [0, 0], "must_be": "unreachable"}
    assert not level_from_dict(level_data(places=[entry])).place("a").required
    ((place, found, allowed),) = refused(level_from_dict, level_data(places=[entry | {"required": True}]))
    assert (place, found) == ("$.places[0].required", "true")
    assert "unreachable" in allowed


def test_a_place_may_be_on_a_one_way_tile():
    level = level_from_dict(level_data(rows=["@=", "##"], places=[{"id": "a", "kind": "goal", "at": [1, 0]}]))
    assert level.place("a").column == 1


def test_the_start_has_two_names_unless_a_place_takes_one():
    level = level_from_dict(level_data())
    assert level.place("start") is level.start is level.place("start-1")
    level = level_from_dict(level_data(places=[{"id": "start", "kind": "goal", "at": [0, 0]}]))
    assert level.place("start").kind is PlaceKind.GOAL
    assert level.start.id == "start-1"


def test_an_unknown_place_is_refused_with_the_nearest_one():
    level = level_from_dict(level_data(), "quay.json")
    ((place, found, allowed),) = refused(level.place, "gaol-1")
    assert (place, found) == ("$.places", '"gaol-1"')
    assert allowed == 'the id of a place of the level "Quay"; did you mean "goal-1"?'


def test_accepted_findings():
    entries = [{"rule": "softlock", "at": [1, 1], "reason": "a bell rings"}, {"rule": "undecided", "reason": "known"}]
    level = level_from_dict(level_data(accept=entries))
    assert level.accept == (Accept("softlock", (1, 1), "a bell rings"), Accept("undecided", None, "known"))


def test_loading_from_a_file_and_from_standard_input(tmp_path, monkeypatch):
    path = tmp_path / "quay.json"
    path.write_text(json.dumps(level_data()), encoding="utf-8")
    assert load_level(path).sha256 == level_from_dict(level_data()).sha256
    assert load_level(str(path)).origin == str(path)
    with path.open() as stream:
        monkeypatch.setattr("sys.stdin", stream)
        assert load_level("-").origin == "<standard input>"


def test_problems_in_a_file_name_line_and_column(tmp_path):
    path = tmp_path / "quay.json"
    path.write_text('{"format": "reach-level/1", "name": "Quay", "tile_px": 16,\n "rows": ["..@",\n  "#?#"]}')
    ((place, found, _),) = refused(load_level, path)
    assert place == "$.rows[1] (line 3, column 3)"
    assert found == 'the unknown symbol "?" at column 1, row 1'


@pytest.mark.parametrize(
    ("changes", "place", "found"),
    [
        ({"rows": ["..@", "##", "###"]}, "$.rows[1]", "row 1 with 2 characters"),
        ({"rows": ["..", "@##", "###"]}, "$.rows[0]", "row 0 with 2 characters"),
        ({"rows": ["..@", "??#"]}, "$.rows[1]", 'the unknown symbol "?" at column 0, row 1, the first of 2'),
        ({"rows": ["..@", "##\n"]}, "$.rows[1]", 'the unknown symbol "\\n" at column 2, row 1'),
        ({"rows": ["..*", "###"]}, "$.rows[0]", 'the unknown symbol "*" at column 2, row 0'),
        ({"rows": ["...", "###"]}, "$", "no start"),
        ({"rows": ["@.@", "###"]}, "$", "2 starts: [0, 0], [2, 0]"),
        ({"places": [{"id": "a", "kind": "start", "at": [0, 0]}]}, "$", "2 starts: [1, 1], [0, 0]"),
        ({"rows": []}, "$.rows", "a list of 0"),
        ({"rows": [""]}, "$.rows[0]", '""'),
        ({"rows": ["@" * 4097]}, "$.rows[0]", "a string of 4097 characters"),
        ({"rows": ["@"] * 4097}, "$.rows", "a list of 4097"),
        ({"rows": ["." * 2001] * 2000}, "$.rows", "2001 x 2000 = 4002000 tiles"),
        ({"rows": "..@"}, "$.rows", '"..@"'),
        ({"rows": ["+" * 4000] * 3}, "$.rows", "12000 places"),
        ({"tile_px": 3}, "$.tile_px", "3"),
        ({"tile_px": 257}, "$.tile_px", "257"),
        ({"tile_px": 16.5}, "$.tile_px", "16.5"),
        ({"tile_px": True}, "$.tile_px", "true"),
        ({"tile_px": "16"}, "$.tile_px", '"16"'),
        ({"tile_px": float("nan")}, "$.tile_px", "nan"),
        ({"tile_px": None}, "$", 'no key "tile_px"'),
        ({"format": "reach-level/2"}, "$.format", '"reach-level/2"'),
        ({"tiel_px": 16}, "$.tiel_px", 'the unknown key "tiel_px"'),
        ({"symbols": {"ab": "solid"}}, "$.symbols.ab", 'the key "ab"'),
        ({"symbols": {"": "solid"}}, "$.symbols['']", 'the key ""'),
        ({"symbols": {"\t": "solid"}}, "$.symbols['\\t']", 'the key "\\t"'),
        ({"symbols": {"*": "spring"}}, "$.symbols['*']", '"spring"'),
        ({"symbols": {"*": {"material": "spring"}}}, "$.symbols['*']", 'no key "launch_px_per_s"'),
        (
            {"symbols": {"*": {"material": "spring", "launch_px_per_s": 0}}},
            "$.symbols['*'].launch_px_per_s",
            "0",
        ),
        (
            {"symbols": {"*": {"material": "solid", "launch_px_per_s": 9}}},
            "$.symbols['*'].launch_px_per_s",
            'the unknown key "launch_px_per_s"',
        ),
        ({"symbols": {"a": {}}}, "$.symbols.a", 'no key "material"'),
        ({"symbols": {"a": 7}}, "$.symbols.a", "7"),
        ({"symbols": {"a": {"place": "gaol"}}}, "$.symbols.a.place", '"gaol"'),
        (
            {"symbols": {"a": {"place": "goal", "material": "solid"}}},
            "$.symbols.a.material",
            'the unknown key "material"',
        ),
        ({"symbols": {"a": {"place": "start", "required": True}}}, "$.symbols.a.required", "true"),
        ({"places": [{"id": "a", "kind": "goal", "at": [4, 0]}]}, "$.places[0].at", "[4, 0]"),
        ({"places": [{"id": "a", "kind": "goal", "at": [0, 3]}]}, "$.places[0].at", "[0, 3]"),
        ({"places": [{"id": "a", "kind": "goal", "at": [-1, 0]}]}, "$.places[0].at[0]", "-1"),
        ({"places": [{"id": "a", "kind": "goal", "at": [0, 2]}]}, "$.places[0].at", "[0, 2], which is solid"),
        ({"places": [{"id": "goal-1", "kind": "goal", "at": [0, 0]}]}, "$.places[0].id", 'the id "goal-1" again'),
        ({"places": [{"id": "../a", "kind": "goal", "at": [0, 0]}]}, "$.places[0].id", '"../a"'),
        ({"places": [{"id": "a\n", "kind": "goal", "at": [0, 0]}]}, "$.places[0].id", '"a\\n"'),
        ({"places": [{"id": "A", "kind": "goal", "at": [0, 0]}]}, "$.places[0].id", '"A"'),
        ({"places": [{"id": "-o", "kind": "goal", "at": [0, 0]}]}, "$.places[0].id", '"-o"'),
        ({"places": [{"id": "a" * 65, "kind": "goal", "at": [0, 0]}]}, "$.places[0].id", '"' + "a" * 40 + '..."'),
        ({"places": [{"id": "a", "kind": "goal"}]}, "$.places[0]", 'no key "at"'),
        (
            {"places": [{"id": "a", "kind": "entrance", "at": [0, 0], "required": False}]},
            "$.places[0].required",
            "false",
        ),
        (
            {"places": [{"id": "a", "kind": "checkpoint", "at": [0, 0], "ends_level": True}]},
            "$.places[0].ends_level",
            "true",
        ),
        ({"accept": [{"rule": "softlock", "at": [4, 0], "reason": "x"}]}, "$.accept[0].at", "[4, 0]"),
        ({"accept": [{"rule": "softlock", "reason": ""}]}, "$.accept[0].reason", '""'),
        ({"accept": [{"rule": "softlock"}]}, "$.accept[0]", 'no key "reason"'),
    ],
)
def test_a_mistake_is_named_with_its_place(changes, place, found):
    assert [problem[:2] for problem in refused(level_from_dict, level_data(**changes))] == [(place, found)]


def test_mistakes_of_one_kind_are_told_together():
    entries = [{"id": "a", "kind": "goal", "at": [9, 0]}, {"id": "a", "kind": "goal", "at": [0, 2]}]
    found = refused(level_from_dict, level_data(places=entries))
    assert [place for place, _, _ in found] == ["$.places[0].at", "$.places[1].id", "$.places[1].at"]
    found = refused(level_from_dict, level_data(rows=["ab@", "b##", "a.#"]))
    assert [place for place, _, _ in found] == ["$.rows[0]", "$.rows[0]"]


def test_limits_are_met_exactly():
    level = level_from_dict(level_data(rows=["@" + "." * 999, *["." * 1000] * 3999]))
    assert level.material.size == MAX_TILES == 4_000_000
    level = level_from_dict(level_data(rows=["+" * 2500] * 3 + ["+" * 2499 + "@"]))
    assert len(level.places) == MAX_PLACES
    level = level_from_dict(level_data(rows=["@" + "." * 4095], tile_px=256.0))
    assert (level.columns, level.tile_px) == (4096, 256)


@given(
    st.lists(st.text(st.sampled_from("@.#=^*+!é?\U0001d11e"), max_size=4), max_size=4),
    st.dictionaries(
        st.sampled_from(["*", "é", "#", "ab"]),
        st.sampled_from(["solid", "spring", {"material": "spring", "launch_px_per_s": 9}, {"place": "goal"}, None]),
    ),
    st.lists(
        st.fixed_dictionaries(
            {"id": st.sampled_from(["a", "goal-1", "/"]), "kind": st.sampled_from([*PlaceKind, "x"])},
            optional={"at": st.lists(st.integers(-1, 5), max_size=3), "required": st.booleans()},
        ),
        max_size=3,
    ),
)
def test_any_small_level_loads_or_is_refused(rows, symbols, places):
    """No other error, and what loads has a start, unique ids and a material for every tile."""
    try:
        level = level_from_dict(level_data(rows=rows, symbols=symbols, places=places))
    except InputError as error:
        assert error.problems
        return
    assert level.material.shape == (len(rows), len(rows[0]))
    assert level.material.max() <= SPRING
    assert sum(place.kind is PlaceKind.START for place in level.places) == 1
    assert len({place.id for place in level.places}) == len(level.places)
    assert set(level.launch_px_per_s) == {(c, r) for r, c in np.argwhere(level.material == SPRING).tolist()}


def test_the_hash_tells_content_not_layout(tmp_path):
    one = level_from_dict(level_data(rows=["*@!"], symbols=SPRING_SYMBOL))
    (tmp_path / "a.json").write_text(
        '{"note": "n", "rows": ["Q@ "], "tile_px": 16.0, "name": "Quay", "format": "reach-level/1",'
        ' "places": [{"at": [2, 0], "kind": "goal", "id": "goal-1"}],'
        ' "symbols": {"Q": {"launch_px_per_s": 480.50, "material": "spring"}}}'
    )
    assert load_level(tmp_path / "a.json").sha256 == one.sha256
    assert len(one.sha256) == 64


def test_the_hash_tells_every_difference():
    spring = {"*": {"material": "spring", "launch_px_per_s": 481}}
    two_springs = SPRING_SYMBOL | {"%": {"material": "spring", "launch_px_per_s": 9}}
    place = {"id": "a", "kind": "goal", "at": [0, 0]}
    levels = [
        level_data(),
        level_data(name="Pier"),
        level_data(tile_px=17),
        level_data(rows=["....", ".@.!", "##=#"]),
        level_data(rows=[".....", ".@.!.", "##.##"]),
        level_data(rows=["....", "@..!", "##.#"]),
        level_data(rows=[".@*%"], symbols=two_springs),
        level_data(rows=[".@%*"], symbols=two_springs),
        level_data(rows=[".@*"], symbols=SPRING_SYMBOL),
        level_data(rows=[".@*"], symbols=spring),
        level_data(places=[place]),
        level_data(places=[place | {"id": "b"}]),
        level_data(places=[place | {"kind": "exit"}]),
        level_data(places=[place | {"required": False}]),
        level_data(places=[place | {"must_be": "reachable"}]),
        level_data(places=[place | {"ends_level": False}]),
        level_data(accept=[{"rule": "softlock", "reason": "x"}]),
        level_data(accept=[{"rule": "softlock", "reason": "y"}]),
        level_data(accept=[{"rule": "softlock", "reason": "x", "at": [0, 0]}]),
    ]
    assert len({level_from_dict(data).sha256 for data in levels}) == len(levels)


def test_terrain_for_kernels():
    symbols = SPRING_SYMBOL | {"+": {"place": "goal", "ends_level": False}}
    level = level_from_dict(level_data(rows=["@+!", "#*="], symbols=symbols))
    terrain = compile_terrain(level, movement_from_dict(movement_data()))
    assert terrain.tile == 16 * 65536
    assert terrain.material.tolist() == level.material.tolist()
    # 480.5 px/s at 60 ticks a second: 480.5 * 65536 / 60 = 524834.1...
    assert terrain.launch.tolist() == [[0, 0, 0], [0, 524834, 0]]
    assert terrain.place_column.tolist() == [0, 1, 2]
    assert terrain.place_row.tolist() == [0, 0, 0]
    assert terrain.place_ends.tolist() == [0, 0, 1]
    assert (terrain.material.dtype, terrain.launch.dtype, terrain.place_ends.dtype) == (np.uint8, np.int64, np.int64)
    for array in terrain[1:]:
        assert array.flags.c_contiguous
        assert array.flags.writeable
    terrain.material[0, 0] = SOLID
    assert level.material[0, 0] == EMPTY


def test_springs_may_launch_up_to_64_px_a_tick():
    movement = movement_from_dict(movement_data())

    def level(launch):
        return level_from_dict(
            level_data(rows=["@**"], symbols={"*": {"material": "spring", "launch_px_per_s": launch}})
        )

    assert compile_terrain(level(3840), movement).launch.max() == 64 * 65536
    ((place, found, allowed),) = refused(compile_terrain, level(3840.01), movement)
    assert place == "the spring at column 1, row 0"
    assert found == "a launch of 3840.01 px/s"
    assert allowed == "at most 3840 px/s, 64 px a tick at 60 ticks a second"


def test_a_body_may_have_up_to_8_tiles():
    level = level_from_dict(level_data(tile_px=4))

    def movement(width, height):
        return movement_from_dict(movement_data(body__width_px=width, body__height_px=height), "walker.json")

    assert compile_terrain(level, movement(32, 32)).tile == 4 * 65536
    with pytest.raises(InputError) as caught:
        compile_terrain(level, movement(33, 32.5))
    assert str(caught.value).splitlines() == [
        "walker.json: $.body.width_px: found 33; allowed: at most 32: 8 tiles of 4 px in <level>",
        "walker.json: $.body.height_px: found 32.5; allowed: at most 32: 8 tiles of 4 px in <level>",
    ]


def test_a_level_may_be_ended_at_a_place_and_is_another_one_then():
    lamp = {"id": "bell", "kind": "goal", "at": [2, 1], "ends_level": False}
    level = level_from_dict(level_data(places=[lamp]))
    ended = ending_at(level, "bell")
    assert [place.id for place in ended.places if place.ends_level] == ["bell", "goal-1"]
    assert [place.id for place in level.places if place.ends_level] == ["goal-1"]
    told = [{**lamp, "ends_level": True}]
    assert ended.sha256 == level_from_dict(level_data(places=told)).sha256 != level.sha256
    with pytest.raises(InputError, match="lamp"):
        ending_at(level, "lamp")
