"""Every case of the benchmark can be read, and moved starts stand where they are said to."""

import pytest

from reach.level import compile_terrain
from reach.simulator import start_state
from tests.bench.levels import CASES, COLUMN, Case, foothold_by_column, read_case


def test_all_cases_have_names_of_their_own():
    assert len({str(case) for case in CASES}) == len(CASES) == 12


@pytest.mark.parametrize("name", ["dense-200x15", "dense-2000x15"])
def test_a_moved_start_rests_by_the_column(name):
    level, movement = read_case(Case(name, "heavy", moved=True))
    foothold = foothold_by_column(movement, level)
    start = start_state(level, movement, level.start.id)
    assert start.grounded
    assert foothold.left_spx <= start.x <= foothold.right_spx
    assert foothold.columns[0] <= COLUMN <= foothold.columns[1]
    given, _ = read_case(Case(name, "heavy"))
    assert (compile_terrain(given, movement).material == compile_terrain(level, movement).material).all()
