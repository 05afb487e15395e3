"""A comparison as text for a person: how much got worse, the levels as a table, then each change, worst first."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from rich.text import Text

from reach.comparison.changes import Direction, Kind
from reach.report.text_report import TIMING_NOTE
from reach.wording import count_words, number_words

if TYPE_CHECKING:
    from reach.comparison.changes import Change, Comparison, LevelStanding

_HEADINGS = {
    Direction.WORSE: ("Worse", "bold red"),
    Direction.BETTER: ("Better", "bold green"),
    Direction.OTHER: ("Neither worse nor better, or not proved to be", "bold"),
}
FOUND = (Kind.ERROR, Kind.WARNING, Kind.MISSABLE, Kind.NOTE)
"""Kinds of changes that are findings."""
_COLUMNS = {Kind.TILES: "ground", Kind.MISSABLE: "missable"}
"""Titles of the table that are not the plural of the kind's name."""
_SIGNS = {Direction.WORSE: "x worse", Direction.BETTER: "+ better", Direction.OTHER: "~ other"}


def headline(comparison: Comparison) -> str:
    """Return how much got worse, in a few words, and how much of that is a doubt; and how many levels are left out."""
    worse, doubt = len(comparison.going(Direction.WORSE)), len(comparison.in_doubt)
    left_out = [*comparison.not_compared, *comparison.only_before, *comparison.only_after]
    words = "nothing got worse" if comparison.changes or comparison.unfinished else "nothing changed"
    if not comparison.levels:
        words = "nothing compared"
    if worse:
        words = f"{count_words(worse, 'thing')} got worse" + (f" ({doubt} undecided now)" if doubt else "")
    if comparison.unfinished:
        words += f", {count_words(comparison.unfinished, 'check')} not finished"
    return words + (f", {count_words(len(left_out), 'level')} not compared" if left_out else "")


def about(comparison: Comparison) -> str:
    """Return what was compared: the name, the movements, how many levels and how many changes go which way."""
    movements = [", ".join(names) for names in comparison.movements]
    by = movements[0] if movements[0] == movements[1] else f"{movements[0]} -> {movements[1]}"
    numbers = [f"{len(comparison.going(direction))} {direction.value}" for direction in Direction]
    return f"{comparison.name}: {by}; {count_words(len(comparison.levels), 'level')} compared; {', '.join(numbers)}"


def compose(comparison: Comparison, width: int = 100, written: Sequence[str] = ()) -> Text:
    """Return the comparison as styled text; its `plain` is the same text without colour.

    Parameters
    ----------
    comparison : Comparison
    width : int
        Columns to wrap at.
    written : sequence of str
        What was written to which file, one line each, for the end of the report.
    """
    text = Text()
    worse, sure = bool(comparison.going(Direction.WORSE)), not (comparison.not_compared or comparison.unfinished)
    text.append(headline(comparison), "bold red" if worse else "bold green" if sure else "bold yellow")
    text.append(f"  {about(comparison)}\n")
    for line in notes(comparison):
        text.append(_wrapped(line, width))
    _add_table(text, comparison)
    for direction, (heading, style) in _HEADINGS.items():
        changes = [change for change in comparison.going(direction) if change.kind is not Kind.ROUTE]
        if changes:
            text.append(f"\n{heading}\n", style)
            _add_changes(text, changes, width, whole=direction is Direction.WORSE)
    for level, why in comparison.not_compared.items():
        text.append(f"\nNot compared: {level}\n", "bold red")
        text.append(_wrapped(why, width, "    "))
    routes = sum(change.kind is Kind.ROUTE for change in comparison.changes)
    if routes:
        checks = count_words(routes, "check")
        words = f"The easiest route, or how long the script to its end takes, is another in {checks}"
        text.append("\n" + _wrapped(f"{words}: see --format json. None is proved to be the shortest.", width))
    if any(change.kind is Kind.WINDOW for change in comparison.changes):
        text.append("\n" + _wrapped(f"Windows are lower bounds, as measured. {TIMING_NOTE}", width), "dim")
    if written:
        text.append("\nWritten\n", "bold")
        for line in written:
            text.append(f"  {line}\n")
    return text


