"""A move on the easiest route that leaves the player too little time.

What it finds
-------------
Moves that even the easiest route to an ending needs and whose window is shorter than the threshold, or that land
where one cannot come to rest but only pass. A warning; an error where the window is a single tick and under the
threshold.

Why it matters
--------------
A window of two ticks at 60 ticks a second is 33 ms: a player whose timing spreads by 25 ms hits it every second
time, and misses it mostly without seeing why. The spread is an average over players, not a promise that anyone can
do it.

How it is decided
-----------------
A move's window is the largest w such that, around some plan for it, all w x w x w combinations of consecutive ticks
for the press, the hold and the last steering succeed in the simulator. The easiest route is the one whose smallest
window is largest, among routes of moves that scripts prove, replayed whole. Where the widest did not replay, or a limit
left moves unmeasured, another route may be easier: the finding then speaks of the way that was proved. The chance is
the sum, over all combinations that succeed, of their weights for normally distributed errors of the stated spread. The
cure is the least whole number of px by which bringing the target nearer, or lowering it, makes the window pass,
confirmed on the changed map.

Options
-------
`--window-ms` (default 60) and `--timing-spread-ms` (default 25). In the level file: `accept`, with the landing tile of
the move as `at`.

Example
-------
A gap of nine tiles that the fastest run clears by four px: the press must come on one of two ticks.

What to do
----------
Apply the cure, or add an easier way: the finding says whether every way to an ending leads this way.
"""

from __future__ import annotations

from typing import Any

from reach.evidence import Evidence
from reach.findings import Finding, Mark, MarkShape, Move, Severity
from reach.graph import bottlenecks
from reach.wording import count_words, move_words, number_words

RULE = "tight-landing"


def find(evidence: Evidence) -> list[Finding]:
    """Return a finding for every move of the easiest route that is too tight, passes only, or cannot be measured."""
    graph = evidence.graph
    suspects = [index for index in dict.fromkeys(evidence.route) if evidence.is_tight(evidence.moves[index])]
    if not suspects:
        return []
    complete = evidence.exploration.complete
    unavoidable = set(bottlenecks(graph.over_, graph.over_starts, graph.endings)) if complete else set()
    return [_finding(evidence, index, graph.move_edges[index] in unavoidable) for index in suspects]


def _finding(evidence: Evidence, index: int, unavoidable: bool) -> Finding:
    move = evidence.moves[index]
    sentences = [_window_words(evidence, move)]
    if move.passing_only:
        sentences.append("No plan tried comes to rest where it lands: it can only pass.")
    elif move.landing_room_px is not None:
        sentences.append(f"The landings lie within {number_words(move.landing_room_px)} px.")
    if move.needs_speed:
        sentences.append("It needs speed brought in from before.")
    sentences.append(_where(evidence, unavoidable))
    cure = evidence.cures.get(index)
    details: dict[str, Any] = {
        "from": list(move.source),
        "to": list(move.target),
        "kind": str(move.kind),
        "window_ticks": move.window_ticks,
        "window_ms": move.window_ms,
        "threshold_ms": evidence.options.window_threshold_ms,
        "chance": move.chance,
        "timing_spread_ms": evidence.options.timing_spread_ms,
        "landing_room_px": move.landing_room_px,
        "needs_speed": move.needs_speed,
        "passing_only": move.passing_only,
        "unavoidable": unavoidable,
        "cure": None if cure is None else {"nearer_px": cure.nearer_px, "lower_px": cure.lower_px},
    }
    marks = (Mark(MarkShape.ARC, points_px=move.arc_px), Mark(MarkShape.TILE, tiles=(move.target,)))
    return Finding(
        RULE, _severity(evidence, move), move.target, " ".join(sentences), _advice(evidence, index), details, marks
    )


def _where(evidence: Evidence, unavoidable: bool) -> str:
    if unavoidable:
        return "Every way to an ending leads this way."
    return "It is on the easiest route." if evidence.route_easiest else "It is on the way that was proved."


def _severity(evidence: Evidence, move: Move) -> Severity:
    single = move.window_ticks is not None and move.window_ticks <= 1
    return Severity.ERROR if evidence.is_short(move) and single else Severity.WARNING


def _window_words(evidence: Evidence, move: Move) -> str:
    what = move_words(move)
    what = what[0].upper() + what[1:]
    if move.window_ticks is None or move.window_ms is None:
        return f"{what} has no measured window: of all that was tried only a whole script makes it."
    window = f"{count_words(move.window_ticks, 'tick')} ({number_words(move.window_ms)} ms)"
    if move.window_open:
        window += " or more"
    words = f"{what} leaves a window of {window}"
    if evidence.is_short(move):
        words += f", under the threshold of {number_words(evidence.options.window_threshold_ms)} ms"
    if move.chance is not None:
        spread = f"a timing spread of {number_words(evidence.options.timing_spread_ms)} ms (an average, no promise)"
        words += f": {number_words(100 * move.chance)} % of tries succeed at {spread}"
    return words + "."


def _advice(evidence: Evidence, index: int) -> str:
    cure = evidence.cures.get(index)
    ways = []
    if cure is not None and cure.nearer_px is not None:
        ways.append(f"bring the target {cure.nearer_px} px nearer")
    if cure is not None and cure.lower_px is not None:
        ways.append(f"lower it by {cure.lower_px} px")
    if not ways:
        return "Bring the target nearer or lower it, or add an easier way."
    words = " or ".join(ways)
    return f"{words[0].upper()}{words[1:]}: then the window passes; or add an easier way."
