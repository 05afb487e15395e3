"""A fit as JSON, `reach-movement-fit/1`: all that the text tells, and every tick that an estimate rests on.

It is described in `schemas/movement_fit.schema.json`.
"""

from __future__ import annotations

import json
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from reach.report.movement_fit_text import unit_name
from reach.workshop.fit.outcome import Quantity
from reach.workshop.fit.written_profile import unit_spx, written_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reach.workshop.fit.bands import Ref
    from reach.workshop.fit.fitting import Fit
    from reach.workshop.fit.outcome import Estimate

FORMAT = "reach-movement-fit/1"


def to_json(fit: Fit) -> str:
    """Return a fit as JSON text, one line an estimate, a segment and a row."""
    recording = fit.recording
    names = [take.name for take in recording.takes]
    data: dict[str, Any] = {
        "format": FORMAT,
        "rows": recording.rows,
        "takes": len(names),
        "rounded_px": float(recording.rounding_px),
        "rounding": recording.rounding_said,
        "tick_rate_hz": fit.tick_rate_hz,
        "estimates": [_estimate(estimate, names, fit.tick_rate_hz) for estimate in fit.estimates],
        "not_determined": [{"value": gone.path, "why": gone.why, "take": gone.take} for gone in fit.missing],
        "segments": [
            {"take": names[each.take], "first_tick": each.first, "last_tick": each.last, "kind": each.kind}
            for each in fit.segments
        ],
        "moves_replayed": fit.replayed.judged,
        "moves_cut_short": fit.replayed.contacts,
        "moves_off": [
            {
                "take": names[each.ref.take],
                "tick": each.ref.tick,
                "line": each.line,
                "axis": each.axis,
                "off_px": each.off_px,
            }
            for each in fit.replayed.residuals
        ],
    }
    return _lines(data)


def _estimate(estimate: Estimate, names: Sequence[str], tick_rate_hz: int | None) -> dict[str, Any]:
    per = unit_spx(estimate.quantity, tick_rate_hz)
    if estimate.quantity is Quantity.CHOICE:
        return {"value": estimate.path, "estimate": bool(estimate.low), "ticks": _ticks(estimate.refs, names)}
    number = written_number(estimate, tick_rate_hz)
    return {
        "value": estimate.path,
        "unit": unit_name(estimate.quantity, tick_rate_hz),
        "estimate": None if estimate.quantity is Quantity.TICKS and not estimate.exact else number,
        "low": float(Fraction(estimate.low) / per),
        "high": float(Fraction(estimate.high) / per) if estimate.bounded else None,
        "exact": estimate.exact,
        "condition": estimate.note,
        "ticks": _ticks(estimate.refs, names),
    }


def _ticks(refs: Sequence[Ref], names: Sequence[str]) -> list[list[Any]]:
    """The ticks as spans: take, first, last."""
    spans: list[list[Any]] = []
    for ref in refs:
        name = names[ref.take]
        if spans and spans[-1][0] == name and spans[-1][2] + 1 == ref.tick:
            spans[-1][2] = ref.tick
        else:
            spans.append([name, ref.tick, ref.tick])
    return spans


def _lines(data: dict[str, Any]) -> str:
    parts = []
    for key, value in data.items():
        if isinstance(value, list) and value:
            listed = ",\n".join(f"    {json.dumps(each, ensure_ascii=False)}" for each in value)
            parts.append(f"  {json.dumps(key)}: [\n{listed}\n  ]")
        else:
            parts.append(f"  {json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}")
    return "{\n" + ",\n".join(parts) + "\n}\n"
