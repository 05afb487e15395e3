"""What a caller may choose about a check."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from reach.errors import InputError, Problem

USUAL_WINDOW_MS = 60.0
USUAL_SPREAD_MS = 25.0
"""What is taken where nothing else is asked for."""

MOST_WINDOW_MS = 1000
"""No longer window is asked for: every combination of its ticks is flown, and nobody misses it for being short."""

MOST_TIME_S = 10 * 24 * 60 * 60
"""Ten days; a system's timers count only so far."""


@dataclass(frozen=True)
class CheckOptions:
    """Options of a check; every one of them is stated in the report.

    `from_place` names the place to begin at ("start": the level's start). `window_threshold_ms` is the window under
    which a landing is called tight, at most MOST_WINDOW_MS. `timing_spread_ms` is the standard deviation of the
    player's timing for which chances are given: an average, no promise that every player can do it. `time_limit_s` (at
    most MOST_TIME_S) and `memory_limit_mib` (None: no limit) end the search early; whatever is not proved by then is
    undecided.
    """

    from_place: str = "start"
    window_threshold_ms: float = USUAL_WINDOW_MS
    timing_spread_ms: float = USUAL_SPREAD_MS
    time_limit_s: float | None = None
    memory_limit_mib: int | None = None

    def __post_init__(self) -> None:
        """Refuse numbers that mean nothing, all at once."""
        problems = []
        for name, strict, most in (
            ("window_threshold_ms", False, MOST_WINDOW_MS),
            ("timing_spread_ms", True, None),
            ("time_limit_s", True, MOST_TIME_S),
            ("memory_limit_mib", True, None),
        ):
            value = getattr(self, name)
            if value is None:
                continue
            too_large = most is not None and value > most
            if not 0 <= value < math.inf or (strict and value == 0) or too_large:
                allowed = "a finite number greater than 0" if strict else "a finite number of at least 0"
                if most is not None:
                    allowed = f"a number greater than 0 and at most {most}" if strict else f"a number from 0 to {most}"
                problems.append(Problem("<options>", name, repr(value), allowed))
        if problems:
            raise InputError(problems)

    def stated(self) -> Mapping[str, Any]:
        """Return the options as the report states them, all but the place to begin at, which has its own key."""
        return {
            "memory_limit_mib": self.memory_limit_mib,
            "time_limit_s": self.time_limit_s,
            "timing_spread_ms": self.timing_spread_ms,
            "window_threshold_ms": self.window_threshold_ms,
        }
