"""What a caller may choose about a check."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from reach.errors import InputError, Problem


@dataclass(frozen=True)
class CheckOptions:
    """Options of a check; every one of them is stated in the report.

    `from_place` names the place to begin at ("start": the level's start). `window_threshold_ms` is the window under
    which a landing is called tight. `timing_spread_ms` is the standard deviation of the player's timing for which
    chances are given: an average, no promise that every player can do it. `time_limit_s` and `memory_limit_mib`
    (None: no limit) end the search early; whatever is not proved by then is undecided.
    """

    from_place: str = "start"
    window_threshold_ms: float = 60.0
    timing_spread_ms: float = 25.0
    time_limit_s: float | None = None
    memory_limit_mib: int | None = None

    def __post_init__(self) -> None:
        """Refuse numbers that mean nothing, all at once."""
        problems = []
        for name, least, strict in (
            ("window_threshold_ms", 0, False),
            ("timing_spread_ms", 0, True),
            ("time_limit_s", 0, True),
            ("memory_limit_mib", 0, True),
        ):
            value = getattr(self, name)
            if value is None:
                continue
            if not math.isfinite(value) or value < least or (strict and value == least):
                allowed = f"a finite number greater than {least}" if strict else f"a finite number of at least {least}"
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
