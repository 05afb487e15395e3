"""Misses that are known, under any numbering of the footholds, and ground of which none is."""

from reach.reachability.miss_memory import MissMemory
from reach.reachability.result import Foothold, NearestMiss


def foothold(index, row):
    return Foothold(index, row, 0, 100, False, (0, 3))


def test_misses_are_known_by_where_footholds_lie():
    memory = MissMemory()
    misses = {1: NearestMiss(0, (1.0, 2.0), (3.0, 4.0)), 2: NearestMiss(-1, (5.0, 6.0), (7.0, 8.0))}
    first = [foothold(index, row) for index, row in enumerate((0, 1, 2, 3))]
    assert memory.known(b"a", first, first) == ({}, first)
    memory.learn(b"a", first[1:], first, misses)
    assert memory.known(b"a", first, first) == (misses, first[:1])
    memory.begin()
    second = [foothold(index, row) for index, row in enumerate((9, 0, 1, 2, 3, 4))]
    found, unknown = memory.known(b"a", second[2:], second)
    assert sorted(found) == [2, 3]
    assert (found[2].source, found[3].source) == (1, -1)
    assert unknown == second[5:]
    assert memory.known(b"b", first[1:], first) == ({}, first[1:])
