"""The tables of a level and a movement, packed for the kernels of an exploration (see heap.py)."""

import numpy as np

from reach.kernels import heap
from reach.kernels.params import Motion, Terrain
from reach.kernels.rows import row_tables
from reach.kernels.zones import make_zones


def make_world(motion: Motion, terrain: Terrain, footholds: np.ndarray, aims: np.ndarray) -> np.ndarray:
    """Pack everything that an exploration reads.

    Parameters
    ----------
    motion : Motion
    terrain : Terrain
    footholds : int64 [footholds, 4]
        Row, least x, greatest x, and 1 for a spring; by row, then x.
    aims : int64 [rectangles, 5]
        Index of a place; least and greatest x and y of the positions at which it counts as reached, spx.

    Returns
    -------
    int64 [cells]
        The array `w` of heap.py.
    """
    rows, columns = terrain.material.shape
    tables, scalars = row_tables(motion, terrain)
    at = np.searchsorted(footholds[:, 0], np.arange(rows + 1)).astype(np.int64)
    tables[heap.FOOT] = (at, footholds[:, 1], footholds[:, 2], footholds[:, 3])
    zones = make_zones(motion)
    order = np.lexsort((np.arange(len(terrain.place_row)), terrain.place_row))
    total = sum(len(t[1]) for t in tables.values())
    w = heap.layout(
        heap.W_HEADER,
        {
            **{name: (len(t[0]), 1) for name, t in tables.items()},
            heap.INTERVALS: (max(total, 1), heap.INTERVAL_WIDTH),
            heap.PLACE_AT: (rows + 1, 1),
            heap.PLACE: (max(len(order), 1), heap.PLACE_WIDTH),
            heap.ZONE_AT: (len(zones.at), 1),
            heap.ZONES: (len(zones.zone), heap.ZONE_WIDTH),
            heap.CLASS: (len(zones.takeoff_class), heap.CLASS_WIDTH),
            heap.FOOT_ROW: (max(len(footholds), 1), 1),
            heap.AIM: (max(len(aims), 1), heap.AIM_WIDTH),
        },
    )
    interval = heap.region(w, heap.INTERVALS, heap.INTERVAL_WIDTH)
    first = 0
    for name, table in tables.items():
        count = len(table[1])
        heap.region(w, name)[:] = table[0] + first
        for column, values in enumerate(table[1:]):
            interval[first : first + count, column] = values
        first += count
    heap.region(w, heap.PLACE_AT)[:] = np.searchsorted(terrain.place_row[order], np.arange(rows + 1))
    place = heap.region(w, heap.PLACE, heap.PLACE_WIDTH)
    place[: len(order)] = np.column_stack([order, terrain.place_column[order], terrain.place_row[order]])
    heap.region(w, heap.ZONE_AT)[:] = zones.at
    heap.region(w, heap.ZONES, heap.ZONE_WIDTH)[:] = zones.zone
    heap.region(w, heap.CLASS, heap.CLASS_WIDTH)[:] = zones.takeoff_class
    heap.region(w, heap.FOOT_ROW)[: len(footholds)] = footholds[:, 0]
    heap.region(w, heap.AIM, heap.AIM_WIDTH)[: len(aims)] = aims
    scalars |= {
        heap.TILE: terrain.tile,
        heap.COLUMNS: columns,
        heap.ROWS: rows,
        heap.BODY_W: motion.body_w,
        heap.BODY_H: motion.body_h,
        heap.TERMINAL: motion.terminal,
        heap.CUT_SPEED: motion.cut_speed,
        heap.LAUNCH_TICK_GRAVITY: motion.launch_tick_gravity,
        heap.COYOTE: motion.coyote_ticks,
        heap.BUFFER: motion.buffer_ticks,
        heap.DROP_THROUGH: motion.drop_through,
        heap.BRAKE: zones.brake,
        heap.PLACES: len(order),
        heap.CLASSES: len(zones.takeoff_class),
        heap.AIMS: len(aims),
    }
    for name, value in scalars.items():
        w[name] = value
    return w
