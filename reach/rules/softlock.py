"""Ground on which a player who stops is stuck for good: no ending can be reached any more, and nothing kills.

What it finds
-------------
Footholds on which a player can come to rest, and springs on which one can only bounce, from where no input leads to a
place that ends the level any more, and none loses the body either. Footholds that lead to each other are one pit and
one finding. Who crosses such ground with speed may get on: it is resting there that ends all hope. A level without
ending places has no softlocks.

Why it matters
--------------
A player who is lost starts again; a player in a softlock does not know that nothing helps any more, and looks for
the way out until the game is put away.

How it is decided
-----------------
A script that comes to rest on the foothold shows that one gets in: it stands in the finding's details. Then the set
of all states that any input can lead to *from rest there* is computed as a superset, until nothing new is added. It
touches no ending place and loses no body. A jump that works only with speed brought in may enter a pit that no jump
from rest leaves: hence the question is asked from rest, for every foothold that moves from rest to rest do not lead
out of. Where a superset that was computed before comes to rest there too, its answer is taken.

A foothold from some spot of which a script leads on is not reported, though from other spots on it nothing may.

Where no ending can be reached from the start at all, every foothold is such ground, and that is what is wrong with it.
If an error of `unreachable-goal` that is not accepted says so, findings of this rule are notes that follow from it.

Options
-------
In the level file: `accept`, with the tile of the finding as `at`.

Example
-------
A cistern six tiles deep beside the path, with a jump that rises four.

What to do
----------
Give the pit a way out that the movement can make, put a hazard into it so that the player starts again, or close
the way in.
"""

from __future__ import annotations

from reach.evidence import Evidence, Outlook
from reach.findings import Finding, Severity
from reach.rules.unreachable_goal import barred_endings

RULE = "softlock"
SENTENCE = (
    "A player who {stays} on {where} is stuck for good: from then on no input reaches an ending or loses the body."
)
ADVICE = "Give it a way out, make it lose the player (a hazard), or close the way in."


def find(evidence: Evidence) -> list[Finding]:
    """Return an error for every pit without a way out and without a loss.

    It is a note where an error says that no ending can be reached at all.
    """
    pits = evidence.pits(Outlook.SOFTLOCK)
    barred = barred_endings(evidence)
    if barred is None:
        return [evidence.pit_finding(pit, RULE, Severity.ERROR, SENTENCE, ADVICE) for pit in pits]
    severity = Severity.NOTE if barred.counts else Severity.ERROR
    return [evidence.pit_finding(pit, RULE, severity, SENTENCE, barred.advice, barred.sentence) for pit in pits]
