"""The differences of two movement sheets as text: what levels already built lose and gain, then every figure."""

from __future__ import annotations

import textwrap
from itertools import groupby
from math import ceil, floor
from typing import TYPE_CHECKING

from rich.text import Text

from reach.workshop.sheet_changes import Better, EffectKind, Kind

if TYPE_CHECKING:
    from reach.workshop.sheet_changes import FigureChange, SheetChanges

_HEADINGS = {
    Kind.REACH: "Reach",
    Kind.ROOM: "Room",
    Kind.FOOTHOLDS: "Footholds",
    Kind.MOTION: "Motion",
}
_EFFECT_STYLES = {EffectKind.CLOSED: "red", EffectKind.OPENED: "yellow"}
_VERDICT_STYLES = {"better": "green", "worse": "red", "": ""}


def compose(changes: SheetChanges, width: int = 100) -> Text:
    """Return the differences as styled text; its `plain` is the same text without colour."""
    text = Text()
    old, new = changes.old, changes.new
    text.append(f"{old.name} -> {new.name}", "bold")
    text.append(f"  tiles of {old.tile_px} px, a window of at least {old.window_ms:g} ms\n")
    limits = [f"Not finished, {sheet.name}: {limit}." for sheet in (old, new) for limit in sheet.reach.limits]
    for line in limits:
        text.append(_wrapped(line, width))
    if not changes.figures:
        text.append("\nNo figure differs.\n")
        return text
    _add_effects(text, changes, width)
    named = False
    for kind, figures in groupby(changes.figures, key=lambda figure: figure.kind):
        rows = list(figures)
        text.append(f"\n{_HEADINGS[kind]}\n", "bold")
        _add_rows(text, rows)
        named = named or any(not figure.is_proved for figure in rows)
    note = "Better and worse: for whoever plays a level that is already built."
    if named:
        note += " *: by what was found; that the two differ is not proved."
    text.append("\n")
    text.append(_wrapped(note, width), "dim")
    text.append(_wrapped("What it breaks in the levels of a world: reach compare WORLD --movement NEW", width), "dim")
    return text


def _add_effects(text: Text, changes: SheetChanges, width: int) -> None:
    text.append("\nFor levels already built\n", "bold")
    if not changes.effects:
        text.append("  No gap, step or corridor of whole tiles is proved to close or to open.\n")
        return
    for effect in changes.effects:
        text.append(f"  {effect.kind.value}  ", _EFFECT_STYLES[effect.kind])
        text.append(f"{effect.what}\n")
    words = "Closed: it could be crossed, and no input does any more. Opened: no input did, and some does now."
    text.append(_wrapped(words, width), "dim")


def _add_rows(text: Text, figures: list[FigureChange]) -> None:
    cells = [
        (
            figure.name + ("" if figure.is_proved else "*"),
            _number(figure.old, figure.better),
            _number(figure.new, figure.better),
            figure.unit,
            "" if figure.relative is None else f"{100 * figure.relative:+.1f} %",
        )
        for figure in figures
    ]
    cells = [("", "old", "new", "", ""), *cells]
    widths = [max(len(row[i]) for row in cells) for i in range(5)]
    verdicts = ["", *(figure.verdict for figure in figures)]
    for row, verdict in zip(cells, verdicts, strict=True):
        name, old, new, unit, change = row
        line = (
            f"  {name:<{widths[0]}}  {old:>{widths[1]}}  {new:>{widths[2]}} {unit:<{widths[3]}}  {change:>{widths[4]}}"
        )
        text.append(f"{line}  " if verdict else line.rstrip(), "dim" if row is cells[0] else "")
        text.append(verdict, _VERDICT_STYLES[verdict])
        text.append("\n")


def _number(value: float | None, better: Better) -> str:
    """A figure, rounded as on the sheet: what can be done downward, what is needed upward."""
    if value is None:
        return "-"
    if isinstance(value, int):
        return str(value)
    if better is Better.NEITHER:
        return f"{value:.2f}"
    hundredths = floor(value * 100) if better is Better.MORE else ceil(value * 100)
    return f"{hundredths / 100:.2f}"


def _wrapped(words: str, width: int) -> str:
    lines = textwrap.wrap(words, width, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False)
    return "".join(f"{line}\n" for line in lines)
