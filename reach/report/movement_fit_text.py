"""A fit as text for a person: what the recording is, the values with how sure they are, what is missing and off."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from rich.text import Text

from reach.wording import count_words, number_words
from reach.workshop.fit.outcome import Quantity
from reach.workshop.fit.phases import KINDS, WITHOUT_PRESS
from reach.workshop.fit.written_profile import unit_spx, written_number

if TYPE_CHECKING:
    from reach.workshop.fit.bands import Ref
    from reach.workshop.fit.fitting import Fit
    from reach.workshop.fit.outcome import Estimate

SHOWN_RESIDUALS = 10
_CHOICES = {
    "jump.on_release": ("gravity", "gravity"),
    "jump.launch_tick_gravity": ("false", "true"),
    "help.drop_through": ("false", "true"),
    "ground.run": ("none", "yes"),
}


def compose(fit: Fit, width: int = 100, written: Sequence[str] = ()) -> Text:
    """Return a fit as styled text; its `plain` is the same text without colour.

    Parameters
    ----------
    fit : Fit
    width : int
        Columns to wrap at.
    written : sequence of str
        What was written to which file, one line each, for the end.
    """
    text = Text()
    recording = fit.recording
    takes = count_words(len(recording.takes), "take")
    text.append(f"{recording.origin}: {count_words(recording.rows, 'row')} in {takes}\n", "bold")
    text.append(_wrapped(f"Positions: {recording.rounding_said}.", width))
    if fit.unused_rows:
        text.append(_wrapped(f"Not used, between gaps of ticks: {count_words(fit.unused_rows, 'row')}.", width))
    text.append("\nSegments\n", "bold")
    text.append(_wrapped(segment_words(fit), width, "  "))
    if any(segment.kind == WITHOUT_PRESS for segment in fit.segments):
        cause = "jump was not down" if "jump" in fit.recording.buttons else "the recording has no column jump"
        text.append(_wrapped(f"A {WITHOUT_PRESS} is taken for a spring's, not for a jump's: {cause}.", width, "  "))
    text.append(f"\nFound, in {unit_words(fit)}\n", "bold")
    for line in _table(fit):
        text.append(f"{line}\n")
    text.append("\nNot determined, and the take to record for it\n", "bold")
    for gone in fit.missing:
        text.append(f"  {gone.path}", "yellow")
        text.append(f"  {gone.why}\n")
        text.append(_wrapped(gone.take, width, "      "))
    text.append("\nThe profile found, held against the recording\n", "bold")
    _add_residuals(text, fit, width)
    for line in written:
        text.append(f"\n{_wrapped(line, width)}")
    return text


def unit_words(fit: Fit) -> str:
    """The units of the numbers shown."""
    if fit.tick_rate_hz is None:
        return "px and ticks (no tick rate is known)"
    return f"px and s, at {fit.tick_rate_hz} ticks a second"


def held_words(fit: Fit) -> str:
    """How much of the recording was held against what was found; along the ground and up and down count apart."""
    if fit.recording.exact:
        return f"{count_words(fit.replayed.judged, 'move')} replayed"
    return f"{count_words(len(fit.replayed.rows), 'position')} held against the rules"


def segment_words(fit: Fit) -> str:
    """How many segments of each kind there are, and their ticks."""
    count = Counter(segment.kind for segment in fit.segments)
    ticks = Counter(dict.fromkeys(KINDS, 0))
    for segment in fit.segments:
        ticks[segment.kind] += segment.last - segment.first + 1
    words = [f"{kind} {count[kind]} ({count_words(ticks[kind], 'tick')})" for kind in KINDS if count[kind]]
    return f"{', '.join(words)}." if words else "None."


def cells(estimate: Estimate, tick_rate_hz: int | None, takes: Sequence[str]) -> tuple[str, str, str, str]:
    """Path, value with unit, uncertainty and what it rests on, in words."""
    rests = rest_words(estimate.refs, takes)
    if estimate.quantity is Quantity.CHOICE:
        return estimate.path, _CHOICES[estimate.path][int(estimate.low)], "", rests
    unit = unit_name(estimate.quantity, tick_rate_hz)
    per = unit_spx(estimate.quantity, tick_rate_hz)
    if estimate.exact:
        return estimate.path, f"{written_number(estimate, tick_rate_hz)} {unit}", "exact", rests
    low = _shown(Fraction(estimate.low) / per, estimate)
    if not estimate.bounded:
        return estimate.path, f"at least {low} {unit}", "no upper end was seen", rests
    high = _shown(Fraction(estimate.high) / per, estimate)
    if low == high:
        low, high = (number_words(float(Fraction(end) / per), 6) for end in (estimate.low, estimate.high))
    if estimate.quantity is Quantity.TICKS:
        return estimate.path, f"{low} to {high} {unit}", "only bounded", rests
    note = f", {estimate.note}" if estimate.note else ""
    value = f"{written_number(estimate, tick_rate_hz)} {unit}"
    return estimate.path, value, f"{low} to {high}{note}", rests


def unit_name(quantity: Quantity, tick_rate_hz: int | None) -> str:
    """The unit of a quantity, as a movement file counts it."""
    if quantity is Quantity.TICKS:
        return "ticks"
    base = "px/s" if tick_rate_hz is not None else "px/tick"
    return f"{base}^2" if quantity is Quantity.RATE else base


def rest_words(refs: Sequence[Ref], takes: Sequence[str]) -> str:
    """How many ticks, and the first and last of them."""
    if not refs:
        return ""
    ends = [f"{takes[ref.take]} {ref.tick}" if len(takes) > 1 else f"{ref.tick}" for ref in (refs[0], refs[-1])]
    where = ends[0] if len(refs) == 1 else f"{ends[0]} to {ends[1]}"
    return f"{count_words(len(refs), 'tick')}: {where}"


def _shown(value: Fraction, estimate: Estimate) -> str:
    digits = 0 if estimate.quantity is Quantity.TICKS else 3 if abs(value) < 20 else 1
    return number_words(float(value), digits)


def _table(fit: Fit) -> list[str]:
    takes = [take.name for take in fit.recording.takes]
    if not fit.estimates:
        return ["  Nothing."]
    rows = [("value", "estimate", "uncertainty", "rests on")]
    rows += [cells(estimate, fit.tick_rate_hz, takes) for estimate in fit.estimates]
    fastest = fit.found.seen.get("jump.on_release")
    if fastest is not None:
        speed = number_words(float(Fraction(fastest) / unit_spx(Quantity.SPEED, fit.tick_rate_hz)))
        words = f"no cut, rising at up to {speed} {unit_name(Quantity.SPEED, fit.tick_rate_hz)}"
        rows = [(*row[:2], words, row[3]) if row[0] == "jump.on_release" else row for row in rows]
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    return [
        "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    ]


def _add_residuals(text: Text, fit: Fit, width: int) -> None:
    replayed = fit.replayed
    if not fit.recording.exact:
        _add_distances(text, fit, width)
        return
    judged = held_words(fit)
    contacts = f", {replayed.contacts} of them cut short by walls and ceilings" if replayed.contacts else ""
    if not replayed.residuals:
        text.append(_wrapped(f"{judged}{contacts}: every one as recorded.", width, "  "))
        return
    off = count_words(len(replayed.residuals), "move")
    text.append(_wrapped(f"{judged}{contacts}: {off} not as recorded.", width, "  "))
    _add_rows(text, fit)


def _add_distances(text: Text, fit: Fit, width: int) -> None:
    """How far rounded rows lie from the fit."""
    replayed = fit.replayed
    if replayed.rows:
        most = max(abs(off) for _, _, off in replayed.rows)
        half = number_words(float(fit.recording.rounding_px) / 2, 6)
        words = f"{held_words(fit)}: at most {most:.3f} px off, where rounding allows {half} px."
        text.append(_wrapped(words, width, "  "))
    else:
        text.append(_wrapped("No position could be held against the rules.", width, "  "))
    if replayed.residuals:
        left_out = count_words(len(replayed.residuals), "position")
        text.append(_wrapped(f"Left out, since no profile explains it: {left_out}.", width, "  "))
        _add_rows(text, fit)


def _add_rows(text: Text, fit: Fit) -> None:
    replayed = fit.replayed
    for residual in replayed.residuals[:SHOWN_RESIDUALS]:
        take = fit.recording.takes[residual.ref.take].name
        name = f"take {take}, " if take else ""
        text.append(f"    line {residual.line} ({name}tick {residual.ref.tick}): {residual.axis} is off by ")
        text.append(f"{residual.off_px:+.4g} px\n")
    if len(replayed.residuals) > SHOWN_RESIDUALS:
        text.append(f"    and {len(replayed.residuals) - SHOWN_RESIDUALS} more\n")


def _wrapped(words: str, width: int, indent: str = "") -> str:
    return textwrap.fill(words, width, initial_indent=indent, subsequent_indent=indent) + "\n"
