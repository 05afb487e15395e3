"""The book and the pieces of the concrete search, one by one."""

import numpy as np
import pytest

from reach.kernels import book as b
from reach.kernels.attempts import ATTEMPT_FIELDS, FIT_FLYING, FIT_RESTING, FITS, attempt_table
from reach.kernels.params import State
from reach.kernels.search import begin, search
from reach.kernels.step import run_script
from reach.reachability.footholds import find_footholds, standable_tiles
from reach.reachability.search_room import decode, make_book
from tests.builders import make_motion, make_state, make_terrain, standing


def opened(rows, motion, column, row):
    terrain = make_terrain(rows)
    start = standing(column, row, motion, terrain)
    book = make_book(
        motion,
        terrain,
        find_footholds(motion, terrain),
        standable_tiles(motion, terrain),
        np.ones(len(terrain.place_ends), bool),
    )
    begin(start, book, motion, terrain)
    return book, start, terrain


MAP = [
    "..........",
    "..........",
    ".....##...",
    "..........",
    "@..#......",
    "####..####",
]


def test_every_node_is_the_end_of_its_inputs():
    motion = make_motion(coyote_ticks=3, buffer_ticks=3, run_cap=160000)
    book, _, terrain = opened(MAP, motion, 0, 4)
    search(3_000_000, book, motion, terrain)
    nodes = book.nodes[: int(book.counts[b.NODES])]
    assert len(nodes) > 100
    buffered = 0
    for index, row in enumerate(nodes.tolist()):
        assert row[b.PARENT] < index
        if row[b.PARENT] < 0:
            continue
        parent = nodes[row[b.PARENT]].tolist()
        inputs = decode(book, (row[b.FIRST], row[b.COUNT]))
        assert run_script(State(*parent[:13]), inputs, motion, terrain)[-1].tolist() == row[:13]
        assert row[b.TOTAL] == parent[b.TOTAL] + len(inputs)
        buffered += row[9] > 0
    assert buffered > 0


def test_no_move_is_kept_that_is_not_made():
    motion = make_motion(coyote_ticks=3, run_cap=160000)
    book, _, terrain = opened(MAP, motion, 0, 4)
    search(3_000_000, book, motion, terrain)
    moves = book.moves[: int(book.counts[b.MOVES])].tolist()
    assert len({(m[b.MOVE_SOURCE], m[b.MOVE_TARGET], m[b.MOVE_KIND]) for m in moves}) == len(moves) > 5
    for move in moves:
        inputs = decode(book, (move[b.MOVE_FIRST], move[b.MOVE_COUNT]))
        begun = State(*book.nodes[move[b.MOVE_NODE], :13].tolist())
        states = run_script(begun, inputs, motion, terrain)
        target = book.footholds[move[b.MOVE_TARGET]].tolist()
        assert target[b.LEFT] <= states[-1, 0] <= target[b.RIGHT]
        assert states[-1, 4] == 1
        assert not (move[b.MOVE_TO_REST] and states[-1, 2])
        assert states[move[b.MOVE_LEAVE], 4] == 1


def test_the_same_attempts_in_slices_and_at_once():
    motion = make_motion()
    whole, _, terrain = opened(MAP, motion, 0, 4)
    sliced, _, _ = opened(MAP, motion, 0, 4)
    while search(10_000_000, whole, motion, terrain):
        pass
    while search(5_000, sliced, motion, terrain):
        pass
    for one, other in zip(whole, sliced, strict=True):
        if one is not whole.plan and one is not whole.tape:
            assert np.array_equal(one, other)


def test_a_body_in_the_air_at_first_falls_and_goes_on():
    motion = make_motion()
    terrain = make_terrain(MAP)
    start = make_state(standing(7, 1, motion, terrain).x, 0)
    book = make_book(
        motion, terrain, find_footholds(motion, terrain), standable_tiles(motion, terrain), np.ones(1, bool)
    )
    begin(start, book, motion, terrain)
    search(3_000_000, book, motion, terrain)
    slot = book.tile_slot[5, 7]
    assert book.reach[slot, b.REACH_NODE] >= 0
    assert (book.moves[: int(book.counts[b.MOVES]), b.MOVE_SOURCE] >= 0).all()


def test_a_full_book_stops_the_search_and_says_so():
    motion = make_motion()
    book, _, terrain = opened(MAP, motion, 0, 4)
    small = book._replace(nodes=book.nodes[:20].copy())
    search(3_000_000, small, motion, terrain)
    assert small.counts[b.FULL] == 1
    assert small.counts[b.NODES] == 20


@pytest.mark.small
def test_the_grid_has_what_the_profile_can_do():
    plain = attempt_table(False, False, 0)
    everything = attempt_table(True, True, 4)
    assert plain.shape[1] == ATTEMPT_FIELDS
    assert len(everything) > len(plain)
    assert (plain[:, FITS] & FIT_RESTING).any()
    assert (plain[:, FITS] & FIT_FLYING).any()
