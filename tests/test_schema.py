"""The schemas as schemas, and what breaking them says."""

import json

import jsonschema
import pytest
from referencing import Registry, Resource

from reach import schema
from reach.errors import InputError
from reach.json_text import document_of, parse_json
from reach.schema import MOST_PROBLEMS, expectation, load_schema, nearest, validate
from tests.made_files import level_data, movement_data, refused, script_data

NAMES = ("level", "mapping", "movement", "report", "script")
GOOD = {
    "level": level_data(),
    "movement": movement_data(),
    "script": script_data(),
    "mapping": {"format": "reach-mapping/1", "tiles": {"0": "empty", "1": {"place": "start"}}},
}


def dicts(node):
    """Every object in a schema."""
    if isinstance(node, dict):
        yield node
    for part in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from dicts(part)


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_keeps_to_the_metaschema(name):
    jsonschema.Draft202012Validator.check_schema(load_schema(name))
    assert load_schema(name)["$id"] == f"{name}.schema.json"


@pytest.mark.parametrize("name", NAMES)
def test_every_object_with_keys_of_its_own_refuses_others(name):
    objects = [node for node in dicts(load_schema(name)) if node.get("type") == "object" and "properties" in node]
    assert objects
    for node in objects:
        assert node["additionalProperties"] is False or "propertyNames" in node, node["description"]


@pytest.mark.parametrize("name", NAMES)
def test_every_reference_leads_somewhere(name):
    for node in dicts(load_schema(name)):
        if "$ref" in node:
            file, _, pointer = node["$ref"].partition("#/$defs/")
            root = load_schema(file.removesuffix(".schema.json")) if file else load_schema(name)
            assert pointer in root["$defs"]


def broken(name):
    """Good data of a format, each time with one part taken away, put wrong or added."""
    good = GOOD[name]
    yield good
    for path in list(places(good)):
        for value in (None, True, -1, 0, 1.5, 1e9, "", "x", [], {}, [1, 2], {"x": 1}):
            yield changed(good, path, value)
        yield changed(good, path, value, remove=True)
        yield changed(good, (*path[:-1], "extra"), 1)


def places(node, path=()):
    if path:
        yield path
    parts = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, part in parts:
        yield from places(part, (*path, key))


def changed(data, path, value, remove=False):
    data = json.loads(json.dumps(data))
    node = data
    for step in path[:-1]:
        node = node[step]
    if isinstance(node, list) and path[-1] == "extra":
        node.append(value)
    elif remove:
        del node[path[-1]]
    else:
        node[path[-1]] = value
    return data


@pytest.mark.parametrize("name", sorted(GOOD))
def test_data_pass_exactly_where_the_plain_validator_passes_them(name):
    """Our keywords change what is said and not what is allowed, against jsonschema as it comes."""
    resources = [(f"{each}.schema.json", Resource.from_contents(load_schema(each))) for each in NAMES]
    plain = jsonschema.Draft202012Validator(load_schema(name), registry=Registry().with_resources(resources))
    passed = failed = 0
    for data in broken(name):
        try:
            validate(document_of(data, "f"), name)
            got = True
        except InputError:
            got = False
        assert got == plain.is_valid(data), data
        passed += got
        failed += not got
    assert passed
    assert failed > 2 * passed


@pytest.mark.parametrize("name", sorted(GOOD))
def test_every_problem_is_said_in_one_short_line(name):
    for data in broken(name):
        try:
            validate(document_of(data, "f"), name)
        except InputError as error:
            for problem in error.problems:
                assert problem.place.startswith("$")
                assert "unresolvable" not in str(problem).lower()
                assert "another value" not in str(problem)
                assert len(str(problem)) < 400
                assert str(problem).isprintable()


def test_all_problems_are_told_at_once_in_the_order_of_the_file():
    text = """{"format": "reach-level/1",
  "tile_px": true,
  "rows": ["..", 7],
  "plaices": [],
  "places": [{"id": "../lamp", "kind": "gaol", "at": [1]}]
}"""
    with pytest.raises(InputError) as caught:
        validate(parse_json(text, "quay.json"), "level")
    assert str(caught.value).splitlines() == [
        'quay.json: $ (line 1, column 1): found no key "name"; '
        'allowed: "name": what people call the level; scripts name it',
        "quay.json: $.tile_px (line 2, column 14): found true; allowed: a whole number from 4 to 256",
        "quay.json: $.rows[1] (line 3, column 18): found 7; allowed: a string of 1 to 4096 characters",
        'quay.json: $.plaices (line 4, column 3): found the unknown key "plaices"; '
        "allowed: in a level: format, name, note, tile_px, rows, symbols, places, accept; "
        'did you mean "places"?',
        'quay.json: $.places[0].id (line 5, column 21): found "../lamp"; '
        "allowed: an id: 1 to 64 of a-z, 0-9, _ and -, the first a letter or digit",
        'quay.json: $.places[0].kind (line 5, column 40): found "gaol"; '
        'allowed: one of "start", "entrance", "goal", "pickup", "checkpoint", "exit"; did you mean "goal"?',
        "quay.json: $.places[0].at (line 5, column 54): found a list of 1; "
        "allowed: a tile as [column, row], two whole numbers from 0",
    ]


