"""Scripts that prove what is reachable: found by a concrete search, replayed before they are given out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import MoveKind
from reach.kernels import book as b
from reach.kernels.contact import touch_table
from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.reachability.search_room import decode
from reach.reachability.search_run import SearchLimits, SearchRun
from reach.reachability.search_targets import TargetList

if TYPE_CHECKING:
    from reach.kernels.params import Motion, Terrain
    from reach.reachability.result import Foothold, OverMove

X, Y, VX, VY, GROUNDED = range(5)

KINDS = {
    b.KIND_JUMP: MoveKind.JUMP,
    b.KIND_WALK_OFF: MoveKind.WALK_OFF,
    b.KIND_DROP: MoveKind.DROP,
    b.KIND_STRIDE: MoveKind.STRIDE,
    b.KIND_SPRING: MoveKind.SPRING,
}


class WitnessError(RuntimeError):
    """A script does not do what it was kept for, or does what the superset rules out: a mistake in reach itself."""


@dataclass(frozen=True, eq=False)
class UnderMove:
    """A move with a script: the body leaves `source` and gets to the foothold `target` or the ending place `place`.

    Exactly one of `target` and `place` is given. `inputs` (int64 [ticks, 4]: direction, down, run, jump) lead from
    `start` to rest on the target if it `comes_to_rest`, else to the landing. `from_rest`: `start` is at rest on the
    source; else it is the last state at rest before it (or the search's own start), and the source is only passed.
    `leave_tick` is the tick of `inputs` (from 0) in which the body leaves the source. Approximation: under.
    """

    source: int
    target: int | None
    place: int | None
    kind: MoveKind
    from_rest: bool
    comes_to_rest: bool
    start: State
    inputs: np.ndarray
    leave_tick: int


def find_witnesses(
    motion: Motion,
    terrain: Terrain,
    footholds: Sequence[Foothold],
    start: State,
    wanted_tiles: np.ndarray,
    wanted_places: np.ndarray,
    over_moves: Iterable[OverMove] | None = None,
    place_moves: Iterable[tuple[int, int, bool]] = (),
    *,
    allowed_tiles: np.ndarray | None = None,
    allowed_places: np.ndarray | None = None,
    want_moves: bool = True,
    limits: SearchLimits | None = None,
) -> Witnesses:
    """Return scripts from a state to as many as possible of the wanted tiles and places. Approximation: under.

    Parameters
    ----------
    motion, terrain : Motion, Terrain
    footholds : sequence of Foothold
        All of them, as `find_footholds` gives them.
    start : State
    wanted_tiles : bool [rows, columns]
        Tiles that the superset says can be reached. Only standable ones count.
    wanted_places : bool [places]
    over_moves : iterable of OverMove, optional
        The moves of the superset. They tell the search where to look; without them it tries what lies near.
    place_moves : iterable of (source foothold, place index, from_rest)
        From where the superset touches the places.
    allowed_tiles, allowed_places : bool arrays, optional
        What the superset has, where only a part of it is wanted: what scripts may reach besides.
    want_moves : bool
        Whether to go on for moves without a script once every tile and place has one.
    limits : SearchLimits, optional

    Returns
    -------
    Witnesses

    Raises
    ------
    WitnessError
        If a script does not replay, or reaches what is not wanted: then the superset or the search is wrong.
    """
    targets = TargetList(footholds, terrain, motion, over_moves, place_moves, wanted_places)
    limits = limits or SearchLimits()
    run = SearchRun(motion, terrain, footholds, start, wanted_tiles, wanted_places, targets, limits)
    run.go(want_moves)
    found = Witnesses(run)
    found.verify(
        wanted_tiles if allowed_tiles is None else allowed_tiles,
        wanted_places if allowed_places is None else allowed_places,
    )
    return found


class Witnesses:
    """What a search found, with the scripts. Approximation: under, and exact where `exhausted`."""

    def __init__(self, run: SearchRun) -> None:
        """Keep what the search filled in."""
        self._book = run.book
        self._motion, self._terrain = run.motion, run.terrain
        self._footholds = run.footholds
        self._exhausted = run.exhausted
        self.gave_up = run.gave_up
        self._checked = {0}
        self._tiles = np.argwhere(run.book.tile_slot >= 0).tolist()
        self.start = run.start
        self.ticks = int(run.book.counts[b.TICKS])
        self.places = len(run.terrain.place_ends)

    @property
    def exhausted(self) -> bool:
        """Whether every state there is was visited, so that what has no script cannot be reached."""
        return self._exhausted

    @property
    def ran_out_of_room(self) -> bool:
        """Whether some table was full, so that something may not have been kept."""
        return bool(self._book.counts[b.FULL] != 0)

    @property
    def exhausted_tiles(self) -> np.ndarray | None:
        """Where `exhausted`: exactly the tiles that can be reached, bool [rows, columns]."""
        return self.reached_tiles if self.exhausted else None

    @property
    def exhausted_places(self) -> np.ndarray | None:
        """Where `exhausted`: exactly the places that can be reached, bool [places]."""
        return self.reached_places if self.exhausted else None

    @property
    def reached_tiles(self) -> np.ndarray:
        """The tiles that have a script, bool [rows, columns]."""
        slots = self._book.tile_slot
        return (slots >= 0) & (self._book.reach[slots, b.REACH_NODE] >= 0)

    @property
    def reached_places(self) -> np.ndarray:
        """The places that have a script, bool [places]."""
        return self._book.reach[len(self._book.reach) - self.places :, b.REACH_NODE] >= 0

    def tile_inputs(self, column: int, row: int) -> np.ndarray | None:
        """Return inputs, int64 [ticks, 4], after which the tile carries the body; None where none was found."""
        slot = int(self._book.tile_slot[row, column])
        return None if slot < 0 else self._reach_inputs(slot)

    def place_inputs(self, index: int) -> np.ndarray | None:
        """Return inputs, int64 [ticks, 4], after which the body touches the place; None where none was found."""
        return self._reach_inputs(len(self._book.reach) - self.places + index)

    def foothold_inputs(self, index: int) -> np.ndarray | None:
        """Return inputs after which a foothold carries the body at rest (a spring: throws it), or None."""
        node = self._resting.get(index)
        return None if node is None else self._from_start(node)

    @cached_property
    def _resting(self) -> dict[int, int]:
        """The node that is soonest at rest on each foothold (a spring: thrown by it), the first of several."""
        nodes = self._book.nodes[: int(self._book.counts[b.NODES])]
        springs = np.array([foothold.is_spring for foothold in self._footholds] + [False], np.bool_)
        on = nodes[:, b.FOOTHOLD]
        fits = np.flatnonzero((on >= 0) & (springs[on] | (nodes[:, b.RESTING] != 0)))
        latest_first = fits[np.lexsort((fits, nodes[fits, b.TOTAL]))[::-1]]
        return dict(zip(on[latest_first].tolist(), latest_first.tolist(), strict=True))

    @cached_property
    def under_moves(self) -> tuple[UnderMove, ...]:
        """One example of every move found, by source, target (footholds, then places) and kind."""
        rows = self._book.moves[: int(self._book.counts[b.MOVES])].tolist()
        return tuple(self._move(row) for row in sorted(rows))

    def verify(self, wanted_tiles: np.ndarray, wanted_places: np.ndarray) -> None:
        """Replay every script; raise WitnessError where one does not do what it was kept for, or what nobody wanted."""
        if bool((self.reached_tiles & ~wanted_tiles).any()) or bool((self.reached_places & ~wanted_places).any()):
            raise WitnessError("a script reaches what the superset says cannot be reached")
        for slot, row in enumerate(self._book.reach.tolist()):
            if row[b.REACH_NODE] < 0:
                continue
            states = self._replay(row[b.REACH_NODE], row[b.REACH_FIRST], row[b.REACH_COUNT])
            if not self._reaches(slot, states):
                raise WitnessError("a script does not reach its tile or place")
        _ = self.under_moves

    def _reaches(self, slot: int, states: np.ndarray) -> bool:
        last = states[-1]
        place = slot - (len(self._book.reach) - self.places)
        if place >= 0:
            return bool(touch_table(states[-1:], self._motion, self._terrain)[0, place])
        row, column = self._tiles[slot]
        tile = self._terrain.tile
        launched = len(states) > 1 and last[VY] < 0 and last[Y] >= states[-2, Y]
        beside = last[X] >= (column + 1) * tile or last[X] + self._motion.body_w <= column * tile
        return bool(
            (last[GROUNDED] or launched) and last[Y] + self._motion.body_h == row * tile and not beside and not last[11]
        )

    def _reach_inputs(self, slot: int) -> np.ndarray | None:
        row = self._book.reach[slot].tolist()
        if row[b.REACH_NODE] < 0:
            return None
        return np.concatenate(
            (self._from_start(row[b.REACH_NODE]), decode(self._book, (row[b.REACH_FIRST], row[b.REACH_COUNT])))
        )

    def _from_start(self, node: int, until: int = 0) -> np.ndarray:
        """Return the inputs that lead from one node to another, by default from the start."""
        parts = []
        while node != until:
            node, _, first, count = self._book.nodes[node, b.PARENT : b.COUNT + 1].tolist()
            parts.append((first, count))
        return decode(self._book, *reversed(parts))

    def _state(self, node: int) -> State:
        return State(*self._book.nodes[node, :13].tolist())

    def _replay(self, node: int, first: int, count: int) -> np.ndarray:
        """Return the states of inputs from a node, having made sure that the node's own script leads to it."""
        waiting = [node]
        while waiting[-1] not in self._checked:
            waiting.append(int(self._book.nodes[waiting[-1], b.PARENT]))
        for one in reversed(waiting):
            if one in self._checked:
                continue
            row = self._book.nodes[one].tolist()
            inputs = decode(self._book, (row[b.FIRST], row[b.COUNT]))
            end = run_script(self._state(row[b.PARENT]), inputs, self._motion, self._terrain)[-1]
            if not np.array_equal(end, self._book.nodes[one, :13]):
                raise WitnessError("a script does not replay to the state that it was kept for")
            self._checked.add(one)
        return run_script(self._state(node), decode(self._book, (first, count)), self._motion, self._terrain)

    def _move(self, row: list[int]) -> UnderMove:
        node = row[b.MOVE_NODE]
        states = self._replay(node, row[b.MOVE_FIRST], row[b.MOVE_COUNT])
        inputs = decode(self._book, (row[b.MOVE_FIRST], row[b.MOVE_COUNT]))
        rest = node
        while rest != 0 and not self._book.nodes[rest, b.RESTING]:
            rest = int(self._book.nodes[rest, b.PARENT])
        lead = self._from_start(node, rest)
        target = row[b.MOVE_TARGET]
        place = target - len(self._footholds) if target >= len(self._footholds) else None
        self._check_move(row, place, states)
        return UnderMove(
            source=row[b.MOVE_SOURCE],
            target=target if place is None else None,
            place=place,
            kind=KINDS[row[b.MOVE_KIND]],
            from_rest=bool(row[b.MOVE_FROM_REST]),
            comes_to_rest=bool(row[b.MOVE_TO_REST]),
            start=self._state(rest),
            inputs=np.concatenate((lead, inputs)),
            leave_tick=len(lead) + row[b.MOVE_LEAVE],
        )

    def _check_move(self, row: list[int], place: int | None, states: np.ndarray) -> None:
        last = states[-1]
        if place is not None:
            fits = bool(last[12]) and bool(touch_table(states[-1:], self._motion, self._terrain)[0, place])
        else:
            target = self._footholds[row[b.MOVE_TARGET]]
            on_it = target.left_spx <= last[X] <= target.right_spx
            on_it = on_it and last[Y] + self._motion.body_h == target.row * self._terrain.tile
            fits = on_it and bool(last[GROUNDED] or target.is_spring) and not last[11]
            fits = fits and not (row[b.MOVE_TO_REST] and last[VX] != 0)
        if not fits:
            raise WitnessError("a script does not make its move")
