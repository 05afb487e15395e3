"""The parts of a check's time: every one is counted, none twice."""

from reach.level import level_from_dict
from tests.bench.levels import read_movement
from tests.bench.one_run import COLUMNS, PARTS, Parts, measure_check

LEVEL = {"format": "reach-level/1", "name": "Quay", "tile_px": 16, "rows": ["......", ".@...!", "######"]}


def test_parts_of_a_check_and_functions_as_before():
    before = [getattr(owner, name) for owner, name, _ in PARTS]
    found = measure_check(level_from_dict(LEVEL), read_movement("courier"), 2)["parts"]
    assert list(found) == list(COLUMNS)
    assert all(len(values) == 2 and min(values) >= 0 for values in found.values())
    assert [getattr(owner, name) for owner, name, _ in PARTS] == before


def test_what_a_counted_function_calls_is_its_own():
    parts = Parts()
    inner = parts.counted(lambda: sum(range(300_000)), COLUMNS[1])
    outer = parts.counted(lambda: inner(), COLUMNS[0])
    outer()
    assert parts.taken[COLUMNS[0]] > 0
    assert parts.taken[COLUMNS[1]] == 0
