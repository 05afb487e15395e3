"""What the concrete search remembers: states with inputs that lead to them, first reaches, moves, a waiting list.

A *node* is a concrete state with its parent node and the inputs from the parent to it, so every node has a script
from the start. Inputs being tried are written on a *tape*, one entry a tick since the node; whatever is worth keeping
is copied from the tape into the *pool*, run-length encoded: ``ticks * 256 + code``.

Nothing here allocates: arrays have a fixed size and a full one sets ``counts[FULL]``, which only leaves things
unproved.
"""

from typing import NamedTuple

import numpy as np

from reach.kernels.compiling import inlined
from reach.kernels.params import State

(
    TICKS,
    NODES,
    POOL,
    HEAP,
    MOVES,
    CELLS,
    FULL,
    MISSING,
    RANDOM,
    TILE,
    BODY_H,
    TOP_SPEED,
    CURRENT,
    NEXT_PLAN,
    TRIALS,
    TARGET,
    TRIAL,
    AIM,
    MISS,
    HAS_RUN,
    HAS_DROP,
    COYOTE_TICKS,
    AIR_TICKS,
    GO_ON,
) = range(24)
COUNTS = 24

PARENT, TOTAL, FIRST, COUNT, FOOTHOLD, RESTING, NEXT = range(13, 20)
NODE_FIELDS = 20

ROW, LEFT, RIGHT, IS_SPRING, FIRST_NODE, NODE_COUNT, REST_LEFT, REST_RIGHT, LANDED_ON = range(9)
FOOTHOLD_FIELDS = 9

REACH_NODE, REACH_FIRST, REACH_COUNT, REACH_TOTAL, WANTED = range(5)
REACH_FIELDS = 5

(
    MOVE_SOURCE,
    MOVE_TARGET,
    MOVE_KIND,
    MOVE_FROM_REST,
    MOVE_TO_REST,
    MOVE_NODE,
    MOVE_FIRST,
    MOVE_COUNT,
    MOVE_TICKS,
    MOVE_MARGIN,
    MOVE_LEAVE,
) = range(11)
MOVE_FIELDS = 11

KIND_JUMP, KIND_WALK_OFF, KIND_DROP, KIND_STRIDE, KIND_SPRING = range(5)

CELL_REST, CELL_MOVING, CELL_BUFFERED, CELL_BOUNCE = range(1, 5)

HALF = 1 << 31
MOST_NODES_ON_FOOTHOLD = 4096


class Book(NamedTuple):
    """Arrays of the search, int64 unless said otherwise.

    `counts` [COUNTS] holds counters, the numbers of the profile that all need, and the trial under way. `nodes`
    [n, NODE_FIELDS]: the state, then the fields named above. `pool` [n]. `heap` [n, 2] (key, node): the waiting list.
    `cells` [2**k] is a set of cell keys, 0 is free. `reach` [standable tiles, then places; REACH_FIELDS]. `tile_slot`
    int32 [rows, columns]: index in `reach`, -1 if not standable; `place_at` int32 [rows, columns]: a place's index or
    -1; `place_next` int32 [places]: the next place on the same tile. `footholds` [n, FOOTHOLD_FIELDS], `row_first`
    [rows + 1]: the footholds of row r are row_first[r] up to row_first[r + 1]. `moves` [n, MOVE_FIELDS], their target
    is a foothold, or the number of footholds plus a place's index; `move_slots` [2**k]: index + 1. `tape` [ticks].
    `plan` [ATTEMPT_FIELDS]: the plan under way; `table` [n, ATTEMPT_FIELDS]: the plans tried from every node;
    `targets` [n, TARGET_FIELDS]: what trials aim at.
    """

    counts: np.ndarray
    nodes: np.ndarray
    pool: np.ndarray
    heap: np.ndarray
    cells: np.ndarray
    reach: np.ndarray
    tile_slot: np.ndarray
    place_at: np.ndarray
    place_next: np.ndarray
    footholds: np.ndarray
    row_first: np.ndarray
    moves: np.ndarray
    move_slots: np.ndarray
    tape: np.ndarray
    plan: np.ndarray
    table: np.ndarray
    targets: np.ndarray


@inlined
def encode(direction, down, run, jump):
    """The code of one tick's buttons, 0 to 63."""
    return (direction + 1) | (down << 2) | (run << 3) | (jump << 4)


@inlined
def load_state(row):
    """The State in the first 13 entries of a row."""
    return State(
        row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7], row[8], row[9], row[10], row[11], row[12]
    )


@inlined
def save_state(state, row):
    """Write a State into the first 13 entries of a row."""
    row[0] = state.x
    row[1] = state.y
    row[2] = state.vx
    row[3] = state.vy
    row[4] = state.grounded
    row[5] = state.takeoff
    row[6] = state.held
    row[7] = state.run_memory
    row[8] = state.coyote
    row[9] = state.buffer
    row[10] = state.jump_was_down
    row[11] = state.lost
    row[12] = state.ended


@inlined
def draw(book, below):
    """A pseudo-random whole number in [0, below), the same sequence in every run.

    Lehmer's generator with modulus 2^31 - 1 and multiplier 48271 (Park, Miller and Stockmeyer 1993).
    """
    value = book.counts[RANDOM] * 48271 % 2147483647
    book.counts[RANDOM] = value
    return value % below


@inlined
def scatter(key):
    """A hash of a key in [0, 2^62); its low bits are used."""
    low = key % HALF
    high = key // HALF
    mixed = (low * 73244475) ^ (high * 83492791)
    return mixed ^ (mixed >> 23)
