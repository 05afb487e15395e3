"""`reach convert`: other forms of level become a level file."""

import json

import pytest

from reach.level import load_level

GRID = "........\n........\n........\n.@....!.\n########\n"


@pytest.fixture
def grid(here):
    (here / "quay.txt").write_text(GRID, encoding="utf-8")
    return "quay.txt"


def test_a_text_grid_becomes_a_level_file(run, grid, here):
    ran = run("convert", grid, "--tile-px", "16", "--name", "Quay", "-o", "quay.json")
    assert (ran.code, ran.out, ran.err) == (0, "", "")
    level = load_level(here / "quay.json")
    assert (level.name, level.tile_px, level.columns, level.rows) == ("Quay", 16, 8, 5)
    assert json.loads((here / "quay.json").read_text())["rows"] == GRID.split()


def test_a_mapping_says_what_the_characters_are(run, here):
    (here / "quay.txt").write_text(GRID.replace("#", "X"), encoding="utf-8")
    (here / "meaning.json").write_text(
        json.dumps({"format": "reach-mapping/1", "tile_px": 24, "tiles": {"X": "solid"}}), encoding="utf-8"
    )
    ran = run("convert", "quay.txt", "--mapping", "meaning.json", "-o", "out.json")
    assert (ran.code, ran.err) == (0, "")
    level = load_level(here / "out.json")
    assert level.tile_px == 24
    assert level.material[4].tolist() == [1] * 8


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "--output"),
        (["-o", "quay.json"], "tile"),
        (["-o", "quay.json", "--tile-px", "16", "--mapping", "missing.json"], "missing.json"),
        (["-o", "quay.xml", "--tile-px", "16"], "quay.xml"),
        (["-o", "no/quay.json", "--tile-px", "16"], "no/quay.json"),
    ],
)
def test_a_mistake_writes_nothing(run, grid, here, words, told):
    ran = run("convert", grid, *words)
    assert (ran.code, ran.out) == (2, "")
    assert told in ran.err.replace("\\", "/")
    assert sorted(path.name for path in here.iterdir()) == ["quay.txt"]
