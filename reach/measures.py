"""The moves that scripts prove, each measured: what the report lists and the graph of proved moves is made of."""

from __future__ import annotations

import os
import threading
from collections.abc import Generator, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from reach.findings import Move, MoveKind, PointPx, Tile
from reach.graph import Edge, Node, ProvedMove
from reach.kernels.course import compile_course
from reach.kernels.params import State
from reach.kernels.step import run_script
from reach.reachability.cures import Cure, least_cure
from reach.reachability.passages import Hop, Passage, passages
from reach.reachability.plan_answers import together
from reach.reachability.windows import WINDOW_CAP_TICKS, Window, ask_window
from reach.timing import threshold_ticks

if TYPE_CHECKING:
    from reach.kernels.course import Course
    from reach.reachability.plan_requests import Asking
    from reach.reachability.problem import Problem
    from reach.reachability.result import Exploration

SPX = 65536
ARC_STEP_PX = 4.0
"""Points of an arc closer than this to the one before are left out."""

MOST_TOGETHER = 16
"""So many moves are measured together at most: progress is told, and time asked for, often enough."""

LEAST_TURNS = 4
"""So many turns every processor has, where there are moves enough, so that none waits long for another."""

Key = tuple[int, Node, MoveKind]
"""A move: the foothold it leaves, the foothold or ending place it leads to, its kind."""

ProvedEdge = tuple[int, Node, tuple[int, ...]]
"""A proved move: source, target and the indices of the moves it is made of."""


@dataclass(frozen=True, eq=False)
class Sample:
    """A script that makes one move, from rest to the landing or, where it comes to rest, to rest on the target.

    `from_rest`: the body rests on the source itself, not only on a foothold before it. `target` is a foothold's
    index, or a place's where `into_place`.
    """

    source: int
    target: int
    into_place: bool
    kind: MoveKind
    from_rest: bool
    start: State
    inputs: np.ndarray
    hop: Hop


@dataclass(frozen=True, eq=False)
class Measures:
    """The moves in the report's order, and the proved moves with the passages that make each, the likeliest first.

    `samples` has a script for each move and `edges` its foothold and the foothold or place it leads to. `limit`
    says what ended the measuring early, "" if nothing did.
    """

    moves: tuple[Move, ...]
    edges: tuple[Edge, ...]
    samples: tuple[Sample, ...]
    legs: Mapping[ProvedMove, tuple[Passage, ...]]
    limit: str

    def making(self, problem: Problem, passage: Passage) -> ProvedMove | None:
        """Return the proved move that a passage makes, None if none was measured for it."""
        order = {_sample_key(problem, sample): index for index, sample in enumerate(self.samples)}
        if any(_key(problem, passage, hop) not in order for hop in passage.hops):
            return None
        edge = _edge(problem, passage, order)
        return next((one for one in self.legs if (one.source, one.target, one.moves) == edge), None)


def measure(problem: Problem, seen: Exploration, known: Iterable[Passage]) -> Measures:
    """Measure every move that some passage makes.

    A passage over several footholds without rest on the way is one proved move made of several moves. Moves that
    are left when the time limit is reached have no window.
    """
    known = sorted(known, key=lambda one: len(one.inputs))
    samples = _best_samples(problem, known)
    order = {key: index for index, key in enumerate(samples)}
    speedy = _needing_speed(problem, seen)
    moves: list[Move] = []
    planned: list[Passage] = []
    limit = ""
    with closing(_windows(problem, list(samples.values()))) as windows:
        for sample, window in zip(samples.values(), windows, strict=True):
            if window is None:
                limit = f"the time limit of {problem.options.time_limit_s:g} s was reached while measuring moves"
            else:
                planned += _planned(problem, sample, window)
            moves.append(_move(problem, sample, window, needs_speed=_ends(problem, sample) in speedy))
    legs: dict[ProvedEdge, list[Passage]] = {}
    for passage in [*planned, *known]:
        legs.setdefault(_edge(problem, passage, order), []).append(passage)
    return Measures(
        tuple(moves),
        tuple(_ends(problem, sample) for sample in samples.values()),
        tuple(samples.values()),
        {_proved(edge, moves, made, _cap(problem)): tuple(made) for edge, made in legs.items()},
        limit,
    )


def cures(problem: Problem, measures: Measures, wanted: Iterable[int]) -> tuple[dict[int, Cure], str]:
    """Return, for some moves whose window is under the threshold, what the least change is that makes it pass.

    Also returns which limit left some of them without an answer, "" if none did.
    """
    found: dict[int, Cure] = {}
    for index in wanted:
        move, sample = measures.moves[index], measures.samples[index]
        if move.window_ms is None or move.window_ms >= problem.options.window_threshold_ms:
            continue
        if problem.late:
            return found, f"the time limit of {problem.options.time_limit_s:g} s was reached while looking for cures"
        problem.tell("looking for cures", None)
        target = sample.target if sample.into_place else problem.footholds[sample.target]
        source = problem.footholds[sample.source]
        found[index] = least_cure(problem.motion, problem.terrain, source, target, sample.kind, _wanted(problem))
    return found, ""


