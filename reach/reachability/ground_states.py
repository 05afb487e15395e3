"""The stored ground states of an exploration: more room for them, and less of it for what is done with.

What a job has taken out of a foothold's inbox lies where it lay until the lists are copied.
"""

from __future__ import annotations

import numpy as np

from reach.kernels import heap
from reach.kernels.ground_lists import copy_lists, listed


def with_more_room(g: np.ndarray, least: int = 0) -> np.ndarray:
    """Return the same ground states with room for at least twice what is in their lists, and for `least` polygons."""
    count, corners = listed(g)
    room = max(int(g[heap.POLYGON + 1]), least)
    while room < 2 * count or room * heap.VERTICES_EACH < 2 * corners:
        room *= 2
    return _copied(g, room)


def compacted(g: np.ndarray) -> np.ndarray:
    """Return the same ground states without room for more."""
    count, corners = listed(g)
    return _copied(g, max(1, count, -(-corners // heap.VERTICES_EACH)))


def _copied(g: np.ndarray, room: int) -> np.ndarray:
    new = heap.make_ground(int(g[heap.SETTLED + 1]), room)
    copy_lists(g, new)
    for name in (heap.RESTED, heap.LANDED):
        heap.region(new, name)[:] = heap.region(g, name)
    return new
