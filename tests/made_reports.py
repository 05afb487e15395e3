"""Reports made by hand for tests of what is done with a report."""

from __future__ import annotations

from typing import Any

import numpy as np

from reach.findings import (
    Finding,
    Mark,
    MarkShape,
    Move,
    MoveKind,
    PlaceVerdict,
    Report,
    Severity,
    Verdict,
)

START = PlaceVerdict("start-1", "start", (1, 2), False, None, Verdict.REACHABLE, 0)
LAMP = PlaceVerdict("lamp", "goal", (6, 1), True, None, Verdict.REACHABLE, 143)
ATTIC = PlaceVerdict("attic", "pickup", (3, 0), False, "unreachable", Verdict.UNREACHABLE, None)
WIDE_HOP = Move((1, 2), (4, 2), MoveKind.JUMP, 31, 9, 150.0, False, 0.991, 21.5, arc_px=((24.0, 48.0), (72.0, 48.0)))
TIGHT_HOP = Move((4, 2), (6, 1), MoveKind.JUMP, 33, 3, 50.0, False, 0.6826895, 4.5)
DROP = Move((4, 2), (4, 5), MoveKind.DROP, 12)
TIGHT_LANDING = Finding(
    "tight-landing",
    Severity.WARNING,
    (6, 1),
    "The jump from tile 4,2 to tile 6,1 leaves a window of 3 ticks (50 ms).",
    "Bring the ledge 5 px nearer.",
    {"window_ticks": 3, "chance": 0.6826895, "cure": {"nearer_px": 5, "lower_px": None}},
    (Mark(MarkShape.ARC, points_px=((72.0, 48.0), (104.0, 32.0))),),
)
SOFTLOCK = Finding("softlock", Severity.ERROR, (4, 5), "From the cistern no input leads to a goal.", "Add a way out.")
UNUSED = Finding("unused-ground", Severity.NOTE, None, "2 tiles of ground are never stood on.")
MEANT = Finding(
    "no-return", Severity.NOTE, (4, 2), "There is no way back.", "Add one.", accepted="The tide has come in."
)


def make_report(**values: Any) -> Report:
    """Return a report of a level of 8 columns and 6 rows in which all is well; any field may be given instead."""
    fields: dict[str, Any] = {
        "product": "reach 0.1.0",
        "level_name": "Rope Walk",
        "level_sha256": "1" * 64,
        "columns": 8,
        "rows": 6,
        "tile_px": 16,
        "movement_name": "lamplighter",
        "movement_sha256": "2" * 64,
        "tick_rate_hz": 60,
        "body_px": (12.0, 22.0),
        "from_place": "start-1",
        "options": {
            "memory_limit_mib": None,
            "time_limit_s": None,
            "timing_spread_ms": 25.0,
            "window_threshold_ms": 60.0,
        },
        "places": (START, LAMP, ATTIC),
        "tiles": {
            Verdict.REACHABLE: ((4, 2), (5, 2), (1, 3)),
            Verdict.UNREACHABLE: ((3, 1),),
            Verdict.UNDECIDED: (),
        },
        "moves": (WIDE_HOP, DROP, TIGHT_HOP),
        "route": (0, 2),
        "route_to": "lamp",
        "findings": (),
        "scripts": {},
        "coverage": np.zeros((48, 64), dtype=np.bool_),
        "complete": True,
    }
    unknown = set(values) - {*fields, "incomplete_why", "has_ending"}
    if unknown:
        raise TypeError(f"no such field: {sorted(unknown)}")
    return Report(**(fields | values))
