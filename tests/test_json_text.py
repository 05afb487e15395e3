"""Strict JSON with places, against the standard library's reader and the texts of RFC 8259 and RFC 9535."""

import json
import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reach.errors import InputError
from reach.json_text import (
    MAX_DEPTH,
    MAX_NUMBER_LENGTH,
    MAX_VALUES,
    Lines,
    document_of,
    parse_json,
    path_text,
    shown,
)
from tests.made_files import refused

TEXTS = st.text(st.characters(exclude_categories=["Cs"]))
NUMBERS = st.integers(-(10**18), 10**18) | st.floats(-1e307, 1e307).filter(lambda x: x == 0 or abs(x) > 1e-307)
VALUES = st.recursive(
    st.none() | st.booleans() | NUMBERS | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=20,
)


def parse(text):
    return parse_json(text, "f").value


@given(VALUES, st.sampled_from([None, 0, 3, "\t"]), st.booleans())
def test_what_the_standard_library_writes_is_read_back(value, indent, ascii_only):
    text = json.dumps(value, indent=indent, ensure_ascii=ascii_only, allow_nan=False)
    assert parse(text) == json.loads(text, parse_float=Decimal)


@given(st.text(st.sampled_from('{}[]",:0123456789.eE+-truefalsnN \n\\u"dI\x01\u00e9'), max_size=30))
def test_no_text_is_read_that_the_standard_library_refuses(text):
    try:
        value = parse(text)
    except InputError:
        return
    assert value == json.loads(text, parse_float=Decimal)


# RFC 8259, section 13: the two example texts, shortened in their strings only.
RFC_OBJECT = """{ "Image": { "Width": 800, "Height": 600, "Title": "View from 15th Floor",
  "Thumbnail": { "Url": "http://www.example.com/image/481989943", "Height": 125, "Width": 100 },
  "Animated" : false, "IDs": [116, 943, 234, 38793] } }"""
RFC_ARRAY = """[ { "precision": "zip", "Latitude": 37.7668, "Longitude": -122.3959 },
  { "precision": "zip", "Latitude": 37.371991, "Longitude": -122.026020 } ]"""


def test_the_examples_of_the_standard():
    assert parse(RFC_OBJECT)["Image"]["IDs"] == [116, 943, 234, 38793]
    assert parse(RFC_ARRAY)[1]["Longitude"] == Decimal("-122.026020")
    # Section 7: a character outside the basic plane as a pair of escapes, U+1D11E.
    assert parse('"\\uD834\\uDD1E"') == "\U0001d11e"


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1.0", 1),
        ("-0.0", 0),
        ("1e2", 100),
        ("12.50", Decimal("12.5")),
        ("0.1", Decimal("0.1")),
        ("0e999999999", 0),
        ("1e307", 10**307),
        ("-1E-307", Decimal("-1E-307")),
    ],
)
def test_numbers_keep_the_decimal_as_written(text, value):
    number = parse(text)
    assert number == value
    assert type(number) is type(value)
    Fraction(number)


@pytest.mark.parametrize(
    ("text", "place", "found"),
    [
        ("", "line 1, column 1", "the end of the file"),
        ('{"a": [1, 2', "line 1, column 12", "the end of the file"),
        ('{"a":\n  1,\n  "a": 2}', "line 3, column 3", 'the key "a" again'),
        ("[NaN]", "line 1, column 2", "NaN"),
        ("[-Infinity]", "line 1, column 2", "-Infinity"),
        ("[1e400]", "line 1, column 2", "1e400"),
        ("[-1e308]", "line 1, column 2", "-1e308"),
        ("[1e-999999999999]", "line 1, column 2", "1e-999999999999"),
        ("9" * (MAX_NUMBER_LENGTH + 1), "line 1, column 1", f"a number of {MAX_NUMBER_LENGTH + 1} characters"),
        ("[01]", "line 1, column 2", "01"),
        ("[1.]", "line 1, column 2", "1."),
        ("[.5]", "line 1, column 2", ".5"),
        ("[+1]", "line 1, column 2", "+1"),
        ("[0x10]", "line 1, column 2", "0x10"),
        ("[\u0663]", "line 1, column 2", '"\u0663"'),
        ("[1,]", "line 1, column 3", 'a "," before "]"'),
        ('{"a": 1,}', "line 1, column 8", 'a "," before "}"'),
        ("[1 2]", "line 1, column 4", '"2"'),
        ('{"a" 1}', "line 1, column 6", '"1"'),
        ("{a: 1}", "line 1, column 2", '"a"'),
        ("{'a': 1}", "line 1, column 2", '"\'"'),
        ("// quay\n[]", "line 1, column 1", '"/"'),
        ("[] []", "line 1, column 4", '"["'),
        ("[tru]", "line 1, column 2", "tru"),
        ('"quay', "line 1, column 1", "a string without its closing quote"),
        ('"a\nb"', "line 1, column 3", "a control character in a string"),
        ('"\\x"', "line 1, column 2", "a broken escape in a string"),
        ('"\\u12"', "line 1, column 3", "a broken escape in a string"),
        ('["\\ud834"]', "line 1, column 2", 'half of a surrogate pair, "\\ud834"'),
        ('{"\\udd1e": 1}', "line 1, column 2", 'half of a surrogate pair, "\\udd1e"'),
        ("\ufeff[]", "line 1, column 1", '"\\ufeff"'),
    ],
)
def test_what_is_not_strict_json_is_refused_at_its_place(text, place, found):
    assert [problem[:2] for problem in refused(parse_json, text, "f")] == [(place, found)]


