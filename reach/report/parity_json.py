"""A comparison of a recording with its profile as JSON, `reach-parity/1`; described in `schemas/parity.schema.json`."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from reach.workshop.explanations import Explained, Explanation
    from reach.workshop.parity import Comparison, Course, Difference
    from reach.workshop.parity_hints import Hint

FORMAT = "reach-parity/1"


def to_json(comparison: Comparison, explained: Explained | None, hint: Hint | None = None) -> str:
    """Return the comparison as a JSON object."""
    takes = zip(comparison.courses, comparison.differences, strict=True)
    data = {
        "format": FORMAT,
        "movement": comparison.movement.name,
        "recording": comparison.recording.origin,
        "rounding_px": float(comparison.recording.rounding_px),
        "tolerance_px": comparison.tolerance_px,
        "agreement": str(comparison.agreement),
        "takes": [_take(course, difference) for course, difference in takes],
        "hint": None if hint is None else {"id": hint.id, "said": hint.said},
        "explanation": None if explained is None else _explained(explained),
    }
    return json.dumps(data, indent=2, ensure_ascii=False) + "\n"


def _take(course: Course, difference: Difference | None) -> dict[str, Any]:
    return {
        "name": course.take.name,
        "rows_compared": course.rows,
        "missing_ticks": course.missing,
        "missing_tick": course.missing_tick,
        "first_difference": None
        if difference is None
        else {
            "tick": difference.tick,
            "line": difference.line,
            "after_ticks": difference.after_ticks,
            "agreed_ticks": difference.agreed_ticks,
            "proved": difference.is_proved,
            "aside_px": difference.aside_px,
            "lower_px": difference.lower_px,
            "buttons": list(difference.buttons),
        },
    }


def _explained(explained: Explained) -> dict[str, Any]:
    return {
        "judged_ticks": explained.of_ticks,
        "too_short": explained.too_short,
        "unchanged": _explanation(explained.unchanged),
        "clear": [_explanation(each) for each in explained.clear],
        "tried": [_explanation(each) for each in explained.ranked],
    }


def _explanation(explanation: Explanation) -> dict[str, Any]:
    return {
        "id": explanation.id,
        "said": explanation.said,
        "fitted": explanation.is_fitted,
        "followed_ticks": explanation.ticks,
        "off_px": round(explanation.off_px, 6),
    }
