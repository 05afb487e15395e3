"""Ground from which no ending can be reached any more, and from which the player may be lost.

What it finds
-------------
Footholds, and springs on which one can only bounce, that a player can get onto, from which no input leads to a
place that ends the level, but from which the body may be lost, by a hazard or below the map. Footholds that lead to
each other are one pit and one finding. A level without ending places has none.

Why it matters
--------------
The player has lost already and has to find it out: is the way on hidden, or is there none? Often it is meant (a
ledge in front of a hazard). Where it is not, it feels like a softlock with a way to give up.

How it is decided
-----------------
As for `softlock`: a script comes to rest there, and the superset of all states from rest there touches no ending place.
It does lose a body; but a superset may lose one where no input does. So the missing way out is proved, and the loss is
not: where it does not come, the ground is a softlock.

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

RULE = "forced-loss"
SENTENCE = "No input from {where} reaches an ending; a player there may be lost."
ADVICE = "Give it a way out, or remove the ground so that the loss comes at once."


def find(evidence: Evidence) -> list[Finding]:
    """Return a warning for every pit without a way out from which the body may be lost."""
    pits = evidence.pits(Outlook.FORCED_LOSS)
    return [evidence.pit_finding(pit, RULE, Severity.WARNING, SENTENCE, ADVICE) for pit in pits]
