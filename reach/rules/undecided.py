"""Something about the level that is neither proved nor disproved.

What it finds
-------------
Places and standable tiles (gathered into areas) for which there is neither a script nor a proof that none exists;
footholds from which a way to an ending is neither shown nor excluded; and limits that ended the work early. An
error for a required place and for a place with a promise (`must_be`), else a warning.

Why it matters
--------------
A check that keeps silent about what it could not decide cannot be relied on. On most levels there is nothing undecided.

How it is decided
-----------------
Reachable needs a script that replays. Unreachable needs the superset of all states, completed, without the place.
What has neither is undecided: because a limit of time or memory was hit, or because the superset is a trace too
large there, or because the search for scripts did not find the one that exists.

Options
-------
`--time-limit` and `--memory-limit`: more of either may decide it.

Example
-------
A ledge that the superset lets the body land on in its last subpixel, and no script was found that does.

What to do
----------
Raise the limits if one was hit. Else treat it as a place that only a tick-perfect player might reach: make the way
to it easier or close it, or ask `reach prove` for that place or tile alone.
"""

from __future__ import annotations

from reach.areas import areas
from reach.evidence import Evidence, FootholdOutlook, Outlook
from reach.findings import Finding, Mark, MarkShape, PlaceVerdict, Severity, Tile, Verdict
from reach.wording import count_words, foothold_words, tile_words

RULE = "undecided"


def find(evidence: Evidence) -> list[Finding]:
    """Return a finding for every place, area of tiles, foothold and limit that leaves something undecided."""
    findings = [_limit(evidence.limit)] if evidence.limit else []
    findings += [_place(place, evidence.search_end) for place in evidence.places if place.verdict is Verdict.UNDECIDED]
    findings += [_area(area, evidence.search_end) for area in areas(evidence.tiles[Verdict.UNDECIDED])]
    open_ones = [one for one in evidence.outlooks if one.outlook is Outlook.UNDECIDED]
    for why in dict.fromkeys(one.why for one in open_ones):
        findings.append(_footholds(evidence, [one for one in open_ones if one.why == why], why))
    return findings


def _limit(limit: str) -> Finding:
    return Finding(
        RULE,
        Severity.WARNING,
        None,
        f"The check ended early: {limit}. Whatever was not proved by then is undecided.",
        "Raise the limit if it is one that you gave; else ask for what is undecided alone with reach prove.",
        {"verdict": Verdict.UNDECIDED.value, "limit": limit},
    )


def _place(place: PlaceVerdict, search_end: str) -> Finding:
    promise = f", and must be {place.must_be}" if place.must_be else ""
    return Finding(
        RULE,
        Severity.ERROR if place.required or place.must_be else Severity.WARNING,
        place.at,
        f"It is undecided whether the {place.kind} '{place.id}' on {tile_words(place.at)} can be reached{promise}."
        + _no_script(search_end),
        "Ask for this place alone with reach prove, raise the limits if one was hit, or make the way to it easier.",
        {
            "verdict": Verdict.UNDECIDED.value,
            "place": place.id,
            "kind": place.kind,
            "required": place.required,
            "must_be": place.must_be,
            "why": search_end,
        },
        (Mark(MarkShape.TILE, tiles=(place.at,)),),
    )


def _area(area: tuple[Tile, ...], search_end: str) -> Finding:
    size = count_words(len(area), "standable tile")
    return Finding(
        RULE,
        Severity.WARNING,
        area[0],
        f"It is undecided whether {size} here, from {tile_words(area[0])} on, can be stood on."
        + _no_script(search_end),
        "Ask for a tile alone with reach prove, or raise the limits if one was hit.",
        {"verdict": Verdict.UNDECIDED.value, "tiles": [list(tile) for tile in area], "why": search_end},
        (Mark(MarkShape.TILE, tiles=area),),
    )


def _no_script(search_end: str) -> str:
    return f" No script was found: {search_end}." if search_end else ""


def _footholds(evidence: Evidence, outlooks: list[FootholdOutlook], why: str) -> Finding:
    first, *others = (one.foothold for one in outlooks)
    where = foothold_words(evidence.foothold(first))
    more = f" (and {count_words(len(others), 'other foothold')})" if others else ""
    return Finding(
        RULE,
        Severity.WARNING,
        evidence.foothold_tile(first),
        f"It is undecided whether an ending can be reached from {where}{more}: {why}.",
        "Make the way out easier, or raise the limits if one was hit.",
        {
            "verdict": Verdict.UNDECIDED.value,
            "footholds": [
                {"row": foothold.row, "columns": list(foothold.columns)}
                for foothold in (evidence.foothold(one.foothold) for one in outlooks)
            ],
            "why": why,
        },
        tuple(evidence.foothold_mark(one.foothold) for one in outlooks),
    )
