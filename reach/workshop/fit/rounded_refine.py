"""Tighter bounds of the speeds on the ground, from its rates: what the rules can have made of the tick before."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from reach.workshop.fit.linear_laws import Interval
from reach.workshop.fit.outcome import Found, px_interval
from reach.workshop.fit.rounded_spans import Gait, Span

ANY: Interval = (0.0, np.inf)


def refine(spans: Sequence[Span], found: Found) -> None:
    """Tighten `low`, `high` and `before` of the spans, in their order."""
    coast, brake = (
        px_interval(found, f"ground.{name}") or ANY for name in ("coast_deceleration", "reverse_deceleration")
    )
    gaits = {
        gait: (
            px_interval(found, f"ground.{name}.acceleration") or ANY,
            px_interval(found, f"ground.{name}.top_speed") or ANY,
        )
        for gait, name in ((Gait.WALK, "walk"), (Gait.RUN, "run"))
    }
    last: Span | None = None
    for span in spans:
        if last is not None and last.stretch is span.stretch and last.first + last.ticks == span.first:
            low, high = float(last.low[-1]), float(last.high[-1])
            same = last.sign == span.sign
            low, high = (low, high) if same else (-high, -low)
            span.before = (max(span.before[0], low), min(span.before[1], high))
        last = span
        if span.rule != 1 or not np.isfinite(span.before).all():
            continue
        before = span.before
        for row in range(1, span.ticks + 1):
            if not span.direction:
                made = _faded(before, coast)
            else:
                own = [gaits[g] for g in (Gait.WALK, Gait.RUN) if span.gait in (g, Gait.EITHER)]
                each = [_pressed(before, accel, top, coast, brake) for accel, top in own]
                made = min(low for low, _ in each), max(high for _, high in each)
            low, high = max(made[0], float(span.low[row])), min(made[1], float(span.high[row]))
            if low > high + 1e-9:
                break  # a wall, or a wrong row: the rules do not tell this span
            span.low[row], span.high[row] = low, max(low, high)
            before = (low, max(low, high))


def _faded(before: Interval, coast: Interval) -> Interval:
    """The speed after one tick without a direction."""
    low = before[0] - coast[1] if before[0] > 0 else min(before[0] + coast[0], 0.0)
    high = max(before[1] - coast[0], 0.0) if before[1] > 0 else before[1] + coast[1]
    low = max(low, 0.0) if before[0] > 0 else low
    high = min(high, 0.0) if before[1] < 0 else high
    return low, high


def _pressed(before: Interval, accel: Interval, top: Interval, coast: Interval, brake: Interval) -> Interval:
    """The speed after one tick under a pressed direction: from each end, at the slowest and at the fastest."""
    low, high = before
    if low < 0:
        least = min(low + brake[0], 0.0)
    elif low <= top[0]:
        least = min(low + accel[0], top[0])
    else:
        least = min(low, max(low - coast[1], top[0]))
    if high < 0:
        most = min(high + brake[1], 0.0)
    else:
        # At most one step up to the top speed, or the fading from above it.
        most = max(min(high + accel[1], top[1]), high if high > top[0] else 0.0)
    return least, most
