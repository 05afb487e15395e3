"""Misses are taken where they are known, and the rest alone is measured."""

from reach.reachability.miss_memory import MissMemory
from reach.reachability.result import Foothold, NearestMiss


def foothold(index, row):
    return Foothold(index, row, 0, 100, False, (0, 3))


def test_only_what_is_not_known_is_measured_and_footholds_may_be_renumbered():
    memory, asked = MissMemory(), []
    misses = {1: NearestMiss(0, (1.0, 2.0), (3.0, 4.0)), 2: NearestMiss(-1, (5.0, 6.0), (7.0, 8.0))}

    def measure(ground):
        asked.append([one.row for one in ground])
        return {one.index: misses[one.row] for one in ground if one.row in misses}, ""

    first = [foothold(index, row) for index, row in enumerate((0, 1, 2, 3))]
    assert memory.find(b"a", first[1:], first, measure) == ({1: misses[1], 2: misses[2]}, "")
    memory.begin()
    second = [foothold(index, row) for index, row in enumerate((9, 0, 1, 2, 3, 4))]
    found, why = memory.find(b"a", second[2:], second, measure)
    assert (found[2].source, found[3].source, sorted(found), why) == (1, -1, [2, 3], "")
    assert asked == [[1, 2, 3], [4]]
    memory.find(b"b", first[1:], first, measure)
    assert asked[2] == [1, 2, 3], "another superset"


def test_what_a_limit_cut_short_is_not_kept():
    memory = MissMemory()
    ground = [foothold(0, 1)]
    assert memory.find(b"a", ground, ground, lambda one: ({}, "time limit")) == ({}, "time limit")
    assert memory.find(b"a", ground, ground, lambda one: ({}, "")) == ({}, "")
    assert memory.find(b"a", ground, ground, lambda one: 1 / 0) == ({}, "")
