"""Recordings made of a way of playing, as a file would hold them."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from reach.report.trace_table import to_csv
from reach.workshop.recording import Recording, load_recording
from reach.workshop.tracing import Trace
from tests.builders import inputs

EVERYTHING = inputs(
    *((5, ""), (30, "r"), (4, ""), (20, "r"), (12, "l"), (20, "l"), (30, ""), (3, "j"), (45, ""), (40, "rR"), (6, "r")),
    *(
        (40, "rj"),
        (30, "r"),
        (20, "lR"),
        (50, "lRj"),
        (30, "lR"),
        (2, "lRj"),
        (3, "lR"),
        (4, "lRj"),
        (40, ""),
        (30, "r"),
    ),
    *((30, "rj"), (30, "lj"), (20, "")),
)
"""Walking, coasting, reversing, running and its memory, long and short jumps, steering, pressing again in a rise."""


def recorded(folder: Path, path: np.ndarray, script: np.ndarray, rounding_spx: int = 1) -> Recording:
    """The recording of a path, int64 [ticks + 1, 2], with positions rounded to a multiple of so many subpixels."""
    shift = path - path[0]
    shift = np.floor_divide(shift + rounding_spx // 2, rounding_spx) * rounding_spx
    trace = Trace(shift[:, 0], shift[:, 1], np.concatenate([np.zeros((1, 4), np.int64), script]), ())
    (folder / "recorded.csv").write_text(to_csv(trace), encoding="utf-8")
    return load_recording(folder / "recorded.csv")
