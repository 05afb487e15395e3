"""Ground on which a player who stops cannot reach any ending any more, and may be lost.

What it finds
-------------
Footholds on which a player can come to rest, and springs on which one can only bounce, from where no input leads to a
place that ends the level any more, but from where the body may be lost, by a hazard or below the map. Footholds that
lead to each other are one pit and one finding. Who crosses such ground with speed may get on. A level without ending
places has none.

Why it matters
--------------
The player has lost already and has to find it out: is the way on hidden, or is there none? Often it is meant (a
ledge in front of a hazard). Where it is not, it feels like a softlock with a way to give up.

How it is decided
-----------------
As for `softlock`: a script comes to rest there, and the superset of all states from rest there touches no ending place.
It does lose a body; but a superset may lose one where no input does. So the missing way out is proved, and the loss is
not: where it does not come, the ground is a softlock. Where an error of
`unreachable-goal` says that no ending can be reached at all, it is a note, as for `softlock`.

Options
-------
In the level file: `accept`, with the tile of the finding as `at`.

Example
-------
A ledge below the path with open water to both sides, too low to jump back up from.

What to do
----------
Give it a way out, or remove the ledge so that the loss comes at once. If it is meant, accept it in the level file.
"""

from __future__ import annotations

from reach.evidence import Evidence, Outlook
from reach.findings import Finding, Severity
from reach.rules.unreachable_goal import barred_endings

RULE = "forced-loss"
SENTENCE = "Once a player {stays} on {where}, no input reaches an ending any more; the body may be lost."
ADVICE = "Give it a way out, or remove the ground so that the loss comes at once."


def find(evidence: Evidence) -> list[Finding]:
    """Return a warning for every pit without a way out from which the body may be lost.

    It is a note where an error says that no ending can be reached at all.
    """
    pits = evidence.pits(Outlook.FORCED_LOSS)
    barred = barred_endings(evidence)
    if barred is None:
        return [evidence.pit_finding(pit, RULE, Severity.WARNING, SENTENCE, ADVICE) for pit in pits]
    severity = Severity.NOTE if barred.counts else Severity.WARNING
    return [evidence.pit_finding(pit, RULE, severity, SENTENCE, barred.advice, barred.sentence) for pit in pits]
