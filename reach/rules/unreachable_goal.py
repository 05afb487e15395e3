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
overlaps the place's tile. The nearest miss is the least distance in px, across and up, between that tile and the body
anywhere it can be; a jump into a closed room is therefore measured through the wall. After a limit was hit none is
told, since a nearer one may not have been seen.

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

from typing import TYPE_CHECKING, Any

from reach.evidence import Evidence
from reach.findings import Finding, Mark, MarkShape, PlaceVerdict, Severity, Verdict
from reach.wording import foothold_words, number_words, tile_words

if TYPE_CHECKING:
    from reach.reachability.result import Foothold, NearestMiss

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
        gap = f"{number_words(miss.across_px)} px across and {number_words(miss.up_px)} px up"
        message += (
            f" The nearest miss leaves {gap}, coming from {foothold_words(foothold) if foothold else 'the start'}."
        )
        details["nearest_miss"] = {
            "across_px": miss.across_px,
            "up_px": miss.up_px,
            "from_row": foothold.row if foothold else None,
            "from_columns": list(foothold.columns) if foothold else None,
        }
        if foothold:
            marks += [_gap(evidence, place, miss, foothold), evidence.foothold_mark(foothold.index)]
    return Finding(RULE, severity, place.at, message, advice, details, tuple(marks))


def _gap(evidence: Evidence, place: PlaceVerdict, miss: NearestMiss, foothold: Foothold) -> Mark:
    """Return the measured line between the place's tile and the body at its nearest, on the side it comes from."""
    tile_px = evidence.level.tile_px
    column, row = place.at
    first, last = foothold.columns
    from_left = first + last <= 2 * column
    x_px = float((column if from_left else column + 1) * tile_px)
    y_px = float((row + 1) * tile_px)
    end = (x_px - miss.across_px if from_left else x_px + miss.across_px, y_px + miss.up_px)
    label = f"{number_words(miss.across_px)} px across, {number_words(miss.up_px)} px up"
    return Mark(MarkShape.GAP, points_px=((x_px, y_px), end), label=label)
