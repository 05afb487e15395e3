"""A place whose `must_be` does not hold.

What it finds
-------------
Places that the level file promises to be `reachable` and that are proved unreachable, and places it promises to be
`unreachable` and that a script reaches.

Why it matters
--------------
A promise is a test that the level's maker wrote: the attic must stay closed until a later ability opens it, the
shortcut must stay open. A later edit of the map or of the movement breaks it without anyone noticing.

How it is decided
-----------------
By the verdict on the place. Reachable means that a script was found and replayed: it stands in the finding's details.
A promise about an undecided place is reported by `undecided`.

Options
-------
In the level file: `must_be` on a place, `accept`.

Example
-------
A pickup in an attic with `"must_be": "unreachable"`, and a crate added beside it from which the jump now suffices.

What to do
----------
Replay the script to see how the place is reached, or read the finding `unreachable-goal` to see by how much it is
missed; then change the map, or the promise if it is out of date.
"""

from __future__ import annotations

from typing import Any

from reach.evidence import Evidence
from reach.findings import Finding, Mark, MarkShape, PlaceVerdict, Severity, Verdict
from reach.script import script_to_dict
from reach.wording import count_words, tile_words

RULE = "broken-promise"


def find(evidence: Evidence) -> list[Finding]:
    """Return a finding for every promise that is proved not to hold."""
    return [
        _finding(evidence, place)
        for place in evidence.places
        if place.must_be is not None and place.verdict is not Verdict.UNDECIDED and place.must_be != place.verdict
    ]


def _finding(evidence: Evidence, place: PlaceVerdict) -> Finding:
    details: dict[str, Any] = {
        "place": place.id,
        "must_be": place.must_be,
        "verdict": str(place.verdict),
        "script": None,
    }
    what = f"The {place.kind} '{place.id}' on {tile_words(place.at)}"
    script = evidence.scripts.get(place.id)
    if place.verdict is Verdict.REACHABLE and script is not None:
        message = f"{what} must be unreachable, but a script of {count_words(script.ticks, 'tick')} reaches it."
        advice = "Replay the script to see how, then close that way, or change the promise."
        details["script"] = script_to_dict(script)
    else:
        message = f"{what} must be reachable, but no input touches it."
        advice = "Open a way to it, or change the promise."
    mark = Mark(MarkShape.TILE, tiles=(place.at,))
    return Finding(RULE, Severity.ERROR, place.at, message, advice, details, (mark,))
