"""Room for the search for plans: one for each thread, kept from search to search, larger when one needs more."""

from __future__ import annotations

import threading

import numpy as np

from reach.kernels.air import FLIGHT_FIELDS
from reach.kernels.plan_trial import Room

_FIRST_AXIS = 1024
_FIRST_CELLS = 1 << 17

_kept = threading.local()


def plan_room(run_up_ticks: int, flight_ticks: int) -> Room:
    """Return this thread's room, with so many ticks for a run-up at least and so many for a flight."""
    room: Room | None = getattr(_kept, "room", None)
    if room is None or len(room.run_ups) < run_up_ticks or len(room.trunk) != flight_ticks:
        room = _made(run_up_ticks, flight_ticks, _FIRST_AXIS, _FIRST_CELLS)
        _kept.room = room
    return room


def larger_room(room: Room) -> Room:
    """Return this thread's room with what `Room.lack` says at the least."""
    axis, cells = (int(n) for n in room.lack)
    larger = _made(
        len(room.run_ups),
        len(room.trunk),
        max(room.ticks.shape[1], 2 * axis),
        max(len(room.sums), 2 * cells),
    )
    _kept.room = larger
    return larger


def _made(run_up_ticks: int, flight_ticks: int, axis: int, cells: int) -> Room:
    return Room(
        run_ups=np.empty((run_up_ticks, 13), np.int64),
        trunk=np.empty((flight_ticks, FLIGHT_FIELDS), np.int64),
        branch=np.empty((flight_ticks, FLIGHT_FIELDS), np.int64),
        inputs=np.empty((flight_ticks, 4), np.int64),
        bodies=np.empty((flight_ticks + 1, 13), np.int64),
        ticks=np.empty((3, axis), np.int64),
        ends=np.empty(axis, np.int64),
        worths=np.empty(cells, np.uint8),
        spots=np.empty(cells, np.int64),
        wide=np.empty(cells, np.uint8),
        sizes=np.empty(cells, np.int64),
        sums=np.empty(cells, np.int64),
        box=np.empty((2, 3), np.int64),
        lack=np.zeros(2, np.int64),
        flown=np.zeros(1, np.int64),
    )
