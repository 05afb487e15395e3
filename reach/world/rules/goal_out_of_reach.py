"""A place that must be reached and that no way through the world leads to.

What it finds
-------------
Places of the world file's `must_reach` (if it has none: every goal that its level requires) that no player can reach,
coming from where the game begins, from whichever entrance of their level. What is neither proved nor excluded is an
error too, which says so. It is a note, which only follows from something else, where nobody can enter the place's
level, where an error of the level itself tells of the place, or where only levels that could not be checked leave it
undecided: these make the run fail.

Why it matters
--------------
A level may be sound on its own and yet be entered from a side from which its goal cannot be got at.

How it is decided
-----------------
The level is checked from every entrance that is not excluded. If every one of these checks proves the place
unreachable, nobody gets there. It can be reached where scripts that replay lead all the way there from where the game
begins.

Options
-------
In the world file: `must_reach`. In the level file: `required`.

Example
-------
A link that leads onto the low road of a level, and its goal on the high one, which is reached from the other gate only.

What to do
----------
Lead the link to another entrance, open a way from this one, or take the place out of `must_reach`.
"""

from __future__ import annotations

from reach.findings import Severity, Verdict
from reach.wording import list_words
from reach.world.causes import Cause, about, because
from reach.world.result import Spot, WorldFinding
from reach.world.rules.unentered_level import RULE as UNENTERED
from reach.world.ways import reached
from reach.world.world_evidence import WorldEvidence

RULE = "goal-out-of-reach"


def find(evidence: WorldEvidence) -> list[WorldFinding]:
    """Return a finding for every place to be reached that is not proved to be."""
    verdicts = {spot: evidence.verdict(spot) for spot in evidence.world.must_reach}
    return [_finding(evidence, spot, verdict) for spot, verdict in verdicts.items() if verdict is not Verdict.REACHABLE]


def _finding(evidence: WorldEvidence, spot: Spot, verdict: Verdict) -> WorldFinding:
    level, place = spot
    known = evidence.world.place(spot)
    what = f"The {'place' if known is None else known.kind} '{level}/{place}' must be reached, and"
    entrances = [job.entrance for job in evidence.outcomes if job.level == level]
    told = evidence.told_by(spot)
    causes: list[Cause] = []
    follows_from: list[str] = []
    severity = Severity.ERROR
    advice = "Lead a link to another entrance, or open a way from the ones that are linked."
    if evidence.entered[level] is Verdict.UNREACHABLE:
        message, severity = f"{what} nobody can enter its level: see {UNENTERED}.", Severity.NOTE
        advice = "Give its level a way in first."
        follows_from = [level]
    elif verdict is Verdict.UNREACHABLE:
        message = f"{what} cannot be, from where its level is entered: {', '.join(entrances)}."
        others = sorted({link.target[1] for link in evidence.links_into.get(level, ())} - {*entrances})
        causes = evidence.causes.barring(level, others) if others else []
        if causes:
            message += f" Nobody comes to {list_words(others)} of its level, because {because(causes)}."
    else:
        causes = [each for each in evidence.causes.leaving_open([reached(spot)]) if each.about != "/".join(spot)]
        why = f", because {because(causes)}" if causes else ""
        message = f"{what} it is undecided whether it can be{why}."
        failed = any(cause.failed for cause in causes)
        advice = "Mend that first." if failed else "Raise the limits, or make the way there simpler."
        if evidence.causes.only_failed(reached(spot)):
            severity = Severity.NOTE
    if told is not None and severity is Severity.ERROR:
        message, severity = f"{message} See {told.rule} of the level.", Severity.NOTE
        follows_from = ["/".join(spot)]
    details = {"verdict": verdict.value, "entrances": entrances, "because": follows_from or about(causes)}
    return WorldFinding(RULE, severity, level, place, message, advice, details)
