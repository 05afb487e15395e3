"""Other spots at rest, a few subpixels beside a known one: what narrowly missed from there may do from here."""

from __future__ import annotations

from itertools import permutations
from typing import TYPE_CHECKING

import numpy as np

from reach.kernels import attempts as a
from reach.kernels import book as b
from reach.kernels import trials as t
from reach.kernels.params import State
from reach.kernels.step import run_script

if TYPE_CHECKING:
    from reach.kernels.book import Book
    from reach.kernels.params import Motion, Terrain

LONGEST_TAP = 48
SPOTS = 4
TRIED = 200

X, VX, GROUNDED = 0, 2, 4


def add_shifted(target: np.ndarray, shift_spx: int, book: Book, motion: Motion, terrain: Terrain) -> list[int]:
    """Make nodes at rest that lie at least so far beside where an attempt runs up, and as little more as can be.

    A tap is a direction held for some ticks, then coasting to rest; from rest it moves the body by the same distance
    wherever it is. Sums of four of them come near to any distance that the profile's numbers allow.

    Parameters
    ----------
    target : int64 [TARGET_FIELDS]
        Its best attempt is the one that is to begin elsewhere: its own tap is made part of the way to the new node.
    shift_spx : int
        How far toward the target.
    book, motion, terrain : Book, Motion, Terrain

    Returns
    -------
    list of int
        The new nodes, nearest first; none where the attempt does not run up from rest.
    """
    node = int(target[t.BEST])
    row = book.nodes[node]
    lead = _to_rest(target[t.BEST : t.CLOSEST_BEST], row, motion, terrain)
    if lead is None:
        return []
    begun = State(*row[:13].tolist())
    state = State(*run_script(begun, lead, motion, terrain)[-1].tolist())
    way = 1 if target[t.AIM_LEFT] + target[t.AIM_RIGHT] > 2 * state.x else -1
    lead = np.concatenate((lead, np.zeros((state.run_memory, 4), np.int64)))
    foothold = int(row[b.FOOTHOLD])
    left, right = book.footholds[foothold, [b.LEFT, b.RIGHT]].tolist()
    taps, moved = _taps(right - left, motion)
    pairs = (moved[:, None] + moved[None, :]).ravel()
    order = np.argsort(pairs, kind="stable")
    if way > 0:
        at = np.searchsorted(pairs[order], shift_spx - pairs)
    else:
        at = np.searchsorted(pairs[order], -shift_spx - pairs, side="right") - 1
    fits = np.flatnonzero((at >= 0) & (at < len(pairs)))
    partner = order[at[fits]]
    excess = way * (pairs[fits] + pairs[partner]) - shift_spx
    lengths = np.array([len(tap) for tap in taps])
    pair_ticks = (lengths[:, None] + lengths[None, :]).ravel()
    best = np.lexsort((pair_ticks[fits] + pair_ticks[partner], excess))[:TRIED]
    found: list[int] = []
    tried: set[int] = set()
    for index in best.tolist():
        four = [*divmod(int(fits[index]), len(taps)), *divmod(int(partner[index]), len(taps))]
        stops = state.x + sum(int(moved[one]) for one in four)
        if stops in tried:
            continue
        tried.add(stops)
        for around in permutations(four):
            inputs = np.concatenate((lead, *(taps[one] for one in around)))
            states = run_script(begun, inputs, motion, terrain)
            stays = states[:, GROUNDED].all() and left <= states[:, X].min() and states[:, X].max() <= right
            if stays and states[-1, VX] == 0 and states[-1, X] == stops:
                found.append(_add_node(states[-1], inputs, node, book))
                break
        if len(found) == SPOTS or (found and found[-1] < 0):
            break
    return [one for one in found if one >= 0]


def _to_rest(attempt: np.ndarray, node: np.ndarray, motion: Motion, terrain: Terrain) -> np.ndarray | None:
    """Return the inputs of an attempt up to the rest that it runs up from; None if it does not begin at rest."""
    if attempt[a.DEPART] == a.FLY:
        return None
    if attempt[a.TAP_TICKS] == 0:
        return np.zeros((0, 4), np.int64) if node[b.RESTING] else None
    inputs = np.zeros((int(attempt[a.TAP_TICKS]) + motion.run_cap // motion.coast + 2, 4), np.int64)
    inputs[:, 2] = attempt[a.RUN]
    inputs[: int(attempt[a.TAP_TICKS]), 0] = attempt[a.TAP_DIRECTION]
    states = run_script(State(*node[:13].tolist()), inputs, motion, terrain)
    rests = np.flatnonzero((states[:, VX] == 0) & (np.arange(len(states)) >= attempt[a.TAP_TICKS]))
    return inputs[: rests[0]] if len(rests) and states[: rests[0] + 1, GROUNDED].all() else None


def _taps(longest_spx: int, motion: Motion) -> tuple[list[np.ndarray], np.ndarray]:
    """Return taps either way, the empty one first, and how far each moves a body on free ground, spx."""
    taps, moved = [np.zeros((0, 4), np.int64)], [0]
    for ticks in range(1, LONGEST_TAP + 1):
        speeds = np.minimum(np.arange(1, ticks + 1) * motion.walk_accel, motion.walk_cap)
        coasting = np.arange(int(speeds[-1]) - motion.coast, 0, -motion.coast)
        distance = int(speeds.sum() + coasting.sum())
        if distance > longest_spx:
            break
        for way in (-1, 1):
            inputs = np.zeros((ticks + len(coasting) + 1, 4), np.int64)
            inputs[:ticks, 0] = way
            taps.append(inputs)
            moved.append(way * distance)
    return taps, np.array(moved, np.int64)


def _add_node(state: np.ndarray, inputs: np.ndarray, parent: int, book: Book) -> int:
    """Write a node at rest, as the kernels do, though not on the waiting list; -1 where the book is full."""
    node, first = int(book.counts[b.NODES]), int(book.counts[b.POOL])
    codes = (inputs[:, 0] + 1) | (inputs[:, 1] << 2) | (inputs[:, 2] << 3) | (inputs[:, 3] << 4)
    starts = np.flatnonzero(np.diff(codes, prepend=-1))
    entries = np.diff(starts, append=len(codes)) * 256 + codes[starts]
    if node >= len(book.nodes) or first + len(entries) > len(book.pool):
        return -1
    book.pool[first : first + len(entries)] = entries
    book.counts[b.POOL] += len(entries)
    book.counts[b.NODES] += 1
    row = book.nodes[node]
    foothold = int(book.nodes[parent, b.FOOTHOLD])
    row[:13] = state
    row[[b.PARENT, b.TOTAL]] = parent, book.nodes[parent, b.TOTAL] + len(inputs)
    row[[b.FIRST, b.COUNT, b.FOOTHOLD, b.RESTING]] = first, len(entries), foothold, 1
    row[b.NEXT] = book.footholds[foothold, b.FIRST_NODE]
    book.footholds[foothold, b.FIRST_NODE] = node
    book.footholds[foothold, b.NODE_COUNT] += 1
    return node
