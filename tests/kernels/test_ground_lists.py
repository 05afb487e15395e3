"""Lists of ground states: how they grow, are shortened from their ends and copied."""

import numpy as np

from reach.kernels import heap
from reach.kernels.ground_lists import copy_lists, length, listed, shorten, store

FOOTHOLDS = 3


def filled(rng: np.random.Generator) -> np.ndarray:
    """Ground states with lists of random lengths, of which some polygons have been taken out again."""
    g = heap.make_ground(FOOTHOLDS, 64)
    for _ in range(40):
        heads = (heap.SETTLED, heap.INBOX)[rng.integers(2)]
        x = np.sort(rng.integers(0, 100, 2))[::-1].copy()
        assert store(g, heads, int(rng.integers(FOOTHOLDS)), x, np.zeros(2, np.int64), 2, int(rng.integers(4)))
    for node in range(FOOTHOLDS):
        shorten(g, heap.INBOX, node, int(rng.integers(length(g, heap.INBOX, node) + 1)))
    return g


def lists(g: np.ndarray) -> list[list[tuple[int, list[int]]]]:
    """Zone and x of every polygon of every list, from its head on."""
    found = []
    for heads in (heap.SETTLED, heap.INBOX):
        for node in range(FOOTHOLDS):
            i, members = int(heap.region(g, heads)[node]), []
            while i >= 0:
                at, size, zone = heap.region(g, heap.POLYGON, heap.POLYGON_WIDTH)[i, :3].tolist()
                members.append((zone, heap.region(g, heap.VERTEX_X)[at : at + size].tolist()))
                i = int(heap.region(g, heap.POLYGON, heap.POLYGON_WIDTH)[i, heap.NEXT])
            found.append(members)
    return found


def test_a_copy_has_the_same_lists_and_nothing_else():
    for seed in range(20):
        g = filled(np.random.default_rng(seed))
        count, corners = listed(g)
        new = heap.make_ground(FOOTHOLDS, count)
        copy_lists(g, new)
        assert lists(new) == lists(g)
        assert (new[heap.POLYGON_N], new[heap.VERTEX_N], new[heap.FULL]) == (count, corners, 0)


def test_what_is_taken_out_is_what_was_put_in_first():
    g = heap.make_ground(FOOTHOLDS, 8)
    for zone in range(5):
        store(g, heap.INBOX, 1, np.array([7]), np.array([0]), 1, zone)
    shorten(g, heap.INBOX, 1, 3)
    assert [zone for zone, _ in lists(g)[FOOTHOLDS + 1]] == [4, 3]
    shorten(g, heap.INBOX, 1, 0)
    assert length(g, heap.INBOX, 1) == 2
    shorten(g, heap.INBOX, 1, 2)
    assert lists(g)[FOOTHOLDS + 1] == []
