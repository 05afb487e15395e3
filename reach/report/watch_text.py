"""What is not as it was at the last check of a level, in a few lines."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING

from rich.text import Text

from reach.comparison.changes import Direction, Kind
from reach.comparison.route_changes import width_order
from reach.findings import Severity
from reach.report.comparison_text import value_words
from reach.report.text_report import TIMING_NOTE, headline
from reach.wording import count_words, list_words, move_words, number_words

if TYPE_CHECKING:
    from reach.comparison.changes import Change, Comparison
    from reach.findings import Move, Report

SIGNS = {Direction.WORSE: "x", Direction.BETTER: "+", Direction.OTHER: "~"}
"""Worse, neither, better; the words beside say so too."""
MOST_OF_A_KIND = 4
_STYLES = {Direction.WORSE: "bold red", Direction.BETTER: "green", Direction.OTHER: ""}


def compose(before: Report, after: Report, comparison: Comparison, width: int = 100) -> Text:
    """Return how the level stands, and what changed since the check before: worse, better, neither.

    Parameters
    ----------
    before, after : Report
        Of the last two checks.
    comparison : Comparison
        Of the two.
    width : int
        Columns to wrap at.
    """
    changes = [change for change in comparison.changes if change.kind is not Kind.ROUTE]
    notes = [change for change in changes if change.kind is Kind.NOTE]
    few = [change for change in changes if change not in notes[MOST_OF_A_KIND:]]
    lines = [(_line(change), _STYLES[change.direction]) for change in few]
    if len(notes) > MOST_OF_A_KIND:
        lines.append((f"~ {count_words(len(notes) - MOST_OF_A_KIND, 'more note')} new, gone or told otherwise", ""))
    lines += [(line, "") for line in _moves(before, after)]
    if before.complete != after.complete:
        words = "~ finished now" if after.complete else f"~ not finished: {after.incomplete_why}"
        neither = comparison.going(Direction.OTHER)
        lines.insert(sum(change not in neither for change in few), (words, ""))
    text = Text()  # without a style of its own, which every line would take on
    text.append(headline(after) or "OK", "bold red" if after.count(Severity.ERROR) else "bold")
    text.append(f"; {_counted(comparison) if lines else 'nothing changed'}\n")
    for line, style in lines:
        text.append(_wrapped(line, width), style)
    if any(" ms" in line for line, _ in lines):
        text.append(_wrapped(TIMING_NOTE, width), "dim")
    return text


def _counted(comparison: Comparison) -> str:
    numbers = [(direction, len(comparison.going(direction))) for direction in (Direction.WORSE, Direction.BETTER)]
    return ", ".join(f"{number} {direction.value}" for direction, number in numbers if number) or "changed"


def _line(change: Change) -> str:
    line = f"{SIGNS[change.direction]} {change.title}: {value_words(change)}"
    holds_now = change.direction is not Direction.BETTER or change.kind is Kind.TILES
    words = change.words if holds_now else change.reason
    return f"{line}. {words}" if words else line


def _moves(before: Report, after: Report) -> Iterator[str]:
    """Yield how many moves are of one side alone, and those whose window is another: a lower bound, as measured."""
    old, new = ({(move.source, move.target, move.kind): move for move in report.moves} for report in (before, after))
    numbers = [(len(new.keys() - old.keys()), "new"), (len(old.keys() - new.keys()), "gone")]
    if any(number for number, _ in numbers):
        yield f"~ moves with a script: {list_words([f'{number} {what}' for number, what in numbers if number])}"
    shared = [(old[key], new[key]) for key in new if key in old]
    for order, words in ((-1, "narrower"), (1, "wider")):
        changed = [pair for pair in shared if width_order(*pair) == order]
        if changed:
            told = [f"{move_words(one)}, {_ms(one)} before, {_ms(two)} now" for one, two in changed[:MOST_OF_A_KIND]]
            if len(changed) > MOST_OF_A_KIND:
                told.append(f"{len(changed) - MOST_OF_A_KIND} more")
            yield f"~ {count_words(len(changed), 'window')} {words} as measured: {'; '.join(told)}"


def _ms(move: Move) -> str:
    return f"{'at least ' if move.window_open else ''}{number_words(move.window_ms or 0.0)} ms"


def _wrapped(words: str, width: int) -> str:
    lines = textwrap.wrap(words, width, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)
    return "".join(f"{line}\n" for line in lines)