def notes(comparison: Comparison) -> list[str]:
    """Return what else is to be known about the two sides, a sentence each."""
    lines = [f"{remark[:1].upper()}{remark[1:]}." for remark in comparison.remarks]
    for levels, words in ((comparison.only_before, "there any more"), (comparison.only_after, "there before")):
        if levels:
            lines.append(f"Not {words}, and so not compared: {', '.join(levels)}.")
    return lines


def where_words(change: Change) -> str:
    """Return where a change is: the level, and the entrance where it is about one."""
    return f"{change.level or 'the world'}{f' from {change.entrance}' if change.entrance else ''}"


def value_words(change: Change) -> str:
    """Return what was before and what is after."""
    if change.kind in FOUND and None in (change.before, change.after):
        accepted = " and accepted" if "accepted" in (change.before, change.after) else ""
        return ("new" if change.before is None else "gone") + accepted
    if change.kind in FOUND and change.before == change.after:
        return f"told otherwise{', accepted' if change.after == 'accepted' else ''}"
    unit = {Kind.WINDOW: " ms", Kind.TILES: " tiles reached"}.get(change.kind, "")
    return f"{_value(change.before, unit)} before, {_value(change.after, unit)} after"


def _value(value: Any, unit: str) -> str:
    if value is None:
        return "none"
    if unit == " tiles reached":
        return f"{count_words(value, 'tile')} reached"
    return f"{number_words(value)}{unit}" if isinstance(value, float) else f"{value}{unit}"


def kinds_of(levels: Iterable[LevelStanding]) -> list[Kind]:
    """Return the kinds of which some level has a change for the worse."""
    return [kind for kind in Kind if any(level.worse[kind] for level in levels)]


def cells(level: LevelStanding, kinds: Sequence[Kind]) -> list[str]:
    """Return a level's row of the table: its sign, its id, what got worse by kind, and what else changed."""
    going = next((each for each in Direction if level.numbers[each]), None)
    numbers = [level.worse[kind] for kind in kinds] + [level.numbers[Direction.BETTER], level.numbers[Direction.OTHER]]
    sign = "  same" if going is None else _SIGNS[going]
    return [sign, level.level, *(str(number) if number else "-" for number in numbers)]


def changed_levels(comparison: Comparison) -> list[LevelStanding]:
    """Return the levels of which anything changed, worst first."""
    return [level for level in comparison.levels if any(level.numbers.values())]


def _add_table(text: Text, comparison: Comparison) -> None:
    levels = changed_levels(comparison)
    kinds = kinds_of(levels)
    same = len(comparison.levels) - len(levels)
    if levels:
        titles = ["", "level", *(_COLUMNS.get(kind, f"{kind.label}s") for kind in kinds)]
        lines = [[*titles, "better", "other"], *(cells(level, kinds) for level in levels)]
        widths = [max(len(line[column]) for line in lines) for column in range(len(lines[0]))]
        text.append("\n")
        for line in lines:
            left = [cell.ljust(width) for cell, width in zip(line[:2], widths, strict=False)]
            right = [cell.rjust(width) for cell, width in zip(line[2:], widths[2:], strict=True)]
            style = "bold" if line is lines[0] else "red" if line[0] == _SIGNS[Direction.WORSE] else ""
            text.append("  " + "  ".join(left + right).rstrip() + "\n", style)
    if same:
        text.append(f"  {count_words(same, 'level')} without a change\n")


def _add_changes(text: Text, changes: Sequence[Change], width: int, whole: bool) -> None:
    """Write the changes out; what a finding says for those alone that got worse or that say something else now."""
    for change in changes:
        title = f"{where_words(change)}: {change.title}: {value_words(change)}"
        text.append(_wrapped(title, width, "  "), "bold" if whole else "")
        told = whole or change.kind not in FOUND or change.before == change.after
        if words := change.words if told else change.reason:
            text.append(_wrapped(words, width, "    "))


def _wrapped(words: str, width: int, indent: str = "") -> str:
    lines = textwrap.wrap(words, width, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)
    return "".join(f"{line}\n" for line in lines)
