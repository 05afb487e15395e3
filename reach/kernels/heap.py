"""One flat int64 array for each of the three memories of an exploration, and the names of its cells.

Numba hands every array of a NamedTuple to a function in seven scalars; a hundred arrays make calls slow and compilation
endless. So the tables of a level (`w`), the working room of a job (`j`) and the stored ground states (`g`) are one
array each: a header of counters and region offsets, then the regions. A region's offset stands at its name, its
capacity (in records) one cell after. The first cells are alike in j and g, so that the polygon pool works in both.
"""

import numpy as np

from reach.kernels import polygon
from reach.kernels.pages import zeros

WIDTH = 4 * polygon.MAX_VERTICES + 40
"""Vertices that a scratch polygon can hold."""

# --- j and g: the pool of polygons and sets -----------------------------------------------------------------------
FULL = 0
VERTEX_N = 1
POLYGON_N = 2
ITEM_N = 3
SET_N = 4
VERTEX_X = 5
VERTEX_V = 7
POLYGON = 9
ITEM = 11
SET = 13

# a polygon's record
FIRST, SIZE, ZONE, X0, X1, V0, V1, NEXT = range(8)
POLYGON_WIDTH = 8
# a set's record
SET_FIRST, SET_SIZE, SET_X0, SET_X1 = range(4)
SET_WIDTH = 4

# --- g alone --------------------------------------------------------------------------------------------------------
SETTLED = 16
INBOX = 18
RESTED = 20
LANDED = 22
G_HEADER = 32
VERTICES_EACH = 24
"""For so many vertices a polygon ground states have room."""

# --- j alone --------------------------------------------------------------------------------------------------------
KEEP = 16
GENERATION = 17
ACTIVE_N = 18
COMING_N = 19
PENDING_N = 20
OUT_N = 21
MOVES_N = 22
RECORD_N = 23
LOST = 24
BUILD_N = 25
CLOSE_N = 26
BUILD = 28
CLOSE = 30
SCRATCH = 32
WORK = 34
MEMO = 36
ACTIVE = 38
COMING = 40
PENDING = 42
OUT = 44
MOVES = 46
TOUCHED = 48
RECORD = 50
AREA = 52
AREAS = 53
J_HEADER = 96

# areas of the pool: what lasts as long as the job, then the two that take turns
LASTING = 0
AREA_COUNT = 3
# an area's record: counters where it was left, and where it begins and ends, for vertices, polygons, items, sets;
# of the area in use, the ends stand where the regions' capacities do
A_COUNTER, A_BEGIN, A_END = 0, 4, 8
AREA_WIDTH = 12

# a builder's piece
B_SIZE, B_ZONE, B_LANE, B_X0, B_X1, B_V0, B_V1, B_DIRTY, B_JOINS = range(9)
B_HEAD = 16
B_WIDTH = B_HEAD + 2 * WIDTH

SCRATCH_ROWS = 11
JOINED = 10
"""The scratch polygon in which joins are made."""
WORK_ROWS = 6
MEMO_WIDTH = 3
STATE_WIDTH = 5
PENDING_WIDTH = 4
OUT_WIDTH = 2
MOVES_WIDTH = 4
RECORD_WIDTH = 6

# --- w: the tables of a level and a movement -----------------------------------------------------------------------
TILE = 0
COLUMNS = 1
ROWS = 2
BODY_W = 3
BODY_H = 4
FIRST_ROW = 5
LEAST_COUNT = 6
TERMINAL = 7
CUT_SPEED = 8
LAUNCH_TICK_GRAVITY = 9
COYOTE = 10
BUFFER = 11
DROP_THROUGH = 12
BRAKE = 13
PLACES = 14
CLASSES = 15
FREE = 16
DEADLY = 18
ENDING = 20
CARRY = 22
CEILING = 24
SPRING = 26
FOOT = 28
INTERVALS = 30
PLACE_AT = 32
PLACE = 34
ZONE_AT = 36
ZONES = 38
CLASS = 40
FOOT_ROW = 42
AIM = 44
AIMS = 46
W_HEADER = 64

# an interval's record; `MORE` is a spring's launch
LOW, HIGH, MORE = range(3)
INTERVAL_WIDTH = 3
# a place's record
PLACE_INDEX, PLACE_COLUMN, PLACE_ROW = range(3)
PLACE_WIDTH = 3
# an aim's record: a place, and a rectangle of positions at which it counts as reached, ends included
AIM_PLACE, AIM_LEFT, AIM_RIGHT, AIM_TOP, AIM_BOTTOM = range(5)
AIM_WIDTH = 5
# a zone's record: bounds, number of pieces, then four numbers a piece
Z_LOW, Z_HIGH, Z_PIECES, Z_DOWN = range(4)
MAX_PIECES = 2
ZONE_WIDTH = 3 + 4 * MAX_PIECES
# a takeoff class's record
C_LOW, C_HIGH, C_LAUNCH, C_HELD, C_GRAVITY = range(5)
CLASS_WIDTH = 5

# --- k: the marks ---------------------------------------------------------------------------------------------------
STOP = 0
POLYGON_TICKS = 1
COVER_ABOVE = 2
K_TOUCHED = 4
K_LOSING = 6
K_MISS = 8
BOX_TOP, BOX_BOTTOM, BOX_LEFT, BOX_RIGHT = range(10, 14)
"""The box of all that is marked as covered, cells of the coverage map, ends included; empty where top > bottom."""
K_HEADER = 16
# a nearest miss: known (0 or 1), where the body is, where it would have to be, foothold
MISS_KNOWN, MISS_X, MISS_Y, MISS_TO_X, MISS_TO_Y, MISS_FOOTHOLD = range(6)
MISS_WIDTH = 6

