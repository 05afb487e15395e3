"""Ground to stand on that nobody will ever stand on.

What it finds
-------------
Standable tiles that are proved unreachable, gathered into areas: tiles that touch each other, corners included.

Why it matters
--------------
Often it is scenery and fine. But ground that was drawn to be walked on and is out of reach is work that no player sees,
and a sign that a jump is longer or higher than it was meant to be.

How it is decided
-----------------
The set of all states that any input can lead to is computed as a superset, until nothing new is added; no body in it is
ever carried by the tile.

Options
-------
In the level file: `accept`, with the area's first tile (topmost, then leftmost) as `at`.

Example
-------
A balcony six tiles up, drawn over a street from which a jump rises four tiles.

What to do
----------
Nothing, if it is scenery. Else add a step or bring it nearer.
"""

from __future__ import annotations

from reach.areas import areas
from reach.evidence import Evidence
from reach.findings import Finding, Mark, MarkShape, Severity, Tile, Verdict
from reach.wording import count_words, tile_words

RULE = "unused-ground"


def find(evidence: Evidence) -> list[Finding]:
    """Return a note for every area of standable tiles proved unreachable."""
    return [_finding(area) for area in areas(evidence.tiles[Verdict.UNREACHABLE])]


def _finding(area: tuple[Tile, ...]) -> Finding:
    columns = [column for column, _ in area]
    size = count_words(len(area), "standable tile")
    return Finding(
        RULE,
        Severity.NOTE,
        area[0],
        f"Nobody can ever stand on {size} here, from {tile_words(area[0])} on.",
        "Nothing, if it is scenery; else add a step or bring it nearer.",
        {
            "tiles": [list(tile) for tile in area],
            "columns": [min(columns), max(columns)],
            "rows": [area[0][1], area[-1][1]],
        },
        (Mark(MarkShape.TILE, tiles=area),),
    )
