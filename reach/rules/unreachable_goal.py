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
overlaps the place's tile.

The nearest miss is the least distance in px, across and up, by which the body, anywhere it can be, would have to be
elsewhere. It is told of what bars the way first. Where there is ground that no input gets onto and from which, at
rest on it, the superset has a way to the place, directly or over more such ground, that is to stand on the foothold
of it that is missed by least (a spring: to be set down on it). Where the place itself is missed by no more, it is to
touch the place, clear of walls and hazards, or to stand on ground on which the body walks up to it. What is in
between is not asked: a jump into a closed room is measured through the wall.

That the way goes on from such ground is what the superset says: it is not ruled out, and no script is looked for.
Hence the message says that the place may be reached from there. After a limit was hit nothing is told that it left
open, since a nearer miss may not have been seen. What leads on from such ground is followed for no more than ten
million steps over those that the superset took from the start (a step moves one polygon of it on by a tick); where
that does not suffice, the message says so, and the report is complete all the same.

Options
-------
`--from` begins at another entrance. In the level file: `required`, `must_be`, `accept`.

Example
-------
A goal on a ledge of five tiles' height, and a jump that rises 70 px at tiles of 16 px: the ledge is missed by 10 px.
With three stepping stones on the way to a goal beyond a chasm, the first of them too far: the first is named.

What to do
----------
Bring the place, or the ground that is named, nearer by at least the nearest miss, add a step, or strengthen the
movement; then check again, as the way on from there is only not ruled out. If the place is out of reach on purpose,
say `"must_be": "unreachable"`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from reach.evidence import Evidence, is_out_of_reach
from reach.findings import Finding, Mark, MarkShape, PlaceVerdict, Severity, Verdict
from reach.rules import registry
from reach.wording import foothold_words, number_words, tile_words

if TYPE_CHECKING:
    from reach.reachability.result import NearestMiss

RULE = "unreachable-goal"


@dataclass(frozen=True)
class BarredEndings:
    """No ending can be reached at all; whether this rule tells so, and whether by an error that counts."""

    told: bool
    counts: bool

    @property
    def sentence(self) -> str:
        """What a finding says that only follows from it."""
        return f"No ending can be reached at all{f': see {RULE}' if self.told else ''}."

    @property
    def advice(self) -> str:
        """What to do about such a finding."""
        return "Make an ending reachable first, then check again: what is a mistake of its own shows then."


def find(evidence: Evidence) -> list[Finding]:
    """Return a finding for every place to get to that is proved unreachable and not meant to be."""
    return [_finding(evidence, index, place) for index, place in enumerate(evidence.places) if is_out_of_reach(place)]


def barred_endings(evidence: Evidence) -> BarredEndings | None:
    """Return what is found about the endings where every one is proved unreachable; else None."""
    endings = [place for place in evidence.places if place.id in evidence.graph.endings]
    if not endings or any(place.verdict is not Verdict.UNREACHABLE for place in endings):
        return None
    found = [finding for finding in find(evidence) if finding.details["place"] in evidence.graph.endings]
    accept = evidence.level.accept
    errors = [finding for finding in found if finding.severity is Severity.ERROR]
    return BarredEndings(
        told=bool(found),
        counts=any(not any(registry.accepts(entry, finding) for entry in accept) for finding in errors),
    )


def _finding(evidence: Evidence, index: int, place: PlaceVerdict) -> Finding:
    severity = Severity.ERROR if place.required else Severity.WARNING
    message = f"The {place.kind} '{place.id}' on {tile_words(place.at)} cannot be reached: no input touches it."
    nearer = "it"
    miss = evidence.exploration.misses.get(index) if evidence.exploration.complete else None
    barrier = evidence.barriers.get(index)
    details: dict[str, Any] = {
        "place": place.id,
        "kind": place.kind,
        "required": place.required,
        "nearest_miss": _miss_details(evidence, miss) if miss else None,
        "first_barrier": None,
        "first_barrier_unknown": index in evidence.barriers_unknown,
    }
    if barrier is not None:
        ground = evidence.foothold(barrier.foothold)
        what = f"the spring on {tile_words(barrier.tile)}" if ground.is_spring else tile_words(barrier.tile)
        message += (
            f" The nearest miss leaves {_distance(barrier.miss)} to {what}, from where it may be reached,"
            f" coming from {_source(evidence, barrier.miss)}."
        )
        nearer = "that ground"
        details["first_barrier"] = {
            "tile": list(barrier.tile),
            "row": ground.row,
            "columns": list(ground.columns),
            "spring": ground.is_spring,
            **_miss_details(evidence, barrier.miss),
        }
        miss = barrier.miss
    elif miss is not None:
        message += f" The nearest miss leaves {_distance(miss)}, coming from {_source(evidence, miss)}."
    if index in evidence.barriers_unknown:
        message += f" Whether ground on the way is missed by less was not found out: {evidence.barriers_end}."
    marks = [Mark(MarkShape.TILE, tiles=(place.at,))]
    if miss is not None:
        across, up = _parts(miss)
        marks.append(Mark(MarkShape.GAP, points_px=(miss.at_px, miss.to_px), label=f"{across}, {up}"))
    advice = f"Bring {nearer} nearer, add a step, or strengthen the movement; if that is meant, say so (must_be)."
    return Finding(RULE, severity, place.at, message, advice, details, tuple(marks))


def _parts(miss: NearestMiss) -> tuple[str, str]:
    up = f"{number_words(abs(miss.up_px))} px {'up' if miss.up_px >= 0 else 'down'}"
    return f"{number_words(miss.across_px)} px across", up


def _distance(miss: NearestMiss) -> str:
    return " and ".join(_parts(miss))


def _source(evidence: Evidence, miss: NearestMiss) -> str:
    return foothold_words(evidence.foothold(miss.source)) if miss.source >= 0 else "the start"


def _miss_details(evidence: Evidence, miss: NearestMiss) -> dict[str, Any]:
    foothold = evidence.foothold(miss.source) if miss.source >= 0 else None
    return {
        "across_px": miss.across_px,
        "up_px": miss.up_px,
        "from_row": foothold.row if foothold else None,
        "from_columns": list(foothold.columns) if foothold else None,
    }