def _wanted(problem: Problem) -> int:
    """Return the least window, in ticks, that is not too tight."""
    return threshold_ticks(problem.options.window_threshold_ms, problem.movement.tick_rate_hz)


def _cap(problem: Problem) -> int:
    """Return the largest window measured, in ticks: never less than what is asked for."""
    return max(WINDOW_CAP_TICKS, _wanted(problem))


def arc_px(states: np.ndarray, body_w: int, body_h: int) -> tuple[PointPx, ...]:
    """Return the path of the body's feet centre, px, thinned to points at least ARC_STEP_PX apart and the last one.

    Parameters
    ----------
    states : int64 [n, at least 2]
        x and y of the body's top-left corner, spx.
    body_w, body_h : int
        Spx.
    """
    return _thinned(_feet_px(states, body_w, body_h))


def _feet_px(states: np.ndarray, body_w: int, body_h: int) -> tuple[PointPx, ...]:
    xs = (2 * states[:, 0] + body_w) / (2 * SPX)
    ys = (states[:, 1] + body_h) / SPX
    return tuple(zip(xs.tolist(), ys.tolist(), strict=True))


def _thinned(points: tuple[PointPx, ...]) -> tuple[PointPx, ...]:
    kept = list(points[:1])
    for point in points[1:-1]:
        if max(abs(point[0] - kept[-1][0]), abs(point[1] - kept[-1][1])) >= ARC_STEP_PX:
            kept.append(point)
    return (*kept, *points[1:][-1:])


def _best_samples(problem: Problem, known: Iterable[Passage]) -> dict[Key, Sample]:
    """Return the best example of every move, sorted by move: one from rest if there is one, then the shortest."""
    best: dict[Key, tuple[tuple[bool, int], Sample]] = {}
    for passage in known:
        for number, hop in enumerate(passage.hops):
            key = _key(problem, passage, hop)
            rank = (number > 0 or hop.source != passage.source, len(passage.inputs))
            if key not in best or rank < best[key][0]:
                best[key] = (rank, _sample(passage, number))
    return {key: best[key][1] for key in sorted(best, key=_key_order)}


def _sample(passage: Passage, number: int) -> Sample:
    hop = passage.hops[number]
    is_last = number == len(passage.hops) - 1
    inputs = passage.inputs if is_last else passage.inputs[: hop.arrive_tick]
    target = hop.target if hop.target is not None else passage.place
    assert target is not None
    from_rest = number == 0 and hop.source == passage.source
    return Sample(hop.source, target, hop.target is None, hop.kind, from_rest, passage.start, inputs, hop)


