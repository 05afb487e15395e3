"""A move after which the start's part of the map cannot be reached again.

What it finds
-------------
Moves that a script makes, out of the part of the map from which one can get back to the start, onto ground from
which one cannot, although an ending can be reached from there. Moves onto footholds that lead to each other are one
finding, about the easiest of them. It names the pickups that the move makes missable: those that it passes by and that
can be collected before it and never after it.

Why it matters
--------------
Points of no return are a means of design; unknown ones are a mistake. A player who drops past the last chance to
turn round loses what was left behind, mostly without being told.

How it is decided
-----------------
That there is no way back, and that a pickup is out of reach, is read from the graph of all moves that the superset
has; after a limit was hit that graph is not complete, and no such move is found. That the move works, and that an
ending can be reached after it, is read from the graph of moves that a script proves.

Options
-------
In the level file: `accept`, with the takeoff tile of the move as `at`.

Example
-------
A drop from a quay onto a barge five tiles below: the way on leads through the hold, the lantern on the quay is left
behind.

What to do
----------
Nothing, if it is meant. Else add a step for the way back, or move the pickup to where the player cannot pass it by.
"""

from __future__ import annotations

from reach.evidence import Evidence
from reach.findings import Finding, Mark, MarkShape, Move, Severity, Verdict
from reach.graph import leading_to, led_to, mutual_groups
from reach.wording import count_words, list_words, move_words

RULE = "no-return"


def find(evidence: Evidence) -> list[Finding]:
    """Return a note for every part of the map that a move leads into for good."""
    if not evidence.exploration.complete:
        return []
    graph = evidence.graph
    returning = leading_to(graph.over_, graph.over_starts)
    ending = leading_to(graph.under_, graph.endings)
    beyond = {foothold.index for foothold in evidence.exploration.footholds} - returning
    crossing = {
        move
        for source, target, data in graph.under_.edges(data=True)
        if source in returning and target in beyond & ending
        for move in data["proved"].moves
        if graph.move_edges[move][0] in returning and graph.move_edges[move][1] not in returning
    }
    findings = []
    for part in mutual_groups(graph.over_, beyond):
        moves = [move for move in crossing if graph.move_edges[move][1] in part]
        moves.sort(key=lambda move: (-(evidence.moves[move].window_ticks or 0), move))
        if moves:
            findings.append(_finding(evidence, moves, _missable(evidence, moves, part)))
    return findings


def _missable(evidence: Evidence, moves: list[int], part: tuple[int, ...]) -> tuple[str, ...]:
    """Return the ids of the reachable pickups that one of the moves passes by, and nothing touches in this part."""
    after = led_to(evidence.graph.over_, part)
    touched = {place for source, place, _ in evidence.exploration.place_moves if source in after}
    return tuple(
        sorted(
            place.id
            for index, place in enumerate(evidence.places)
            if place.kind == "pickup"
            and place.verdict is Verdict.REACHABLE
            and index not in touched
            and any(place.id not in evidence.moves[move].touches for move in moves)
        )
    )


def _finding(evidence: Evidence, indices: list[int], missable: tuple[str, ...]) -> Finding:
    named: dict[str, Move] = {}
    for move in map(evidence.moves.__getitem__, indices):
        named.setdefault(move_words(move), move)
    moves = list(named.values())
    first = moves[0]
    others = f" (and {count_words(len(moves) - 1, 'other move')} to the same part)" if len(moves) > 1 else ""
    message = f"After {move_words(first)}{others} the start's part of the map cannot be reached again."
    advice = "Nothing, if it is meant; else add a way back."
    if missable:
        quoted = list_words([f"'{place}'" for place in missable])
        message += f" Not collected by then, {quoted} can never be collected."
        advice = "Nothing, if it is meant; else add a way back, or move what is missed to where nobody passes it by."
    return Finding(
        RULE,
        Severity.NOTE,
        first.source,
        message,
        advice,
        {
            "moves": [{"from": list(move.source), "to": list(move.target), "kind": str(move.kind)} for move in moves],
            "missable": list(missable),
        },
        tuple(Mark(MarkShape.ARC, points_px=move.arc_px, label="no return" if move is first else "") for move in moves),
    )
