"""A comparison in short, as Markdown for a review comment: the levels that changed, and what got worse, worst first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reach.comparison.changes import Direction, Kind
from reach.report.comparison_text import (
    about,
    cells,
    changed_levels,
    headline,
    kinds_of,
    notes,
    value_words,
    where_words,
)
from reach.report.text_report import TIMING_NOTE
from reach.report.world_markdown import MAX_ENTRIES, escaped

if TYPE_CHECKING:
    from reach.comparison.changes import Change, Comparison


def dump(comparison: Comparison) -> str:
    """Return the summary as Markdown text."""
    blocks = [f"## {escaped(comparison.name)}: {headline(comparison)}", escaped(f"{about(comparison)}.")]
    blocks += [escaped(note) for note in notes(comparison)]
    blocks += _table(comparison)
    blocks += _list("Worse", [_entry(change) for change in comparison.going(Direction.WORSE)])
    blocks += _list("Better", [_entry(change) for change in comparison.going(Direction.BETTER)])
    blocks += _list(
        "Not compared", [f"**{escaped(level)}** {escaped(why)}" for level, why in comparison.not_compared.items()]
    )
    if any(change.kind is Kind.WINDOW for change in comparison.changes):
        blocks.append(escaped(f"Windows are lower bounds, as measured. {TIMING_NOTE}"))
    return "\n\n".join(blocks) + "\n"


def _table(comparison: Comparison) -> list[str]:
    levels = changed_levels(comparison)
    if not levels:
        return []
    kinds = kinds_of(levels)
    titles = ["how", "level", *(kind.worse_words for kind in kinds), "better", "other changes"]
    rule = [":--", ":--", *("--:" for _ in titles[2:])]
    rows = [titles, rule, *([escaped(cell) for cell in cells(level, kinds)] for level in levels[:MAX_ENTRIES])]
    blocks = ["\n".join(f"| {' | '.join(row)} |" for row in rows)]
    return blocks + _left_out(len(levels))


def _list(heading: str, entries: list[str]) -> list[str]:
    if not entries:
        return []
    return [f"### {heading}", "\n".join(f"- {entry}" for entry in entries[:MAX_ENTRIES]), *_left_out(len(entries))]


def _left_out(number: int) -> list[str]:
    return [f"{number - MAX_ENTRIES} more not shown here."] if number > MAX_ENTRIES else []


def _entry(change: Change) -> str:
    words = change.words if change.direction is Direction.WORSE else change.reason
    message = f" {words}" if words else ""
    return f"**{escaped(where_words(change))}**: {escaped(f'{change.title}: {value_words(change)}.{message}')}"
