"""A link that strands the player: behind it there is nothing to reach, and no way back to where there was.

What it finds
-------------
Links that a player can take, coming from where something was still to be reached, and after which no place of
`must_reach` and no ending of the game can be reached any more, however the player goes on, nor any exit that leads back
to where they could.

Why it matters
--------------
Within a level a player is stuck in a pit; here whole levels are the pit. Nothing tells the player that it is over.

How it is decided
-----------------
That the link can be taken is proved by scripts that replay, over links, from where the game begins to its exit. That
all is lost behind it is proved by exhaustion: over all exits that are not excluded, from all entrances that they open,
no place that counts is left. What counts are the places of `must_reach` and the goals that end their level and have no
link: the endings of the game. Of the links one after the other into such a part of the world the first is told. A level
that could not be checked excludes nothing but what its links, too, do not lead to. Where nothing counts, or no script
reaches any of it from where the game begins, no link is to blame.

Options
-------
In the world file: `must_reach`. In the level file: a goal that ends the level is an ending of the game.

Example
-------
A trapdoor in the kitchen leads into a cellar whose only exit leads to the cellar's other end.

What to do
----------
Link an exit behind it back, or place a goal there if the game is to end there.
"""

from __future__ import annotations

from reach.findings import Severity
from reach.world.causes import about, because
from reach.world.result import WorldFinding
from reach.world.world_evidence import WorldEvidence
from reach.world.world_file import Link

RULE = "one-way-trap"


def find(evidence: WorldEvidence) -> list[WorldFinding]:
    """Return an error for every link from where there is hope to where there is none."""
    return [_finding(evidence, link) for link in evidence.traps]


def _finding(evidence: WorldEvidence, link: Link) -> WorldFinding:
    causes = evidence.causes.stranding(link)
    message = (
        f"The link from '{'/'.join(link.source)}' to '{'/'.join(link.target)}' strands the player: behind it nothing "
        "that must be reached and no ending of the game can be reached, and no way leads back"
    )
    advice = "Link an exit behind it back, or place a goal there if the game is to end there."
    if causes:
        message += f", because {because(causes)}"
        advice = f"Mend that first. {advice}"
    details = {"to": "/".join(link.target), "because": about(causes)}
    return WorldFinding(RULE, Severity.ERROR, *link.source, f"{message}.", advice, details)
