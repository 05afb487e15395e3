"""Every single state that any input leads to, one by one: ends only where numbers are coarse, exact where it ends.

Two states that differ only in takeoff speeds of the same bands behave alike (motion model), and on the ground the
takeoff speed does nothing: those are stored as one.
"""

from typing import NamedTuple

import numpy as np
from numba import njit

from reach.kernels import book as b
from reach.kernels.compiling import BARE, LEAF
from reach.kernels.params import Buttons, State
from reach.kernels.search import mark_contacts, was_launched
from reach.kernels.step import step

FOUND, DONE, OVERFLOW = range(3)


class Singles(NamedTuple):
    """Arrays of the search: `counts` int64 [3]; `states` int64 [n, 13]; `parent` int32 [n]; `code` int64 [n], the input
    from the parent; `slots` int32 [2**k], index + 1; `thresholds` int64 [n], every takeoff threshold, ascending."""

    counts: np.ndarray
    states: np.ndarray
    parent: np.ndarray
    code: np.ndarray
    slots: np.ndarray
    thresholds: np.ndarray


@njit(**LEAF)
def same_takeoff(state, thresholds):
    """The state with the least takeoff speed that behaves alike. Approximation: exact."""
    takeoff = 0
    if state.grounded == 0:
        for i in range(thresholds.shape[0]):
            if thresholds[i] <= state.takeoff:
                takeoff = thresholds[i]
    return State(
        state.x, state.y, state.vx, state.vy, state.grounded, takeoff, state.held, state.run_memory, state.coyote,
        state.buffer, state.jump_was_down, state.lost, state.ended,
    )  # fmt: skip


@njit(**LEAF)
def hash_row(row):
    """A hash of a stored state, at least 0."""
    value = 0
    for i in range(13):
        value = (value * 31 + row[i]) % 1152921504606
    return b.scatter(value)


@njit(**b.KERNEL)
def insert(state, parent, code, singles):
    """True where the state is new; it is stored then."""
    index = singles.counts[FOUND]
    if index >= singles.states.shape[0]:
        singles.counts[OVERFLOW] = 1
        return False
    row = singles.states[index]
    b.save_state(state, row)
    mask = singles.slots.shape[0] - 1
    slot = hash_row(row) & mask
    while singles.slots[slot] != 0:
        other = singles.states[singles.slots[slot] - 1]
        same = True
        for i in range(13):
            if other[i] != row[i]:
                same = False
                break
        if same:
            return False
        slot = (slot + 1) & mask
    singles.slots[slot] = index + 1
    singles.parent[index] = parent
    singles.code[index] = code
    singles.counts[FOUND] = index + 1
    return True


@njit(**b.KERNEL)
def write_tape(index, singles, book):
    """Write the inputs that lead to a stored state on the tape; returns their number, -1 if they do not fit."""
    ticks = 0
    at = index
    while singles.parent[at] >= 0:
        ticks += 1
        at = singles.parent[at]
    if ticks >= book.tape.shape[0]:
        return -1
    place = ticks
    while singles.parent[index] >= 0:
        place -= 1
        book.tape[place] = singles.code[index]
        index = singles.parent[index]
    return ticks


@njit(**LEAF)
def gains(state, on_top, book, motion, terrain):
    """True where the state reaches a tile or place that has no script yet."""
    tile = terrain.tile
    places = book.reach.shape[0] - book.place_next.shape[0]
    first_column = state.x // tile
    last_column = (state.x + motion.body_w - 1) // tile
    row = (state.y + motion.body_h) // tile
    if on_top and 0 <= row < book.tile_slot.shape[0]:
        for column in range(first_column, last_column + 1):
            slot = book.tile_slot[row, column]
            if slot >= 0 and book.reach[slot, b.REACH_NODE] < 0:
                return True
    last_row = min(book.place_at.shape[0] - 1, (state.y + motion.body_h - 1) // tile)
    for place_row in range(max(0, state.y // tile), last_row + 1):
        for column in range(first_column, last_column + 1):
            place = book.place_at[place_row, column]
            while place >= 0:
                if book.reach[places + place, b.REACH_NODE] < 0:
                    return True
                place = book.place_next[place]
    return False


@njit(**BARE)
def visit_states(state, most, singles, book, motion, terrain):
    """Visit states, nearest first, all inputs of each, marking what they reach; goes on where the last call stopped.

    Parameters
    ----------
    state : State
        The first one, that of the book's first node.
    most : int
        States to visit in this call.

    Returns
    -------
    bool
        True where no state is left: everything that can be reached is marked. Approximation: exact then, else under.
    """
    counts = singles.counts
    if counts[FOUND] == 0:
        insert(state, -1, 0, singles)
    visited = 0
    while counts[DONE] < counts[FOUND] and counts[OVERFLOW] == 0:
        if visited >= most:
            return False
        visited += 1
        index = counts[DONE]
        counts[DONE] += 1
        old = b.load_state(singles.states[index])
        if old.lost != 0 or old.ended != 0:
            continue
        downs = 1 + (1 if old.grounded != 0 and motion.drop_through != 0 else 0)
        for choice in range(12 * downs):
            if motion.has_run == 0 and (choice >> 1) & 1 != 0:
                continue
            jump = choice & 1
            run = (choice >> 1) & 1
            direction = (choice >> 2) % 3 - 1
            down = choice // 12
            found = same_takeoff(step(old, Buttons(direction, down, run, jump), motion, terrain), singles.thresholds)
            if found.lost != 0:
                continue
            code = b.encode(direction, down, run, jump)
            on_top = found.grounded != 0 or was_launched(old, found)
            if gains(found, on_top, book, motion, terrain):
                ticks = write_tape(index, singles, book)
                if ticks >= 0:
                    book.tape[ticks] = code
                    mark_contacts(found, on_top, ticks + 1, 0, book, motion, terrain)
            insert(found, index, code, singles)
    return counts[OVERFLOW] == 0
