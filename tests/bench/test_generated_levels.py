"""The benchmark's levels are drawn by their seed alone, and are levels."""

import json

import pytest

from reach.level import level_from_dict
from tests.bench.generated_levels import SHAPES, generate


@pytest.mark.parametrize("shape", SHAPES)
def test_same_bytes_twice(shape):
    assert json.dumps(generate(shape)) == json.dumps(generate(shape))
    assert generate(shape)["rows"] != generate(shape, 2)["rows"]


@pytest.mark.parametrize(("shape", "columns", "rows"), [("open", 60, 16), ("cave", 60, 30), ("large", 400, 400)])
def test_size_and_start(shape, columns, rows):
    level = level_from_dict(generate(shape))
    assert (level.columns, level.rows) == (columns, rows)
    assert level.start