OK = 0
NEEDS_ROOM = 1
STOPPED = 2

FROM_REST = 0
FROM_INBOX = 1
FROM_AIR = 2
FROM_SPOT = 3
FROM_TAKEOFF = 4

JUMP = 0
WALK_OFF = 1
DROP = 2
STRIDE = 3
BOUNCE = 4

_POOL = {VERTEX_X: (64, 16), POLYGON: (4, 1), ITEM: (2, 2), SET: (1, 1)}
"""How much of the pool lasts as long as the job, and how much a tick has, for each unit of room: vertices, polygons,
items and sets, in the order of their counters."""
KEPT_TICKS = 16
"""For so many ticks there is room where all is kept."""

CELLS = 8
"""Cells of the coverage map along a tile."""


def layout(header: int, regions: dict[int, tuple[int, int]]) -> np.ndarray:
    """Return a zeroed array with these regions.

    Parameters
    ----------
    header : int
        Cells before the first region.
    regions : dict
        Name of a region to (capacity in records, cells a record).

    Returns
    -------
    int64 [cells]
    """
    total = header + sum(capacity * width for capacity, width in regions.values())
    a = zeros(total, np.int64)
    at = header
    for name, (capacity, width) in regions.items():
        a[name] = at
        a[name + 1] = capacity
        at += capacity * width
    return a


def region(a: np.ndarray, name: int, width: int = 1) -> np.ndarray:
    """View of a region as [capacity, width] (or [capacity] for width 1)."""
    at, capacity = int(a[name]), int(a[name + 1])
    part = a[at : at + capacity * width]
    return part if width == 1 else part.reshape(capacity, width)


def make_ground(footholds: int, room: int) -> np.ndarray:
    """Return empty ground states with room for this many polygons."""
    g = layout(
        G_HEADER,
        {
            VERTEX_X: (room * VERTICES_EACH, 1),
            VERTEX_V: (room * VERTICES_EACH, 1),
            POLYGON: (room, POLYGON_WIDTH),
            ITEM: (1, 1),
            SET: (1, SET_WIDTH),
            SETTLED: (footholds, 1),
            INBOX: (footholds, 1),
            RESTED: (footholds, 1),
            LANDED: (footholds, 1),
        },
    )
    region(g, SETTLED)[:] = -1
    region(g, INBOX)[:] = -1
    return g


def make_job(places: int, room: int, keep: bool) -> np.ndarray:
    """Return working room; `room` is a power of two that scales everything. With `keep` it has one area, for all."""
    areas = {
        name: [room * KEPT_TICKS * tick] * AREA_COUNT if keep else [room * lasting, *(room * tick,) * 2]
        for name, (lasting, tick) in _POOL.items()
    }
    ends = {name: [sizes[0]] * AREA_COUNT if keep else np.cumsum(sizes).tolist() for name, sizes in areas.items()}
    j = layout(
        J_HEADER,
        {
            VERTEX_X: (ends[VERTEX_X][-1], 1),
            VERTEX_V: (ends[VERTEX_X][-1], 1),
            POLYGON: (ends[POLYGON][-1], POLYGON_WIDTH),
            ITEM: (ends[ITEM][-1], 1),
            SET: (ends[SET][-1], SET_WIDTH),
            BUILD: (max(128, room // 8), B_WIDTH),
            CLOSE: (max(128, room // 8), B_WIDTH),
            SCRATCH: (SCRATCH_ROWS * 2, WIDTH),
            WORK: (WORK_ROWS, 2 * WIDTH),
            MEMO: (room * 8, MEMO_WIDTH),
            ACTIVE: (room, STATE_WIDTH),
            COMING: (room, STATE_WIDTH),
            PENDING: (room, PENDING_WIDTH),
            OUT: (room * 4, OUT_WIDTH),
            MOVES: (room, MOVES_WIDTH),
            TOUCHED: (max(places, 1), 1),
            RECORD: (room * 64 if keep else 1, RECORD_WIDTH),
        },
    )
    j[KEEP] = keep
    for i, (name, sizes) in enumerate(areas.items()):
        for area in range(AREA_COUNT):
            record = AREAS + area * AREA_WIDTH + i
            j[record + A_END] = ends[name][area]
            j[record + A_BEGIN] = ends[name][area] - sizes[area]
    return j


def make_marks(places: int, footholds: int, cover_above: int) -> np.ndarray:
    """Return marks with nothing found; entry `footholds` of the losing marks is the start's."""
    k = layout(
        K_HEADER, {K_TOUCHED: (max(places, 1), 1), K_LOSING: (footholds + 1, 1), K_MISS: (max(places, 1), MISS_WIDTH)}
    )
    empty_marks(k, cover_above)
    return k


def empty_marks(k: np.ndarray, cover_above: int) -> None:
    """Forget all marks, but not whether to stop."""
    k[STOP + 1 : COVER_ABOVE + 1] = 0
    k[K_HEADER:] = 0
    k[COVER_ABOVE] = cover_above
    k[BOX_TOP] = k[BOX_LEFT] = 1 << 40
    k[BOX_BOTTOM] = k[BOX_RIGHT] = -1


def make_packed(polygons: int, vertices: int) -> np.ndarray:
    """Return room for the polygons that a job hands on; see `ground.pack`."""
    return layout(
        G_HEADER,
        {
            VERTEX_X: (vertices, 1),
            VERTEX_V: (vertices, 1),
            POLYGON: (polygons, POLYGON_WIDTH),
            ITEM: (1, 1),
            SET: (1, SET_WIDTH),
        },
    )
