"""A goal, exit, checkpoint or pickup that no input can reach.

What it finds
-------------
Places that the player is meant to get to and that nothing the player can do will ever touch. A required place
(goals, exits and checkpoints unless the level says otherwise, pickups marked `required`) is an error, an optional
one a warning. A place whose `must_be` is `unreachable` is meant to be so and is not reported.

Why it matters
--------------
A level whose goal cannot be reached cannot be finished; a pickup that cannot be reached cannot be collected. Playtests
find this late and never prove it: that nobody managed a jump does not show that nobody can.

How it is decided
-----------------
The set of all states that any input can lead to is computed as a superset, until nothing new is added. No body in it
overlaps the place's tile. The nearest miss is the least distance in px, across and up, by which the body, anywhere it
can be, would have to be elsewhere to touch the place, clear of walls and hazards, or to stand on ground on which it
walks up to it. What is on the way there is not asked: a jump into a closed room is measured through the wall. After a
limit was hit none is told, since a nearer one may not have been seen.

Options
-------
`--from` begins at another entrance. In the level file: `required`, `must_be`, `accept`.

Example
-------
A goal on a ledge of five tiles' height, and a jump that rises 70 px at tiles of 16 px: the ledge is missed by 10 px.

What to do
----------
Bring the place nearer by at least the nearest miss, add a step, or strengthen the movement. If the place is out of
reach on purpose, say `"must_be": "unreachable"`.
"""

from __future__ import annotations

from typing import Any

from reach.evidence import Evidence
from reach.findings import Finding, Mark, MarkShape, PlaceVerdict, Severity, Verdict
from reach.wording import foothold_words, number_words, tile_words

RULE = "unreachable-goal"
KINDS = ("goal", "exit", "checkpoint", "pickup")


def find(evidence: Evidence) -> list[Finding]:
    """Return a finding for every place of these kinds that is proved unreachable and not meant to be."""
    return [
        _finding(evidence, index, place)
        for index, place in enumerate(evidence.places)
        if place.kind in KINDS and place.verdict is Verdict.UNREACHABLE and place.must_be != "unreachable"
    ]


def _finding(evidence: Evidence, index: int, place: PlaceVerdict) -> Finding:
    severity = Severity.ERROR if place.required else Severity.WARNING
    message = f"The {place.kind} '{place.id}' on {tile_words(place.at)} cannot be reached: no input touches it."
    advice = "Bring it nearer, add a step, or strengthen the movement; if that is meant, say so (must_be)."
    details: dict[str, Any] = {"place": place.id, "kind": place.kind, "required": place.required, "nearest_miss": None}
    marks = [Mark(MarkShape.TILE, tiles=(place.at,))]
    miss = evidence.exploration.misses.get(index) if evidence.exploration.complete else None
    if miss is not None:
        foothold = None if miss.source < 0 else evidence.foothold(miss.source)
        across = f"{number_words(miss.across_px)} px across"
        up = f"{number_words(abs(miss.up_px))} px {'up' if miss.up_px >= 0 else 'down'}"
        where = foothold_words(foothold) if foothold else "the start"
        message += f" The nearest miss leaves {across} and {up}, coming from {where}."
        details["nearest_miss"] = {
            "across_px": miss.across_px,
            "up_px": miss.up_px,
            "from_row": foothold.row if foothold else None,
            "from_columns": list(foothold.columns) if foothold else None,
        }
        marks.append(Mark(MarkShape.GAP, points_px=(miss.at_px, miss.to_px), label=f"{across}, {up}"))
    return Finding(RULE, severity, place.at, message, advice, details, tuple(marks))
