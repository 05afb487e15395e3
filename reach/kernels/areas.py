"""Areas of a job's pool of polygons and sets (see heap.py), for what is wanted for a tick and for what lasts.

A flight needs the sets of a tick for the next tick alone. So its sets go into two areas by turns, which stay small
enough for the processor's caches, and only what is wanted later goes into the area that lasts as long as the job.
"""

from reach.kernels.heap import (
    A_BEGIN,
    A_COUNTER,
    A_END,
    AREA,
    AREA_COUNT,
    AREA_WIDTH,
    AREAS,
    FIRST,
    ITEM,
    KEEP,
    LASTING,
    POLYGON,
    POLYGON_N,
    SET,
    SET_FIRST,
    SET_N,
    SET_SIZE,
    SET_X0,
    SET_X1,
    SIZE,
    VERTEX_N,
    VERTEX_V,
    VERTEX_X,
)
from reach.kernels.typed import kernel

_ENDS = (VERTEX_X + 1, POLYGON + 1, ITEM + 1, SET + 1)
"""The cells in which the ends of the area in use stand, in the order of the counters from VERTEX_N on."""


@kernel
def _load_area(j, area) -> None:
    r = AREAS + area * AREA_WIDTH
    for i in range(4):
        j[VERTEX_N + i] = j[r + A_COUNTER + i]
        j[_ENDS[i]] = j[r + A_END + i]
    j[AREA] = area


@kernel
def use_area(j, area) -> None:
    """Store in this area of the pool from now on; where all is kept there is only one."""
    if j[KEEP]:
        return
    r = AREAS + j[AREA] * AREA_WIDTH
    for i in range(4):
        j[r + A_COUNTER + i] = j[VERTEX_N + i]
    _load_area(j, area)


@kernel
def _empty_area(j, area) -> None:
    r = AREAS + area * AREA_WIDTH
    for i in range(4):
        j[r + A_COUNTER + i] = j[r + A_BEGIN + i]


@kernel
def empty_areas(j) -> None:
    """Forget all polygons and sets but polygon 0, a point in place of any that finds no room, and set 0, the empty one.

    Goes on in the first of the two areas that take turns.
    """
    for area in range(AREA_COUNT):
        _empty_area(j, area)
    _load_area(j, LASTING)
    s = j[SET]
    j[s + SET_FIRST] = 0
    j[s + SET_SIZE] = 0
    j[s + SET_X0] = 0
    j[s + SET_X1] = -1
    j[SET_N] = 1
    j[j[POLYGON] + FIRST] = 0
    j[j[POLYGON] + SIZE] = 1
    j[j[VERTEX_X]] = 0
    j[j[VERTEX_V]] = 0
    j[POLYGON_N] = 1
    j[VERTEX_N] = 1
    use_area(j, LASTING + 1)


@kernel
def begin_tick(j) -> None:
    """Make room for the sets of a tick: those of the tick before stay, those of the one before that go."""
    if j[KEEP]:
        return
    area = LASTING + 1 if j[AREA] == LASTING + 2 else LASTING + 2
    _empty_area(j, area)
    use_area(j, area)