def _windows(problem: Problem, samples: list[Sample]) -> Generator[Window | None, None, None]:
    """Yield the window of every sample, in their order, measured on all processors; None once time is up."""
    course = compile_course(problem.terrain)
    stopped = threading.Event()

    def ended() -> bool:
        return stopped.is_set() or problem.late

    def measured(some: list[Sample]) -> list[Window | None]:
        found = together((_window(problem, course, sample) for sample in some), ended)
        return [found.get(number) for number in range(len(some))]

    processors = os.cpu_count() or 1
    at_once = min(-(-len(samples) // (LEAST_TURNS * processors)), MOST_TOGETHER)
    turns = [samples[begin : begin + at_once] for begin in range(0, len(samples), max(at_once, 1))]
    workers = ThreadPoolExecutor(processors)
    try:
        for index, window in enumerate(chain.from_iterable(workers.map(measured, turns))):
            problem.tell("measuring moves", index / len(samples))
            yield window
    finally:
        # ended early, it measures nothing more than what is being measured
        stopped.set()
        workers.shutdown(cancel_futures=True)


def _window(problem: Problem, course: Course, sample: Sample) -> Asking[Window]:
    asked = ask_window if problem.memory is None else problem.memory.windows.ask_window
    return asked(
        problem.motion,
        problem.terrain,
        problem.footholds[sample.source],
        sample.target if sample.into_place else problem.footholds[sample.target],
        sample.kind,
        sample,
        tick_ms=1000 / problem.movement.tick_rate_hz,
        spread_ms=problem.options.timing_spread_ms,
        cap=_cap(problem),
        wanted=_wanted(problem),
        course=course,
    )


def _planned(problem: Problem, sample: Sample, window: Window) -> list[Passage]:
    """Return what the plan in the middle of the window proves, played in the level itself."""
    foothold = problem.footholds[sample.source]
    if window.plan is None or foothold.is_spring:
        return []
    y = foothold.row * problem.terrain.tile - problem.motion.body_h
    start = State(window.plan.x_spx, y, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0)
    made = passages(start, window.inputs, problem.finder, problem.motion, problem.terrain)
    return [one for one in made if [_change(hop) for hop in one.hops] == [_change(sample.hop)]]


def _change(hop: Hop) -> tuple[int, int | None, MoveKind]:
    return (hop.source, hop.target, hop.kind)


def _needing_speed(problem: Problem, seen: Exploration) -> set[tuple[int, Node]]:
    """Return the edges that exist, but for no body that starts at rest on the source: proved by the superset.

    That no plan from rest was found would prove nothing. On a spring there is no rest to start from.
    """
    if not seen.complete:
        return set()
    found: list[tuple[tuple[int, Node], bool]] = []
    found += [((move.source, move.target), move.from_rest) for move in seen.moves]
    for source, place, from_rest in seen.place_moves:
        if place in problem.ending_ids and source >= 0:
            found.append(((source, problem.ending_ids[place]), from_rest))
    calm = {edge for edge, from_rest in found if from_rest}
    return {edge for edge, _ in found if edge not in calm and not problem.footholds[edge[0]].is_spring}


def _move(problem: Problem, sample: Sample, window: Window | None, *, needs_speed: bool) -> Move:
    if window is not None and window.arc_px:
        flown = window.arc_px
        air_ticks = window.air_ticks
    else:
        states = run_script(sample.start, sample.inputs, problem.motion, problem.terrain)
        states = states[sample.hop.leave_tick : sample.hop.arrive_tick + 1]
        flown = _feet_px(states, problem.motion.body_w, problem.motion.body_h)
        air_ticks = sample.hop.arrive_tick - sample.hop.leave_tick
    arc = _thinned(flown)
    measured = window is not None and not window.why_not
    return Move(
        source=_tile(problem, sample.source, arc[0]),
        target=_place_tile(problem, sample.target) if sample.into_place else _tile(problem, sample.target, arc[-1]),
        kind=sample.kind,
        air_ticks=air_ticks,
        window_ticks=window.window_ticks if window is not None and measured else None,
        window_ms=window.window_ticks * 1000 / problem.movement.tick_rate_hz
        if window is not None and measured
        else None,
        window_open=window is not None and window.open,
        chance=window.chance if window is not None and measured else None,
        landing_room_px=window.landing_room_px if window is not None and measured else None,
        needs_speed=needs_speed,
        passing_only=window is not None and window.passing_only,
        left_out=window is None,
        arc_px=arc,
        touches=_touched(problem, flown),
    )


def _touched(problem: Problem, feet_px: tuple[PointPx, ...]) -> tuple[str, ...]:
    """Return the ids of the places that the body touches on a path of its feet centre, one point a tick."""
    tile, points = problem.level.tile_px, np.array(feet_px)
    half, height = problem.motion.body_w / SPX / 2, problem.motion.body_h / SPX
    found = []
    for place in problem.level.places:
        left, top = place.column * tile, place.row * tile
        beside = (points[:, 0] + half > left) & (points[:, 0] - half < left + tile)
        if (beside & (points[:, 1] > top) & (points[:, 1] - height < top + tile)).any():
            found.append(place.id)
    return tuple(sorted(found))


def _tile(problem: Problem, foothold_index: int, feet: PointPx) -> Tile:
    """Return the tile of a foothold that is nearest to a body's feet centre."""
    foothold = problem.footholds[foothold_index]
    first, last = foothold.columns
    return (min(max(int(feet[0] // problem.level.tile_px), first), last), foothold.row)


def _place_tile(problem: Problem, index: int) -> Tile:
    place = problem.level.places[index]
    return (place.column, place.row)


def _key(problem: Problem, passage: Passage, hop: Hop) -> Key:
    return (hop.source, _end(problem, hop.target, passage.place), hop.kind)


def _end(problem: Problem, target: int | None, place: int | None) -> Node:
    if target is not None:
        return target
    assert place is not None
    return problem.ending_ids[place]


def _ends(problem: Problem, sample: Sample) -> tuple[int, Node]:
    return (sample.source, problem.ending_ids[sample.target] if sample.into_place else sample.target)


def _sample_key(problem: Problem, sample: Sample) -> Key:
    return (*_ends(problem, sample), sample.kind)


def _edge(problem: Problem, passage: Passage, order: Mapping[Key, int]) -> ProvedEdge:
    made_of = tuple(order[_key(problem, passage, hop)] for hop in passage.hops)
    return (passage.source, _end(problem, passage.target, passage.place), made_of)


def _key_order(key: Key) -> tuple[int, bool, int, str, str]:
    source, target, kind = key
    is_place = isinstance(target, str)
    return (source, is_place, -1 if is_place else int(target), str(target), str(kind))


def _proved(edge: ProvedEdge, moves: list[Move], made: list[Passage], cap: int) -> ProvedMove:
    source, target, made_of = edge
    window = min((moves[index].window_ticks or 0 for index in made_of), default=cap)
    return ProvedMove(source, target, made_of, window, min(len(one.inputs) for one in made))
