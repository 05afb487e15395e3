"""A level of a world that no player can enter.

What it finds
-------------
Levels that no way from where the game begins leads to: because no link leads there, or because every exit that does
is out of reach, or stands in a level that cannot be entered either. Where a way is neither proved nor excluded, the
finding is a warning that says so.

Why it matters
--------------
Whatever is in such a level is work that nobody will see. Mostly a link was forgotten, or led to another level by
mistake, or a change of the movement closed the only way.

How it is decided
-----------------
From where the game begins, every level is checked from every entrance that is not excluded, and every exit that such
a check does not prove unreachable is followed over its link, until nothing new opens. A level that none of this
enters cannot be entered. It can be entered where scripts that replay lead all the way. A level that could not be
checked excludes nothing and proves nothing: what lies behind it is undecided.

Options
-------
None of its own.

Example
-------
A cellar with its file in the world and no link into it.

What to do
----------
Link an exit to it, open the exit that is linked to it, or take the level out of the world. If it is undecided, see
which level on the way could not be checked or left its exit undecided.
"""

from __future__ import annotations

from reach.findings import Severity, Verdict
from reach.world.causes import Cause, about, because
from reach.world.result import WorldFinding
from reach.world.ways import begin
from reach.world.world_evidence import WorldEvidence

RULE = "unentered-level"


def find(evidence: WorldEvidence) -> list[WorldFinding]:
    """Return a finding for every level that is not proved to be entered."""
    return [
        _finding(evidence, level, verdict)
        for level, verdict in evidence.entered.items()
        if verdict is not Verdict.REACHABLE
    ]


def _finding(evidence: WorldEvidence, level: str, verdict: Verdict) -> WorldFinding:
    sources = ["/".join(link.source) for link in evidence.links_into.get(level, ())]
    causes: list[Cause] = []
    if verdict is Verdict.UNDECIDED:
        begins = [begin((job.level, job.entrance)) for job in evidence.outcomes if job.level == level]
        causes = evidence.causes.leaving_open(begins)
        message = f"It is undecided whether anyone can enter the level '{level}', because {because(causes)}."
        failed = any(cause.failed for cause in causes)
        advice = "Mend that first." if failed else "Raise the limits, or make the way there simpler."
    elif not sources:
        message = f"Nobody can enter the level '{level}': no link leads to it from another level."
        advice = "Link an exit to it, or take it out of the world."
    else:
        causes = evidence.causes.barring(level)
        why = f"because {because(causes)}" if causes else "since only levels that nobody enters lead to it"
        message = f"Nobody can enter the level '{level}', {why}."
        advice = "Open that way first, or link an exit to it that can be reached."
    return WorldFinding(
        RULE,
        Severity.WARNING if verdict is Verdict.UNDECIDED else Severity.ERROR,
        level,
        None,
        message,
        advice,
        {"verdict": verdict.value, "linked_from": sources, "because": about(causes)},
    )
