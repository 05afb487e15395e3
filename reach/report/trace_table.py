"""A trace as CSV, in the format of recordings: positions in px, as exact decimals."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reach.workshop.tracing import Trace

COLUMNS = ("tick", "x_px", "y_px", "left", "right", "down", "run", "jump")
SPX_PER_PX = 65536
_DIGITS = 16
"""1/65536 has so many decimals."""


def exact_px(spx: int) -> str:
    """Return a length in subpixels as an exact decimal of px.

    Examples
    --------
    >>> exact_px(98304), exact_px(-1), exact_px(131072)
    ('1.5', '-0.0000152587890625', '2')
    """
    whole, part = divmod(abs(spx), SPX_PER_PX)
    decimals = f"{part * 10**_DIGITS // SPX_PER_PX:0{_DIGITS}d}".rstrip("0")
    return f"{'-' if spx < 0 else ''}{whole}{'.' if decimals else ''}{decimals}"


def to_csv(trace: Trace) -> str:
    """Return a trace as comma-separated values with a header: row 0 is the start, row t the end of tick t."""
    lines = [",".join(COLUMNS)]
    rows = zip(trace.x_spx.tolist(), trace.y_spx.tolist(), trace.inputs.tolist(), strict=True)
    for tick, (x, y, (direction, down, run, jump)) in enumerate(rows):
        buttons = (int(direction < 0), int(direction > 0), down, run, jump)
        lines.append(",".join([str(tick), exact_px(x), exact_px(y), *map(str, buttons)]))
    return "\n".join(lines) + "\n"
