"""An exit that leads nowhere.

What it finds
-------------
Exits that end their level, that a player can reach, and from which no link leads on.

Why it matters
--------------
An exit tells the player that the journey goes on. Behind a loose one the game has nothing to show.

How it is decided
-----------------
The world file has no link from it, and scripts that replay lead from where the game begins over links into its level
and to the exit. An exit that nobody is proved to reach is not told of. Nor is a goal: where one ends its level and no
link leads on, the game ends, and that is what goals are for.

Options
-------
In the level file: `ends_level` of the exit. An exit that does not end its level is only a place to be reached.

Example
-------
A storeroom with two doors, of which one was never given a link.

What to do
----------
Link it, take it out of the level, or make it a goal if the game is to end there.
"""

from __future__ import annotations

from reach.findings import Severity, Verdict
from reach.level import PlaceKind
from reach.world.result import WorldFinding
from reach.world.world_evidence import WorldEvidence

RULE = "loose-exit"


def find(evidence: WorldEvidence) -> list[WorldFinding]:
    """Return a warning for every exit that can be reached and has no link."""
    world = evidence.world
    return [
        WorldFinding(
            RULE,
            Severity.WARNING,
            level.id,
            place.id,
            f"The exit '{level.id}/{place.id}' can be reached and leads nowhere: no link begins there.",
            "Link it, take it out of the level, or make it a goal if the game is to end there.",
        )
        for level in world.levels
        if level.level is not None
        for place in level.level.places
        if place.kind is PlaceKind.EXIT
        and place.ends_level
        and (level.id, place.id) not in world.leads_to
        and evidence.verdict((level.id, place.id)) is Verdict.REACHABLE
    ]
