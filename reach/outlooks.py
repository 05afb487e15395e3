"""What a body at rest on each foothold can still hope for: an ending, a loss, or nothing."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reach.evidence import FootholdOutlook, Outlook
from reach.graph import MoveGraph, leading_by_rests, leading_to
from reach.verdicts import ContradictionError

if TYPE_CHECKING:
    from reach.kernels.params import State
    from reach.reachability.result import Exploration, Foothold
    from reach.script import Script


@dataclass(frozen=True)
class Rest:
    """A state at rest on a foothold (on a spring: just launched by it), and the script that leads to it."""

    state: State
    way_in: Script


@dataclass(frozen=True)
class WayOut:
    """The footholds on which a script to an ending place comes to rest on the way, None where none was found.

    `why` then says why the search for it ended, and `by_limit` whether a limit cut it short.
    """

    rested_on: Collection[int] | None
    why: str = ""
    by_limit: bool = False


@dataclass(frozen=True)
class Questions:
    """What the search for outlooks may ask, each of which takes its time.

    `ending` explores again from rest on a foothold, or from a spring's bounces, until an ending place is touched;
    `loss` does so until the first loss. `way_out` looks for a script from a state to an ending place.
    """

    ending: Callable[[Foothold], Exploration]
    loss: Callable[[Foothold], Exploration]
    way_out: Callable[[State], WayOut]


@dataclass
class _Known:
    """What earlier answers say about footholds not asked yet; sets of foothold indices.

    From rest on those in `hopeless` no ending can be reached, in `stuck` no loss either; from `lost` it can, as far as
    the superset tells. From `lossless` no move of the completed superset leads to a foothold with a loss.
    """

    free: set[int]
    hopeless: set[int]
    stuck: set[int]
    lost: set[int]
    lossless: set[int]


def find_outlooks(
    exploration: Exploration,
    graph: MoveGraph,
    rests: Mapping[int, Rest],
    endings: Collection[int],
    questions: Questions,
) -> tuple[FootholdOutlook, ...]:
    """Return the outlook of every foothold on which a body can come to rest, and of springs that lead nowhere.

    A foothold from which proved moves lead to an ending is free. Any other one is asked: where no chain of the
    superset's moves from rest to rest leads out of it, by exploring again from rest on it, unless an exploration that
    rested there has the answer; and where the superset has a way, by looking for a script. Footholds are left out on
    which only the superset comes to rest and from which it has a way out.

    Parameters
    ----------
    exploration : Exploration
        From the start.
    graph : MoveGraph
    rests : mapping of int to Rest
        For the footholds on which a script comes to rest, and the springs on which one bounces.
    endings : collection of int
        Indices of the places that end the level; without any there are no outlooks.
    questions : Questions

    Raises
    ------
    ContradictionError
        If a script comes to rest on (or bounces from) a foothold where nothing in the completed superset does.
    """
    _compare(exploration, rests)
    if not endings:
        return ()
    known = _begin(exploration, graph, endings)
    calm = _ints(leading_by_rests(graph.over_, graph.endings))
    hopeful = _ints(leading_to(graph.over_, graph.endings))
    found = []
    for foothold in exploration.footholds:
        index = foothold.index
        if foothold.is_spring:
            if not exploration.landed[index] or index in hopeful:
                continue
        elif not exploration.rested[index]:
            continue
        answer = _outlook(foothold, rests.get(index), index in calm, known, graph, endings, questions)
        if answer is not None:
            found.append(answer)
    return tuple(found)


def _begin(exploration: Exploration, graph: MoveGraph, endings: Collection[int]) -> _Known:
    """Return what the exploration from the start says already."""
    known = _Known(_ints(leading_to(graph.under_, graph.endings)), set(), set(), set(), set())
    if exploration.complete:
        every = {foothold.index for foothold in exploration.footholds}
        losing = [index for index in every if exploration.losing[index]]
        known.lossless = every - _ints(leading_to(graph.over_, losing))
        if not any(exploration.touched[place] for place in endings):
            known.hopeless = every
    return known


def _compare(exploration: Exploration, rests: Collection[int]) -> None:
    for foothold in exploration.footholds:
        seen = exploration.landed if foothold.is_spring else exploration.rested
        if exploration.complete and foothold.index in rests and not seen[foothold.index]:
            raise ContradictionError(
                f"a script comes to rest on foothold {foothold.index}, where nothing in the completed superset does"
            )


def _outlook(
    foothold: Foothold,
    rest: Rest | None,
    is_calm: bool,
    known: _Known,
    graph: MoveGraph,
    endings: Collection[int],
    questions: Questions,
) -> FootholdOutlook | None:
    index = foothold.index
    way_in = rest.way_in if rest else None
    if index in known.free:
        return FootholdOutlook(index, Outlook.FREE, way_in)
    if not is_calm:
        doom, limit = _doom(foothold, known, graph, endings, questions)
        if limit:
            why = f"the {limit} was reached while exploring from there"
            return FootholdOutlook(index, Outlook.UNDECIDED, way_in, why, limit)
        if doom is not None:
            if rest is not None:
                return FootholdOutlook(index, doom, way_in)
            why = "no script was found that comes to rest there, but one that did could never end the level"
            return FootholdOutlook(index, Outlook.UNDECIDED, None, why)
    if rest is None:
        return None
    way_out = questions.way_out(rest.state)
    if way_out.rested_on is None:
        why = "the superset has a way out, but no script was found for it"
        if way_out.why:
            why += f" (the {way_out.why} was reached)" if way_out.why == "time limit" else f" ({way_out.why})"
        return FootholdOutlook(index, Outlook.UNDECIDED, way_in, why, way_out.why if way_out.by_limit else "")
    known.free |= set(way_out.rested_on)
    return FootholdOutlook(index, Outlook.FREE, way_in)


def _doom(
    foothold: Foothold, known: _Known, graph: MoveGraph, endings: Collection[int], questions: Questions
) -> tuple[Outlook | None, str]:
    """Return what is proved if no ending can be reached from rest there (else None), and which limit hindered it."""
    index = foothold.index
    hopeless = index in known.hopeless
    if hopeless and (index in known.stuck or index in known.lossless):
        return Outlook.SOFTLOCK, ""
    if hopeless and index in known.lost:
        return Outlook.FORCED_LOSS, ""
    beyond = questions.loss(foothold) if hopeless else questions.ending(foothold)
    losing = bool(beyond.losing.any() or beyond.losing_start)
    if not hopeless and any(beyond.touched[place] for place in endings):
        return None, ""
    if not beyond.complete and not (hopeless and losing):
        return None, beyond.why
    if losing:
        known.lost |= {index, *_ints(leading_by_rests(graph.over_, [index]))}
    if beyond.complete:
        # Whatever can be reached from a foothold rested on here can be reached from here too.
        rested = {other.index for other in beyond.footholds if beyond.rested[other.index]}
        known.hopeless |= rested
        known.stuck |= set() if losing else rested
    return Outlook.FORCED_LOSS if losing else Outlook.SOFTLOCK, ""


def _ints(nodes: Collection[int | str]) -> set[int]:
    return {node for node in nodes if isinstance(node, int)}
