"""Something that has to be had, and that a player can pass by so that it can never be had any more.

What it finds
-------------
Pickups that their level requires, and places of `must_reach`, that a player can reach, and a link that can be taken
without having been there, after which no way leads to them any more. Links that strand the player are left to
`one-way-trap`.

Why it matters
--------------
The game can then still be played but not completed, and the player learns it hours later.

How it is decided
-----------------
That the player can be behind the link without having been at the place is proved by scripts that replay, over links,
from where the game begins, none of which touches the place. Where a kept script touches it on its way, its level is
checked once more as if touching the place ended the level: what is reached then is reached without it, and what is
not is not. That the place is out of reach behind the link is proved by exhaustion: over all exits that are not
excluded, no check from any entrance that they open leaves it possible. Where such a link is neither proved to be taken
without the place nor excluded, the finding is a warning that says so.

Options
-------
In the world file: `must_reach`. In the level file: `required` of a pickup.

Example
-------
A key on a high shelf of the first level, and a door beside the shelf to the second, from which no exit leads back.

What to do
----------
Give a later level an exit that leads back, place it where nobody gets past it, or do not require it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reach.findings import Severity, Verdict
from reach.wording import count_words
from reach.world.passing_by import Leaving, leavings, not_passing_by
from reach.world.result import WorldFinding
from reach.world.ways import after, crossing
from reach.world.world_evidence import WorldEvidence
from reach.world.world_file import Link

RULE = "missable-for-good"


def find(evidence: WorldEvidence) -> list[WorldFinding]:
    """Return a finding for every place that has to be had and can, or may, be missed for good."""
    found = (_judged(evidence, leaving) for leaving in leavings(evidence.world, evidence.ways))
    return [each for each in found if each is not None]


def _judged(evidence: WorldEvidence, leaving: Leaving) -> WorldFinding | None:
    """Return the finding about one place; None where every link out is a trap or proved to be taken with the place."""
    links = [link for link in leaving.links if link not in evidence.traps]
    ways = evidence.ways
    closed = not_passing_by(evidence.world, ways, leaving.spot, evidence.outcomes, evidence.asides)
    for graph, without, severity in (
        (ways.under_, closed.under_, Severity.ERROR),
        (ways.over_, closed.over_, Severity.WARNING),
    ):
        taken = after(graph, ways.starts, without)
        crossed = crossing(links, graph, taken, leaving.over_before, without)
        if crossed:
            return _finding(evidence, leaving, crossed, severity)
    return None


def _finding(evidence: WorldEvidence, leaving: Leaving, links: Sequence[Link], severity: Severity) -> WorldFinding:
    level, place = leaving.spot
    known = evidence.world.place(leaving.spot)
    what = f"the {'place' if known is None else known.kind} '{level}/{place}'"
    details: dict[str, Any] = {
        "links": [{"from": "/".join(link.source), "to": "/".join(link.target)} for link in links]
    }
    first, *others = ((f"'{'/'.join(link.source)}'", f"'{'/'.join(link.target)}'") for link in links)
    more = f" (or over {count_words(len(others), 'other link')})" if others else ""
    if severity is Severity.ERROR:
        message = (
            f"T{what[1:]} can be missed for good: without having been there, a player can go from {first[0]} to "
            f"{first[1]}{more}, from where no way leads to it any more."
        )
    else:
        message = (
            f"It is undecided whether {what} can be missed for good: from {first[1]} no way leads to it any more, and "
            f"it is neither proved nor excluded that a player goes there from {first[0]}{more} without having been "
            "at it."
        )
        details["verdict"] = Verdict.UNDECIDED.value
    return WorldFinding(
        RULE,
        severity,
        level,
        place,
        message,
        "Let an exit lead back, place it where nobody gets past it, or do not require it.",
        details,
    )
