"""The report on a world in short, as Markdown for a review comment: the levels, worst first, and what the world is.

Findings within a level are counted and the gravest is named; they are written out in the other reports. The tables are
those of GitHub Flavored Markdown (github.github.com/gfm, 4.10); the rest is CommonMark.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from reach.findings import Severity
from reach.report.text_report import TIMING_NOTE
from reach.report.world_table import BY_WEIGHT, TITLES, Row, Standing, rows
from reach.report.world_text import extent, headline, left_out_words
from reach.wording import count_words

if TYPE_CHECKING:
    from reach.world.result import LevelResult, WorldFinding, WorldReport

MAX_ENTRIES = 100
"""Rows of the table, and entries of each list; what is left out is counted. Comments may hold only so much."""

_MARKS = re.compile(r"([\\`*_{}\[\]<>|#~&!])")
_LINKED = re.compile(r"(?i)(?<=http):(?=//)|(?<=https):(?=//)|(?<=www)\.|@")


def dump(report: WorldReport) -> str:
    """Return the summary as Markdown text."""
    blocks = [f"## {escaped(report.name)}: {headline(report)}", _sentence(extent(report)), *_table(report)]
    blocks += _list("Failed", [_failed(level) for level in report.failed])
    for severity, heading in ((Severity.ERROR, "Errors of the world"), (Severity.WARNING, "Warnings of the world")):
        found = [each for each in report.findings if each.severity is severity and each.accepted is None]
        blocks += _list(heading, [_finding(each) for each in found])
    blocks += _list("Not finished", _not_finished(report))
    if any("window_ticks" in entry.finding.details for level in report.levels for entry in level.findings):
        blocks.append(escaped(TIMING_NOTE))
    return "\n\n".join(blocks) + "\n"


def escaped(text: str) -> str:
    """Return text that Markdown shows as it is, on one line: no marks, no links, no mentions of people.

    Backslashes stand before what would be a mark (CommonMark 2.4); what would become a link or a mention by itself is
    broken by a character reference (CommonMark 2.5), which is shown as the character.
    """
    line = " ".join(text.split())
    line = "".join(character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in line)
    return _LINKED.sub(lambda found: f"&#{ord(found[0])};", _MARKS.sub(r"\\\1", line))


def _table(report: WorldReport) -> list[str]:
    """The levels that are not good, worst first, and how many others there are."""
    grave = [row for row in rows(report) if row.standing not in (Standing.GOOD, Standing.NOT_GRAVE)]
    good = len(report.levels) - len(report.left_out) - len(grave)
    blocks = []
    if grave:
        titles = ("how", *TITLES[1:])
        numbers = range(2, 2 + len(BY_WEIGHT))
        rule = ("--:" if column in numbers else ":--" for column in range(len(titles)))
        shown = [titles, tuple(rule), *(_cells(row) for row in grave[:MAX_ENTRIES])]
        blocks.append("\n".join(f"| {' | '.join(cells)} |" for cells in shown))
    if len(grave) > MAX_ENTRIES:
        blocks.append(_left_out(len(grave) - MAX_ENTRIES))
    if good:
        blocks.append(f"{count_words(good, 'level')} without an error or a warning.")
    if report.left_out:
        blocks.append(escaped(left_out_words(replace(report, levels=report.left_out[:MAX_ENTRIES]))))
    if len(report.left_out) > MAX_ENTRIES:
        blocks.append(_left_out(len(report.left_out) - MAX_ENTRIES))
    return blocks


def _cells(row: Row) -> tuple[str, ...]:
    return tuple(map(escaped, row.cells))


def _list(heading: str, entries: list[str]) -> list[str]:
    if not entries:
        return []
    blocks = [f"### {heading}", "\n".join(f"- {entry}" for entry in entries[:MAX_ENTRIES])]
    return [*blocks, _left_out(len(entries) - MAX_ENTRIES)] if len(entries) > MAX_ENTRIES else blocks


def _left_out(number: int) -> str:
    return f"{number} more not shown here."


def _failed(level: LevelResult) -> str:
    whys = [f"from {one.job.entrance}: {one.why}" for one in level.outcomes if one.report is None]
    return f"**{escaped(level.id)}** {escaped(level.why or '; '.join(whys))}"


def _finding(found: WorldFinding) -> str:
    where = "/".join(filter(None, (found.level, found.place)))
    advice = f" To do: {found.advice}" if found.advice else ""
    return f"**{escaped(found.rule)}**{f' of {escaped(where)}' if where else ''}: {escaped(found.message + advice)}"


def _not_finished(report: WorldReport) -> list[str]:
    return [
        f"**{escaped(level.id)}** from {escaped(one.job.entrance)}: {escaped(one.report.incomplete_why)}. "
        "What was not proved by then is undecided."
        for level in report.levels
        for one in level.outcomes
        if one.report is not None and not one.report.complete
    ]


def _sentence(words: str) -> str:
    return escaped(f"{words[:1].upper()}{words[1:]}.")