def test_a_key_given_twice_is_told_with_its_first_place():
    ((_, _, allowed),) = refused(parse_json, '{"a": 1, "b": {"a": 2}, "a": 3}', "f")
    assert "line 1, column 2" in allowed


def test_nesting_has_a_limit():
    deepest = "[" * MAX_DEPTH + "]" * MAX_DEPTH
    parse(deepest)
    for text in ("[" + deepest + "]", "[" * 10**6, '{"a":' * 10**5):
        assert refused(parse_json, text, "f")[0][1] == f"nesting deeper than {MAX_DEPTH}"


def test_the_number_of_values_has_a_limit():
    parse("[" + "0," * (MAX_VALUES - 2) + "0]")
    assert refused(parse_json, "[" + "0," * (MAX_VALUES - 1) + "0]", "f")[0][1] == f"more than {MAX_VALUES} values"


def test_places_of_values_and_keys():
    document = parse_json('{\n  "places": [\n    {"id": "lamp", "at": [3,\n 4]}\n  ],\n  "a b": 1\n}', "quay.json")
    assert document.place() == "$ (line 1, column 1)"
    assert document.place(("places", 0, "at", 1)) == "$.places[0].at[1] (line 4, column 2)"
    assert document.place(("places", 0), "at") == "$.places[0].at (line 3, column 20)"
    assert document.place((), "a b") == "$['a b'] (line 6, column 3)"
    problem = document.problem(("places", 0, "id"), "x", "y")
    assert (problem.file, problem.place) == ("quay.json", "$.places[0].id (line 3, column 12)")


@given(st.text(st.sampled_from("ab\n\r\u00e9"), max_size=40), st.data())
def test_lines_and_columns_count_line_feeds(text, data):
    offset = data.draw(st.integers(0, len(text)))
    before = text[:offset].split("\n")
    assert Lines(text).place(offset) == f"line {len(before)}, column {len(before[-1]) + 1}"


def test_paths_are_those_of_the_standard():
    # RFC 9535: the root is $ (2.2); a name is written .name (2.5.1) or ['name'] (2.3.1), an index [0] (2.3.3).
    assert path_text(()) == "$"
    assert path_text(("store", "book", 0, "title")) == "$.store.book[0].title"
    assert path_text(("o", "j j", "k.k")) == "$.o['j j']['k.k']"
    assert path_text(("'", "\\")) == "$['\\'']['\\\\']"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("quay", '"quay"'),
        ("a\n\x1b[31m\u202e", '"a\\n\\u001b[31m\\u202e"'),
        ("x" * 41, '"' + "x" * 40 + '..."'),
        (Decimal("0.50"), "0.50"),
        (10**50, "1" + "0" * 36 + "..."),
        (True, "true"),
        (None, "null"),
        ([1, 2, 3], "a list of 3"),
        ({"a": 1}, "an object of 1"),
    ],
)
def test_found_values_are_shown_short_and_printable(value, text):
    assert shown(value) == text
    assert shown(value).isprintable()


@given(VALUES)
def test_plain_values_are_taken_as_their_json_would_be(value):
    assert document_of(value, "f").value == parse(json.dumps(value))


def test_numbers_of_other_libraries_are_plain():
    value = document_of({"a": np.int64(3), "b": np.float32(0.5), "c": (Decimal("1.10"), 2.0)}, "f").value
    assert value == {"a": 3, "b": Decimal("0.5"), "c": [Decimal("1.10"), 2]}
    assert [type(each) for each in (value["a"], value["b"], value["c"][1])] == [int, Decimal, int]


LOOP: list = []
LOOP.append(LOOP)


@pytest.mark.parametrize(
    "value",
    [
        math.nan,
        math.inf,
        1e308,
        10**100,
        Decimal("Infinity"),
        Decimal("0." + "1" * 100),
        Fraction(1, 3),
        {1: 2},
        {"\ud834": 2},
        "\udd1e",
        b"quay",
        {1, 2},
        object(),
        np.zeros(3),
        LOOP,
    ],
)
def test_values_that_json_could_not_hold_are_refused(value):
    ((place, _, _),) = refused(document_of, {"a": [value]}, "f")
    assert place.startswith("$.a[0]")


def test_places_without_a_text_are_paths():
    document = document_of({"a": [1]}, "<level>")
    assert document.place(("a", 0)) == "$.a[0]"
    assert document.offset(("a", 0)) == 0