def test_a_missing_key_that_is_misspelt_is_one_problem():
    data = level_data(places=[{"id": "lamp", "kind": "goal", "att": [1, 1], "required": True, "requird": True}])
    data["tile_pxx"] = data.pop("tile_px")
    assert refused(validate, document_of(data, "f"), "level") == [
        (
            "$.tile_pxx",
            'the unknown key "tile_pxx", and no key "tile_px"',
            '"tile_px": a whole number from 4 to 256; did you mean "tile_px"?',
        ),
        (
            "$.places[0].att",
            'the unknown key "att", and no key "at"',
            '"at": the tile it is on: inside the map, empty or one_way; did you mean "at"?',
        ),
        (
            "$.places[0].requird",
            'the unknown key "requird"',
            'in a place: id, kind, at, required, must_be, ends_level; did you mean "required"?',
        ),
    ]


def test_two_keys_do_not_stand_for_the_same_missing_one():
    data = level_data(tile_pxx=16, tile_pxy=16)
    del data["tile_px"]
    first, second = refused(validate, document_of(data, "f"), "level")
    assert first[1] == 'the unknown key "tile_pxx", and no key "tile_px"'
    assert second[1] == 'the unknown key "tile_pxy"'


@pytest.mark.parametrize("given", sorted(GOOD))
@pytest.mark.parametrize("asked", sorted(GOOD))
def test_a_file_of_another_kind_is_one_problem(given, asked):
    data = dict(GOOD[given])
    if given == asked:
        return
    title = load_schema(given)["title"]
    allowed = f'{load_schema(asked)["title"]}, with the format "reach-{asked}/1"'
    found = f'{title}, "reach-{given}/1"'
    assert refused(validate, document_of(data, "f"), asked) == [("$.format", found, allowed)]
    del data["format"]
    found = (
        f'no key "format", and the keys of {title}'
        if given != "mapping"
        else 'no key "format", and unknown keys: "tiles"'
    )
    assert refused(validate, document_of(data, "f"), asked) == [("$", found, allowed)]


def test_a_file_of_no_kind_is_one_problem():
    data = {"format": 3, "version": 1, "private": True, "name": "quay", "main": "x", "author": "y"}
    found = 'the format 3, and unknown keys: "version", "private", "main" and 1 more'
    allowed = 'a level, with the format "reach-level/1"'
    assert refused(validate, document_of(data, "f"), "level") == [("$", found, allowed)]


def test_a_format_that_is_misspelt_hides_nothing_else():
    data = level_data(format="reach-level/2", tile_px=1)
    assert [place for place, _, _ in refused(validate, document_of(data, "f"), "level")] == ["$.format", "$.tile_px"]


@pytest.mark.parametrize("name", ["quay\n", "\u0000", "a\u001b[2J", "\u0085", "", "x" * 201])
def test_names_stay_on_one_line(name):
    """`$` ends a text in ECMA-262, the dialect of JSON Schema; Python's own would let a line feed follow."""
    ((place, _, allowed),) = set(refused(validate, document_of(level_data(name=name), "f"), "level"))
    assert place == "$.name"
    assert allowed == "1 to 200 characters without control characters"


def test_a_list_over_its_limit_is_one_problem():
    data = script_data(steps=[{"ticks": 0}] * 50_001)
    ((place, found, allowed),) = refused(validate, document_of(data, "f"), "script")
    assert (place, found, allowed) == ("$.steps", "a list of 50001", "a list of at most 50000 steps")


def test_an_object_over_its_limit_is_one_problem():
    data = level_data(symbols={chr(0x4E00 + index): 0 for index in range(10_001)})
    ((place, found, _),) = refused(validate, document_of(data, "f"), "level")
    assert (place, found) == ("$.symbols", "an object of 10001")


def test_a_flood_of_problems_ends():
    data = script_data(steps=[{}] * 5000)
    assert len(refused(validate, document_of(data, "f"), "script")) == MOST_PROBLEMS


def test_the_schemas_are_found_in_the_package_too(tmp_path, monkeypatch):
    (tmp_path / "level.schema.json").write_text('{"title": "packed"}', encoding="utf-8")
    monkeypatch.setattr(schema, "_FOLDERS", (tmp_path, *schema._FOLDERS))
    assert load_schema.__wrapped__("level") == {"title": "packed"}
    assert load_schema.__wrapped__("script")["title"] == "a script"


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ({"title": "an id", "type": "string"}, "an id"),
        ({"const": "reach-level/1"}, '"reach-level/1"'),
        ({"enum": ["left", 2]}, 'one of "left", 2'),
        ({"type": "boolean"}, "true or false"),
        ({"type": ["number", "null"], "minimum": 0}, "a number or null at least 0"),
        ({"type": "number", "exclusiveMinimum": 0, "maximum": 9}, "a number greater than 0 and at most 9"),
        ({"type": "array", "minItems": 2, "maxItems": 2}, "a list of 2"),
        ({"type": "array", "minItems": 2}, "a list of at least 2"),
        ({"type": "string", "maxLength": 9}, "a string of 0 to 9 characters"),
        ({"description": "Its width in px.", "$ref": "#/$defs/size"}, "its width in px"),
    ],
)
def test_a_schema_in_words(part, text):
    assert expectation(part) == text


def test_the_nearest_word():
    assert nearest("coyote_tick", ["buffer_ticks", "coyote_ticks"]) == '; did you mean "coyote_ticks"?'
    assert nearest("zzz", ["buffer_ticks", "coyote_ticks"]) == ""
    assert nearest("q" * 10**6, ["qq"]) == ""
