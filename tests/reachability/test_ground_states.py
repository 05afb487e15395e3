"""More room for ground states, and less."""

import numpy as np

from reach.kernels import heap
from reach.kernels.ground_lists import length, listed, store
from reach.reachability.ground_states import compacted, with_more_room


def test_room_grows_with_what_is_listed_alone():
    g = heap.make_ground(1, 4)
    point = np.array([5])
    for zone in range(4):
        assert store(g, heap.SETTLED, 0, point, point, 1, zone)
    assert not store(g, heap.SETTLED, 0, point, point, 1, 4)
    heap.region(g, heap.RESTED)[0] = 1
    grown = with_more_room(g)
    assert grown[heap.POLYGON + 1] == 8 and length(grown, heap.SETTLED, 0) == 4
    assert store(grown, heap.SETTLED, 0, point, point, 1, 4)
    assert heap.region(grown, heap.RESTED)[0] == 1
    heap.region(grown, heap.SETTLED)[0] = -1
    assert with_more_room(grown)[heap.POLYGON + 1] == 8
    assert with_more_room(grown, 32)[heap.POLYGON + 1] == 32
    small = compacted(grown)
    assert listed(small) == (0, 0) and small[heap.POLYGON + 1] == 1
    assert heap.region(small, heap.RESTED)[0] == 1
