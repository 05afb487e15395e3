"""An entry of an `accept` list, of a level or of a world, that matches no finding.

What it finds
-------------
Accepted findings that are no longer found: the rule finds nothing any more, or nothing on the tile that the entry
names. In a report on a world, entries of the world file too: the rule finds nothing about the level or place that the
entry names.

Why it matters
--------------
An entry that has outlived its finding would silently accept the next one that turns up in the same spot, which may be
another mistake.

How it is decided
-----------------
An entry means a finding when the rule is the same and, if the entry has `at`, the finding stands on that tile.
In a world file, `at` is a level or a place, and an entry without it means every finding of its rule. Entries that mean
none are reported; none is after a limit was hit or a level failed, since the finding may then only not have been made.

Options
-------
None.

Example
-------
A softlock was accepted because the pit was a joke; then the pit was given a ladder of crates, and the entry stayed.

What to do
----------
Remove the entry from the `accept` list of the level file or the world file, or correct its rule or what it is about. A
finding of a level is accepted in that level's file, with its tile; one of the world in the world file.
"""

from __future__ import annotations

from collections.abc import Sequence

from reach.evidence import Evidence
from reach.findings import Finding, Severity
from reach.level import Accept
from reach.rules import registry
from reach.wording import tile_words

RULE = "stale-accept"


def find_among(evidence: Evidence, findings: Sequence[Finding]) -> list[Finding]:
    """Return a note for every accept entry that means none of the findings."""
    if evidence.limit or not evidence.exploration.complete:
        return []
    return [
        _finding(index, entry)
        for index, entry in enumerate(evidence.level.accept)
        if not any(registry.accepts(entry, finding) for finding in findings)
    ]


def _finding(index: int, entry: Accept) -> Finding:
    where = f" on {tile_words(entry.at)}" if entry.at else ""
    return Finding(
        RULE,
        Severity.NOTE,
        entry.at,
        f"The level accepts a finding of '{entry.rule}'{where} that is not found.",
        "Remove the entry from the level's accept list, or correct its rule or tile.",
        {"index": index, "rule": entry.rule, "reason": entry.reason},
    )
