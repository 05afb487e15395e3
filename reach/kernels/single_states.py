"""Single states one by one, all inputs of each, nearest first.

With cells of one subpixel this visits every state that can be reached: it ends only where numbers are coarse, and is
exact where it ends. With larger cells one state stands for all in its cell: a concrete search that gets through more.
Two states that differ only in takeoff speeds of the same bands behave alike, and on the ground the takeoff speed does
nothing (motion model): one of them is enough.
"""

from typing import NamedTuple

import numpy as np

from reach.kernels import book as b
from reach.kernels import records as r
from reach.kernels.compiling import compiled, inlined
from reach.kernels.params import Buttons
from reach.kernels.search import mark_contacts, was_launched
from reach.kernels.step import step

FOUND, DONE, OVERFLOW, X_CELL, V_CELL, BOX_LEFT, BOX_RIGHT, BOX_TOP, BOX_BOTTOM = range(9)
COUNTS = 9


class Singles(NamedTuple):
    """Arrays of the search.

    `counts` int64 [COUNTS], with the size of the cells in spx and spx per tick and the box that x and y are kept in.
    `states` int64 [n, 13]; `keys` int64 [n, 13], what tells them apart; `parent` int32 [n], a state or -1 - a node of
    the book; `code` int64 [n], the input from the parent; `slots` int32 [2**k], index + 1; `thresholds` int64 [n],
    every takeoff threshold, ascending.
    """

    counts: np.ndarray
    states: np.ndarray
    keys: np.ndarray
    parent: np.ndarray
    code: np.ndarray
    slots: np.ndarray
    thresholds: np.ndarray


@inlined
def takeoff_class(state, thresholds):
    """The number of takeoff thresholds that the state's takeoff speed meets; 0 on the ground. Approximation: exact."""
    met = 0
    if state.grounded == 0:
        while met < thresholds.shape[0] and thresholds[met] <= state.takeoff:
            met += 1
    return met


@compiled
def insert(state, parent, code, singles):
    """Store a state, unless one of its cell is stored."""
    counts = singles.counts
    index = counts[FOUND]
    if state.x < counts[BOX_LEFT] or state.x > counts[BOX_RIGHT]:
        return
    if state.y < counts[BOX_TOP] or state.y > counts[BOX_BOTTOM]:
        return
    if index >= singles.states.shape[0]:
        counts[OVERFLOW] = 1
        return
    key = singles.keys[index]
    b.save_state(state, key)
    key[0] = state.x // counts[X_CELL]
    key[2] = state.vx // counts[V_CELL]
    key[5] = takeoff_class(state, singles.thresholds)
    value = 0
    for i in range(13):
        value = (value * 31 + key[i]) % 1152921504606
    mask = singles.slots.shape[0] - 1
    slot = b.scatter(value) & mask
    while singles.slots[slot] != 0:
        other = singles.keys[singles.slots[slot] - 1]
        same = True
        for i in range(13):
            if other[i] != key[i]:
                same = False
                break
        if same:
            return
        slot = (slot + 1) & mask
    singles.slots[slot] = index + 1
    b.save_state(state, singles.states[index])
    singles.parent[index] = parent
    singles.code[index] = code
    counts[FOUND] = index + 1


@compiled
def write_tape(index, code, singles, book):
    """Write the inputs that lead to a stored state, and one more, on the tape.

    Returns
    -------
    node, ticks
        The node that they begin at, and their number; -1, -1 if they do not fit.
    """
    ticks = 1
    at = index
    while singles.parent[at] >= 0:
        ticks += 1
        at = singles.parent[at]
    if ticks > book.tape.shape[0]:
        return -1, -1
    place = ticks - 1
    book.tape[place] = code
    while singles.parent[index] >= 0:
        place -= 1
        book.tape[place] = singles.code[index]
        index = singles.parent[index]
    return -1 - singles.parent[index], ticks


@inlined
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


@compiled
def add_roots(nodes, singles, book):
    """Store the states of nodes of the book, int64 [n], to begin with."""
    for i in range(nodes.shape[0]):
        insert(b.load_state(book.nodes[nodes[i]]), -1 - nodes[i], 0, singles)


@compiled
def visit_states(most, singles, book, motion, terrain):
    """Visit stored states, nearest first, all inputs of each, keeping what they reach; goes on where a call stopped.

    Parameters
    ----------
    most : int
        States to visit in this call.
    singles : Singles
    book : Book
        Gets a script for every tile, place and foothold that had none.

    Returns
    -------
    bool
        True where no state is left and there was room for all. Then with cells of one subpixel and no bounds to the box
        everything that can be reached is kept (approximation: exact), else approximation: under.
    """
    counts = singles.counts
    visited = 0
    while counts[DONE] < counts[FOUND]:
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
            found = step(old, Buttons(direction, down, run, jump), motion, terrain)
            book.counts[b.TICKS] += 1
            if found.lost != 0:
                continue
            code = b.encode(direction, down, run, jump)
            on_top = found.grounded != 0 or was_launched(old, found)
            foothold = -1
            if on_top and found.ended == 0:
                foothold = r.foothold_at(found.x, found.y, book)
                if foothold >= 0 and book.footholds[foothold, b.LANDED_ON] != 0:
                    rested = book.footholds[foothold, b.REST_LEFT] <= book.footholds[foothold, b.REST_RIGHT]
                    if found.vx != 0 or found.grounded == 0 or found.buffer != 0 or rested:
                        foothold = -1
            if foothold >= 0 or gains(found, on_top, book, motion, terrain):
                node, ticks = write_tape(index, code, singles, book)
                if ticks > 0:
                    mark_contacts(found, on_top, ticks, node, book, motion, terrain)
                    if foothold >= 0:
                        book.footholds[foothold, b.LANDED_ON] = 1
                        if found.grounded != 0 and found.vx == 0 and found.buffer == 0:
                            r.add_rest(found, ticks, node, foothold, book)
                        else:
                            r.add_node(found, ticks, node, foothold, 0, book)
                else:
                    counts[OVERFLOW] = 1  # what is reached but has no room is not to count as out of reach
            insert(found, index, code, singles)
    return counts[OVERFLOW] == 0
